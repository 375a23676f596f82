"""How likely the samples are with a failure to come, against no distress throughout.

With distress from onset u to failure at T, ln r = mu_e + ln m_e + sigma'_e t4 for each element e
of each sample, m_e the mean over the fill of rise_e^c; without, m_e = 1. mu_e, this engine's own
usual level, is integrated out: its prior is the range between engines. A reading is an interval,
so its likelihood is a chance. One sample, or none, may mislead: then all its elements are those of
something else (normal, wider than the range between engines), with weights (1 - m)^n for none and
m (1 - m)^(n - 1) for each.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.oil.evidence_data import Samples
from riskmodel.oil.evidence_tables import STEP, Table, tables
from riskmodel.oil.rise import FillPieces, fill_pieces

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BLOCK = 200_000
"""Level-by-point values worked on at once: they stay in the processor's cache."""
WORTHWHILE = 20_000
"""Fewer such values are not worth a block of their own."""
LEAST = 1e-300
"""No likelihood is smaller: hundreds of samples may all speak against a failure."""


@dataclass(frozen=True, eq=False, slots=True)
class Evidence:
    """The samples of M engines, ready to weigh failure ages from `earliest` (M,) on.

    `rise` (Q,) are the deviates of the elements' common rise quantile, standard normal, and
    `none` (M,) the logarithm of the likelihood without distress, up to what cancels. `kept` is what
    was worked out by onsets and failure ages, None where it is not to be kept.
    """

    samples: Samples
    earliest: Floats
    rise: Floats
    tables: tuple[Table, ...]
    none: Floats
    kept: dict[bytes, tuple[Floats, Floats]] | None = None

    def log_likelihood(self, onset: Floats, failure: Floats) -> Floats:
        """ln L, the likelihood over that without distress: `onset`, `failure` (M, P), (M, P, Q).

        `failure` is not below `earliest`. 0 where distress begins after the last sample.
        """
        engines, points = onset.shape
        engine = np.repeat(np.arange(engines), points)
        key = onset.tobytes() + failure.tobytes()
        sums = self.kept.get(key) if self.kept is not None else None
        if sums is None:
            sums = self._log_sums(engine, onset.ravel(), failure.ravel())
        if self.kept is not None:
            self.kept[key] = sums
        found = sums[0] + self.log_misled(engine, sums[1])
        return found.reshape(engines, points, -1) - self.none[:, None, None]

    def misled_as(self, samples: Samples) -> Evidence:
        """The same for `samples` that differ in no more than how often one misleads: what has been
        worked out for either serves both."""
        return _made_ready(replace(self, samples=samples))

    def _log_sums(self, engine: Ints, onset: Floats, failure: Floats) -> tuple[Floats, Floats]:
        """Unscaled log likelihoods of points (N,), an engine to each, if none of its samples
        misleads, and how many times as likely it is that one does, weights apart: (N, Q) each."""
        out, count = np.empty((2, len(onset), len(self.rise))), self.samples.at.shape[1]
        for some, first in self.groups(engine, onset, len(self.rise)):
            owner = engine[some]
            if first == count:  # alike for all points whose distress reaches no sample
                owner, back = np.unique(owner, return_inverse=True)
                out[:, some] = self._block(owner, [], first)[:, back]
            else:
                pieces = self.pieces(owner, onset[some], failure[some], first)
                out[:, some] = self._block(owner, pieces, first)
        return out[0], out[1]

    def _block(self, owner: Ints, pieces: list[FillPieces], first: int) -> Floats:
        """The same for points of engines `owner` (N,), rising, with the `pieces` of the fills from
        sample `first` on; (2, N, Q), or (2, N, 1) where distress reaches none."""
        samples = self.samples
        rise = samples.log_rise[owner, :, None] + samples.rise_spread[owner, :, None] * (
            self.rise if pieces else self.rise[:1]
        )
        log_sum = np.zeros((len(owner), rise.shape[-1]))
        blamed = np.ones((*log_sum.shape, samples.at.shape[1]))
        for e in range(len(self.tables)):
            whole, blame = self.element(e, owner, pieces, rise[:, e], first)
            log_sum += np.log(whole)
            blamed *= blame
        return np.stack([log_sum, self.blamed(owner, blamed)])

    def blamed(self, engine: Ints, each: Floats) -> Floats:
        """How many times as likely it is that one sample misleads, weights apart: `each` (N, R, n)
        are the products over the elements of `element`'s second result; (N, R)."""
        taken = self.samples.taken[engine].astype(float)
        return np.asarray(np.einsum("prn,pn->pr", each, taken))

    def log_misled(self, engine: Ints, blamed: Floats) -> Floats:
        """What is added to the log likelihood by samples that may mislead; (N, R)."""
        share = self.samples.misleading[engine]
        return np.asarray(np.log1p((share / (1 - share))[:, None] * blamed))

    def groups(self, engine: Ints, onset: Floats, rises: int) -> Iterator[tuple[Ints, int]]:
        """Points (N,) in blocks, each with the first sample that its distress reaches."""
        count = self.samples.at.shape[1]
        reached = np.sum(self.samples.at[engine] > onset[:, None], axis=1)
        # in blocks that grow with it: what distress has not reached is shifted by nothing
        steps = 2 ** np.arange(count.bit_length())
        upto = np.where(reached > 0, steps[np.searchsorted(steps, reached) % len(steps)], 0)
        upto = np.where(reached > steps[-1], count, np.minimum(upto, count))
        order = np.lexsort((engine, upto))
        levels = max(table.levels for table in self.tables)
        groups = np.split(order, np.flatnonzero(np.diff(upto[order])) + 1)
        for group in _gathered(groups, upto, WORTHWHILE // (levels * rises)):
            group = group[np.argsort(engine[group], kind="stable")]
            size = max(1, BLOCK // (levels * (rises if upto[group[0]] else 1)))
            for start in range(0, len(group), size):
                some = group[start : start + size]
                yield some, count - int(reached[some].max())

    def pieces(self, engine: Ints, onset: Floats, failure: Floats, first: int) -> list[FillPieces]:
        """The fills of samples `first` and later, for points (N,)."""
        samples = self.samples
        at = np.where(samples.taken, samples.at, 0.0)  # in an empty place, before any distress
        return [
            fill_pieces(
                onset[:, None],
                failure[:, None],
                at[engine, i, None],
                samples.oil_age[engine, i, None],
                samples.top_up_rate[engine, i, None],
            )
            for i in range(first, samples.at.shape[1])
        ]

    def element(
        self, e: int, engine: Ints, pieces: list[FillPieces], log_rise: Floats, first: int
    ) -> tuple[Floats, Floats]:
        """One element's part for points (N,) with `log_rise` (N, R) each.

        The integral over the level of all samples' chances (N, R), and how many times larger it is
        with each in turn taken for one that misleads (N, R, n); zeros if none may.
        """
        samples, table = self.samples, self.tables[e]
        owner = np.repeat(engine, log_rise.shape[1])
        product = table.before[first][owner]
        shifted: list[Floats | None] = []
        for i, piece in enumerate(pieces, start=first):
            if not np.any(samples.measured[:, e, i]):
                shifted.append(None)
                continue
            chance = table.shifted(i, owner, piece.log_mean(log_rise).ravel())
            product *= chance
            shifted.append(chance)
        every = np.ones(table.levels)  # a product with it sums short rows much faster
        whole = np.maximum(product @ every, LEAST)
        blame = np.zeros((len(owner), first + len(pieces)))
        if np.any(samples.misleading > 0):
            starts = np.flatnonzero(np.concatenate([[True], np.diff(owner) > 0]))
            for start, end in zip(starts, [*starts[1:], len(owner)], strict=True):
                rows = slice(start, end)
                blame[rows, :first] = product[rows] @ table.inverse[owner[start], :, :first]
            for i, one in enumerate(shifted, start=first):
                blame[:, i] = whole if one is None else np.divide(product, one, out=one) @ every
            blame *= table.misled[owner]
            blame /= whole[:, None]
        return whole.reshape(log_rise.shape), blame.reshape(*log_rise.shape, -1)


def _gathered(groups: list[Ints], reached: Ints, least: int) -> Iterator[Ints]:
    """Groups in order of the samples `reached`, those of fewer than `least` points put together
    with the next; points that reach none stay by themselves."""
    held: list[Ints] = []
    for group in groups:
        if len(group):
            held.append(group)
            alone = reached[group[0]] == 0
            if alone or sum(map(len, held)) >= least:
                yield np.concatenate(held)
                held = []
    if held:
        yield np.concatenate(held)


def weigh_samples(
    samples: Samples, earliest: Floats, rise: Floats, step: float = STEP, keep: bool = False
) -> Evidence:
    """Make the samples ready; `earliest` (M,) is not before the last sample, `rise` (Q,). `step`
    is that of the tables. What is worked out is kept where it is to serve others too."""
    made = tuple(tables(samples, earliest, (float(rise.min()), float(rise.max())), step))
    kept: dict[bytes, tuple[Floats, Floats]] | None = {} if keep else None
    return _made_ready(Evidence(samples, earliest, rise, made, np.zeros(samples.engines), kept))


def _made_ready(evidence: Evidence) -> Evidence:
    """The same, over the likelihood without distress."""
    every, never = np.arange(evidence.samples.engines), np.full(evidence.samples.engines, np.inf)
    log_sum, blamed = evidence._log_sums(every, never, never)
    none = log_sum + evidence.log_misled(every, blamed)
    return replace(evidence, none=none[:, 0])
