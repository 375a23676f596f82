"""Nodes over the warning lead, wherever the samples can tell one lead from another.

For a failure at T, distress shorter than T less the age at the last sample began after it: no
sample says anything, the likelihood ratio is 1. Longer than T it began with the part: all longer
leads are alike. Both shares are exact; in between lie Gauss-Legendre panels over the logarithm of
the lead. What is not known, the factor on the lead, only re-weighs the same nodes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from riskmodel.oil.evidence_student import normal_density

Floats = NDArray[np.float64]

TAILS = 4.5
"""Standard deviations of the log lead beyond which nothing is looked at: 7 in a million."""
NARROW = 0.15
"""Below this spread of the log lead, each factor on it has nodes of its own."""


@dataclass(frozen=True, eq=False, slots=True)
class LeadNodes:
    """Leads (M, T, N) for failure ages (M, T), with weights (M, F, T, N) for each factor on the
    lead, and the share `later` (M, F, T) of leads so short that no sample can tell."""

    lead: Floats
    weight: Floats
    later: Floats


def lead_nodes(
    failure: Floats,
    last: Floats,
    centre: Floats,
    spread: float,
    panels: int,
    order: int,
) -> LeadNodes:
    """Nodes for `failure` (M, T) not before the `last` sample (M,); ln lead is normal about each
    of `centre` (F,) with standard deviation `spread`."""
    gap = np.maximum(failure - last[:, None], 0.0)
    if spread == 0:
        lead = np.exp(centre)
        lead = np.broadcast_to(lead, (*failure.shape, len(centre)))
        told = lead > gap[..., None]
        own = np.eye(len(centre))[None, :, None, :]
        return LeadNodes(lead, own * told[:, None], np.moveaxis(~told, -1, 1).astype(float))
    with np.errstate(divide="ignore"):
        low, high = np.log(gap), np.log(failure)
    if spread < NARROW and len(centre) > 1:
        each = [_nodes(low, high, centre[[f]], spread, panels, order) for f in range(len(centre))]
        lead = np.concatenate([node.lead for node in each], axis=-1)
        count = each[0].lead.shape[-1]
        weight = np.zeros((lead.shape[0], len(centre), *lead.shape[1:]))
        for f, node in enumerate(each):
            weight[:, f, :, f * count : (f + 1) * count] = node.weight[:, 0]
        return LeadNodes(lead, weight, np.concatenate([node.later for node in each], axis=1))
    return _nodes(low, high, centre, spread, panels, order)


@dataclass(frozen=True, eq=False, slots=True)
class OnsetNodes:
    """Onsets (M, U) before the last sample, alike for all failure ages, and the stretch of usage
    `width` (M, U) that each stands for. The first is 0 and stands for all longer leads."""

    onset: Floats
    width: Floats
    last: Floats

    def weights(self, failure: Floats, centre: Floats, spread: float) -> tuple[Floats, Floats]:
        """Weights (M, F, T, U) and the share `later` (M, F, T), as in `LeadNodes`, for failure
        ages (M, T); ln lead is normal about each of `centre` (F,) with deviation `spread`."""
        lead = failure[:, :, None] - self.onset[:, None, 1:]
        z = (np.log(lead)[:, None] - centre[:, None, None]) / spread
        weight = normal_density(z) / (spread * lead)[:, None] * self.width[:, None, None, 1:]
        with np.errstate(divide="ignore"):
            low, high = np.log(failure - self.last[:, None]), np.log(failure)
        later = ndtr((low[:, None] - centre[:, None]) / spread)
        longer = ndtr((centre[:, None] - high[:, None]) / spread)
        _to_share(weight, 1 - later - longer)
        return np.concatenate([longer[..., None], weight], axis=-1), later


def onset_nodes(
    first: Floats, last: Floats, centre: Floats, spread: float, panels: int, order: int
) -> OnsetNodes:
    """Nodes by onset for failures from age `first` (M,) on, not before the `last` sample (M,), and
    a spread that is not below `NARROW`; evenly, or nearly so, in the logarithm of the lead."""
    shortest = np.exp(centre.min() - TAILS * spread)
    begin, end = np.log(first - last + shortest), np.log(first + shortest)
    place, share = _panels(panels, order)
    logs = begin[:, None] + (end - begin)[:, None] * place
    onset = np.maximum(first[:, None] + shortest - np.exp(logs), 0.0)
    width = np.exp(logs) * (end - begin)[:, None] * share
    none = np.zeros((len(onset), 1))
    return OnsetNodes(
        np.concatenate([none, onset], axis=1), np.concatenate([none, width], axis=1), last
    )


def _to_share(weight: Floats, share: Floats) -> None:
    """Bring weights (..., N) to the exact share (...) that they stand for, in place."""
    total = weight.sum(axis=-1)
    weight *= np.where(total > 1e-12, share / np.maximum(total, 1e-300), 1.0)[..., None]


def _nodes(
    low: Floats, high: Floats, centre: Floats, spread: float, panels: int, order: int
) -> LeadNodes:
    """Between ln leads `low` and `high` (M, T); a last node holds all leads longer than that."""
    begin = np.clip(low, centre.min() - TAILS * spread, None)
    end = np.minimum(high, centre.max() + TAILS * spread)
    begin = np.minimum(begin, end)
    place, share = _panels(panels, order)
    log_lead = begin[..., None] + (end - begin)[..., None] * place
    z = (log_lead[:, None] - centre[:, None, None]) / spread
    weight = normal_density(z) / spread * ((end - begin)[..., None] * share)[:, None]
    later = ndtr((low[:, None] - centre[:, None]) / spread)
    longer = ndtr((centre[:, None] - high[:, None]) / spread)
    _to_share(weight, 1 - later - longer)
    lead = np.concatenate([np.exp(log_lead), np.exp(high)[..., None]], axis=-1)
    return LeadNodes(lead, np.concatenate([weight, longer[..., None]], axis=-1), later)


def _panels(panels: int, order: int) -> tuple[Floats, Floats]:
    """Gauss-Legendre nodes and weights on (0, 1), in equal panels."""
    x, w = np.polynomial.legendre.leggauss(order)
    place = (np.arange(panels)[:, None] + (x + 1) / 2) / panels
    return place.ravel(), np.tile(w / 2 / panels, panels)
