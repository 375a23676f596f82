"""The likelihood at many failure ages from one set of onsets: few readings are weighed anew.

For failures after the last sample, distress from onset u to failure at T lifts the wear at age s
by (s - u) ln rise / (T - u): it depends on T and the rise only through the climb per usage. So for
each element and onset the samples are weighed at some climbs, and every failure age and rise is
read off between them, by a cubic through the four around it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.oil.evidence import Evidence

Floats = NDArray[np.float64]

BLOCK = 50_000
"""Values read off at once."""


@dataclass(frozen=True, eq=False, slots=True)
class Onsets:
    """The samples of M engines weighed at onsets (M, U) before the last sample.

    For each of E elements and G climbs, from `least` (E, M) by `step` (E, M) in the log of the wear
    at the last sample: `log_whole` (E, M, U, G) and `blame` (E, M, U, G, n) as of
    `Evidence.element`.
    """

    evidence: Evidence
    onset: Floats
    least: Floats
    step: Floats
    log_whole: Floats
    blame: Floats

    def log_likelihood(self, failure: Floats) -> Floats:
        """ln L at failure ages (M, T) for every onset and rise: (M, U, T, Q)."""
        samples, rise = self.evidence.samples, self.evidence.rise
        engines, onsets = self.onset.shape
        # how far along its way distress is at the last sample
        way = (samples.last[:, None] - self.onset)[..., None] / (
            failure[:, None] - self.onset[..., None]
        )
        out = np.empty((engines, onsets, failure.shape[1], len(rise)))
        flat = out.reshape(engines * onsets, -1)
        ways = way.reshape(engines * onsets, -1)
        owners = np.repeat(np.arange(engines), onsets)
        size = max(1, BLOCK // (flat.shape[1] * samples.at.shape[1]))
        for start in range(0, len(flat), size):
            some = slice(start, start + size)
            flat[some] = self._read(np.arange(len(flat))[some], owners[some], ways[some])
        return np.asarray(out - self.evidence.none[:, None, None, None])

    def _read(self, rows: NDArray[np.int64], engine: NDArray[np.int64], way: Floats) -> Floats:
        """Unscaled log likelihoods of rows (R,) of (engine, onset): (R, T Q)."""
        samples, rise = self.evidence.samples, self.evidence.rise
        log_sum = np.zeros((len(rows), way.shape[1] * len(rise)))
        misled, climbs = bool(np.any(samples.misleading > 0)), self.log_whole.shape[-1]
        blamed = np.ones((*log_sum.shape, samples.at.shape[1])) if misled else None
        for e in range(self.least.shape[0]):
            log_rise = (
                samples.log_rise[engine, e, None] + samples.rise_spread[engine, e, None] * rise
            )
            climb = (way[:, :, None] * log_rise[:, None, :]).reshape(log_sum.shape)
            place = (climb - self.least[e, engine, None]) / self.step[e, engine, None]
            first = np.clip(place.astype(np.int64) - 1, 0, climbs - 4)
            cubic = _cubic(place - first)
            at = rows[:, None] * climbs + first
            whole = self.log_whole[e].ravel()
            log_sum += sum(cubic[k] * whole[at + k] for k in range(4))
            if blamed is not None:
                table = self.blame[e].reshape(-1, samples.at.shape[1])
                found = table[at] * cubic[0][..., None]
                for k in range(1, 4):
                    found += table[at + k] * cubic[k][..., None]
                blamed *= np.maximum(found, 0.0)
        if blamed is not None:
            told = self.evidence.blamed(engine, blamed)
            log_sum += self.evidence.log_misled(engine, told)
        return log_sum


def weigh_onsets(evidence: Evidence, onset: Floats, count_climbs: int) -> Onsets:
    """Weigh the samples at `onset` (M, U), all before the last sample of their engine, and at so
    many climbs, four or more."""
    samples = evidence.samples
    engines, onsets = onset.shape
    elements, count = samples.centre.shape[1], samples.at.shape[1]
    ends = samples.log_rise[..., None] + samples.rise_spread[..., None] * (evidence.rise[[0, -1]])
    least = np.minimum(ends.min(axis=-1), 0.0).T
    most = np.maximum(ends.max(axis=-1), 0.0).T
    step = np.where(most > least, (most - least) / (count_climbs - 1), 1.0)
    climbs = least[..., None] + step[..., None] * np.arange(count_climbs)
    climbs = np.minimum(climbs, np.maximum(most, least)[..., None])
    log_whole = np.empty((elements, engines * onsets, count_climbs))
    blame = np.empty((elements, engines * onsets, count_climbs, count))
    engine = np.repeat(np.arange(engines), onsets)
    begun = onset.ravel()
    for some, first in evidence.groups(engine, begun, count_climbs):
        owner = engine[some]
        pieces = evidence.pieces(owner, begun[some], samples.last[owner], first)
        for e in range(elements):
            whole, blame[e, some] = evidence.element(e, owner, pieces, climbs[e, owner], first)
            log_whole[e, some] = np.log(whole)
    shape = (elements, engines, onsets, count_climbs)
    return Onsets(
        evidence, onset, least, step, log_whole.reshape(shape), blame.reshape(*shape, count)
    )


def _cubic(place: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Lagrange weights of the points 0, 1, 2, 3 at `place`."""
    a, b, c, d = place, place - 1, place - 2, place - 3
    return -b * c * d / 6, a * c * d / 2, -a * b * d / 2, a * b * c / 6
