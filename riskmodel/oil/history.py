"""One engine's used-oil samples as evidence on when its part will fail; or many engines'."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import compress

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.oil.evidence import Evidence, weigh_samples
from riskmodel.oil.evidence_data import Samples, side_by_side
from riskmodel.oil.evidence_lead import NARROW, OnsetNodes, lead_nodes, onset_nodes
from riskmodel.oil.evidence_onsets import Onsets, weigh_onsets
from riskmodel.oil.laboratories import apart, laboratory_of, level_elsewhere
from riskmodel.oil.mass_balance import PER, SampleRates, wear_rates
from riskmodel.oil.rise import onset_age
from riskmodel.oil.shared import widened
from riskmodel.oil.surge import held, loudest, marks
from riskmodel.records.case import Case, Element
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FACTORS = 5
"""Nodes over what is not known of the lead."""
SILENT = 5
"""Nodes over the silent share."""
ENGINES_AT_ONCE = 64


@dataclass(frozen=True, slots=True)
class Nodes:
    """How finely what varies from part to part is averaged over: `panels` over the logarithm of
    the lead with `order` Gauss-Legendre nodes each, and the rise's quantile from -`rise_end` to
    `rise_end` standard normal deviates by steps of `rise_step`. Readings are tabulated by `table`
    of a scatter, and each onset weighed at so many `climbs`."""

    panels: int
    order: int
    rise_step: float
    rise_end: float
    table: float = 0.03
    climbs: int = 24

    def rise(self, spread: Floats) -> tuple[Floats, Floats]:
        """Deviates and weights (Q,): an even grid, exact for smooth densities even where many
        samples agree on the rise."""
        if np.all(spread == 0):
            return np.zeros(1), np.ones(1)
        half = round(self.rise_end / self.rise_step)
        z = self.rise_step * np.arange(-half, half + 1)
        weight = np.exp(-z * z / 2)
        return np.asarray(z), np.asarray(weight / weight.sum())


FINE = Nodes(panels=8, order=6, rise_step=0.75, rise_end=3.75)
QUICK = Nodes(panels=4, order=4, rise_step=1.25, rise_end=2.5, table=0.15, climbs=12)
"""For many engines at once."""


@dataclass(frozen=True, eq=False)
class History:
    """The used samples of one engine, of elements that its part sheds.

    `symbols` (E,) name the elements of `samples`, each once for every laboratory that measured it
    (`in_use` (E,): the one that samples go to now), `ages` (n,) are the part's (effective) ages at
    the samples, `today` its age now. `lead` varies from part to part; `lead_factor` and `silent`
    are not known. All likelihoods are ratios to no distress throughout.
    """

    symbols: tuple[str, ...]
    in_use: tuple[bool, ...]
    samples: Samples
    today: float
    lead: Quantity
    lead_factor: Quantity
    silent: Quantity
    nodes: Nodes = FINE

    @property
    def ages(self) -> Floats:
        return np.asarray(self.samples.at[0])

    @property
    def last(self) -> float:
        """The part's age at the last used sample."""
        return float(self.samples.at[0, -1])

    @property
    def used(self) -> dict[str, int]:
        """How many samples tell of each element, in the laboratory that they go to now."""
        measured = self.samples.measured[0].sum(axis=-1).tolist()
        told = zip(self.symbols, measured, self.in_use, strict=True)
        return {symbol: count for symbol, count, in_use in told if in_use}

    @cached_property
    def rise_points(self) -> tuple[Floats, Floats]:
        """Deviates of the rise's common quantile and their weights, both (Q,)."""
        return self.nodes.rise(self.samples.rise_spread)

    @cached_property
    def factor_points(self) -> tuple[Floats, Floats]:
        """Nodes of `lead_factor` and their weights, both (F,)."""
        return self.lead_factor.points(FACTORS)

    @cached_property
    def silent_points(self) -> tuple[Floats, Floats]:
        """Nodes of the silent share and their weights, both (S,)."""
        return self.silent.points(SILENT)

    @cached_property
    def evidence(self) -> Evidence:
        return weigh_samples(self.samples, self.samples.last, self.rise_points[0], self.nodes.table)

    @cached_property
    def _onsets(self) -> Weighed:
        log_lead = _log_lead(self.lead, self.factor_points[0])
        return _onsets(self.evidence, np.array([self.today]), log_lead, self.nodes)

    def log_likelihood(self, failure_age: ArrayLike, lead: ArrayLike) -> Floats:
        """ln L(T, H, rise): a last axis (Q,) over `rise_points` on the broadcast shape of
        `failure_age` and `lead`, any factor on the lead included.

        Raises ValueError for a failure before the last sample.
        """
        failure, lead = np.broadcast_arrays(
            np.asarray(failure_age, dtype=float), np.asarray(lead, dtype=float)
        )
        self._require(failure)
        onset = onset_age(failure, lead)
        found = self.evidence.log_likelihood(onset.reshape(1, -1), failure.reshape(1, -1))
        return np.asarray(found.reshape(*failure.shape, -1))

    def likelihood(self, failure_age: ArrayLike, lead_factor: ArrayLike | None = None) -> Floats:
        """E[L(T, H, rise)] over the lead and the rise, for parts that are not silent.

        `failure_age` (T,), `lead_factor` (F,), left out its own nodes: (F, T).
        """
        failure = np.atleast_1d(np.asarray(failure_age, dtype=float))
        self._require(failure)
        factor = self.factor_points[0] if lead_factor is None else np.atleast_1d(lead_factor)
        log_lead = _log_lead(self.lead, factor)
        if lead_factor is None and self.lead.spread >= NARROW and failure.min() >= self.today:
            return np.asarray(
                _by_onset(self._onsets, failure[None], log_lead, self.rise_points[1])[0]
            )
        found = _average(self.evidence, failure[None], log_lead, self.nodes, self.rise_points[1])
        return np.asarray(found[0])

    def factor(self, failure_age: ArrayLike) -> Floats:
        """G(T), the oil factor: silent + (1 - silent) E[L], at the means of what is not known;
        (T,)."""
        told = self.factor_points[1] @ self.likelihood(failure_age)
        return np.asarray(self.silent.mean + (1 - self.silent.mean) * told)

    def _require(self, failure: Floats) -> None:
        if failure.size and failure.min() < self.last:
            raise ValueError(
                f"a part sampled at {self.last:g} cannot have failed at {failure.min():g}"
            )


def history(
    case: Case,
    effective_age: Callable[[Floats], Floats] | None = None,
    rates: Sequence[SampleRates] | None = None,
) -> History | None:
    """The samples of a case as evidence; None where none of them is.

    `effective_age` turns ages of the part into effective ones (left out: they are the same);
    `rates` are those of `wear_rates`, if they are known already.
    """
    elements = [element for element in case.oil.element if element.from_part]
    told = wear_rates(case) if rates is None else rates
    # by all samples: one that counts for nothing still tells whose those after it are
    labs = laboratory_of([row.sample for row in told])
    counts = [row.used and any(each.symbol in row.rates for each in elements) for row in told]
    rows, places = list(compress(told, counts)), labs[counts]
    elements = [e for e in elements if any(e.symbol in row.rates for row in rows)]
    if not rows:
        return None
    turned = (lambda age: age) if effective_age is None else effective_age
    at = turned(np.array([row.age for row in rows]))
    begun = turned(np.array([row.age - row.oil_age for row in rows]))
    usage = np.array([row.oil_age for row in rows])
    top_up = np.array([row.top_up_rate for row in rows]) * usage / (at - begun)
    columns = [
        column
        for each in elements
        for column in _by_laboratory(
            each, _element(each, rows, usage), usage, places, len(elements)
        )
    ]
    columns = _widened(columns, case.oil.shared_scatter)
    lead, misled = case.warning.lead.median, _misled(columns, case.oil.misleading)
    columns = [
        _held(each, misled, marks(at, at - begun, top_up, lead, each.log_rise)) for each in columns
    ]
    samples = Samples(
        at=at[None],
        oil_age=(at - begun)[None],
        top_up_rate=top_up[None],
        low=np.array([[each.low for each in columns]]),
        high=np.array([[each.high for each in columns]]),
        scale=np.array([[each.scale for each in columns]]),
        centre=np.array([[each.centre for each in columns]]),
        spread=np.array([[each.spread for each in columns]]),
        log_rise=np.array([[each.log_rise for each in columns]]),
        rise_spread=np.array([[each.element.rise.spread for each in columns]]),
        misleading=np.array([case.oil.misleading]),
    )
    return History(
        symbols=tuple(each.element.symbol for each in columns),
        in_use=tuple(each.place == labs[-1] for each in columns),
        samples=samples,
        today=float(turned(np.array([case.age]))[0]),
        lead=case.warning.lead,
        lead_factor=case.warning.lead_factor,
        silent=case.warning.silent,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Column:
    """One element as one laboratory reads it: the ends of ln rate in each sample, `low` and `high`,
    and its scatter, `scale`, all (n,), infinite where it was not measured there; middle and spread
    of its usual ln level. `place` numbers the laboratory."""

    element: Element
    place: int
    low: Floats
    high: Floats
    scale: Floats
    centre: float
    spread: float

    @property
    def log_rise(self) -> float:
        return math.log(self.element.rise.median)

    @property
    def middle(self) -> Floats:
        """ln rate, half the most that it may be where the rounding can't tell it from nothing."""
        lower = np.where(np.isfinite(self.low), self.low, self.high - math.log(4))
        return np.asarray((lower + self.high) / 2)


Ends = tuple[Floats, Floats, Floats]


def _by_laboratory(
    element: Element, ends: Ends, usage: Floats, places: Ints, elements: int
) -> Iterator[_Column]:
    """An element's readings parted by laboratory. One that reads otherwise does so in all the
    `elements`: each bears its root of them."""
    centre, spread = math.log(element.typical.median), element.typical.spread
    measured = np.isfinite(ends[1])
    before = np.zeros(len(usage), dtype=bool)
    for place in np.unique(places[measured]):
        here = measured & (places == place)
        low, high, scale = ends
        low, high = np.where(here, low, -np.inf), np.where(here, high, np.inf)
        column = _Column(element, int(place), low, high, scale, centre, spread)
        if before.any():
            told = _Column(element, -1, *ends, centre, spread).middle[before]
            reading = float(np.median(np.exp(told) * usage[before])) / PER
            differ = math.sqrt(elements) * apart(element.symbol, reading)
            level = level_elsewhere(centre, spread, told, scale[before], differ)
            column = replace(column, centre=level[0], spread=level[1])
        yield column
        before |= here


def _widened(columns: Sequence[_Column], shared: float) -> list[_Column]:
    """The same, scattering as widely as samples do whose elements share some of it."""
    by = widened(
        np.log([each.element.scatter for each in columns]),
        np.array([np.where(np.isfinite(each.high), each.scale, np.inf) for each in columns]),
        np.array([each.log_rise for each in columns]),
        shared,
    )
    return [replace(each, scale=each.scale * by) for each in columns]


def _element(element: Element, rows: Sequence[SampleRates], usage: Floats) -> Ends:
    """ln low, ln high and sigma' of one element in each sample; (n,) each."""
    low, high = np.full(len(rows), -np.inf), np.full(len(rows), np.inf)
    for i, row in enumerate(rows):
        rate = row.rates.get(element.symbol)
        if rate is not None:
            low[i] = math.log(rate.low) if rate.low > 0 else -math.inf
            high[i] = math.log(rate.high)
    expected = element.typical.median * usage / PER
    return low, high, np.hypot(math.log(element.scatter), element.noise / expected)


def _misled(columns: Sequence[_Column], share: float) -> Floats:
    """The share of samples that mislead, to each element of a sample; (n,). One that misleads does
    so in all of them: of so many elements that surge together, each bears its root."""
    measured = np.isfinite([each.high for each in columns]).sum(axis=0)
    return np.asarray(share ** (1 / np.maximum(measured, 1)))


def _held(column: _Column, misled: Floats, mark: Floats) -> _Column:
    """The same with surges beyond where they speak loudest for distress taken as ones there."""
    low, high, scale = column.low, column.high, column.scale
    if held(low, high, scale, column.centre, column.spread, mark)[0] is low:
        return column  # no place lies before its mark
    place = loudest(mark, scale, column.spread, misled)
    low, high = held(low, high, scale, column.centre, column.spread, place)
    return replace(column, low=low, high=high)


def many_likelihoods(
    histories: Sequence[History], failure_age: Floats, nodes: Nodes = QUICK
) -> Floats:
    """`History.likelihood` of M engines at once: `failure_age` (M, T), gives (M, F, T).

    All share the lead, what is not known of it, and which elements have a range of rise. With the
    default nodes a chance of failure is within about a hundredth of
    itself of that with `FINE` ones.
    """
    first = histories[0]
    if any((h.lead, h.lead_factor) != (first.lead, first.lead_factor) for h in histories):
        raise ValueError("engines weighed at once need one lead and one lead_factor")
    log_lead = _log_lead(first.lead, first.factor_points[0])
    rise, rise_weight = nodes.rise(np.array([h.samples.rise_spread.max() for h in histories]))
    found = []
    for start in range(0, len(histories), ENGINES_AT_ONCE):
        some = slice(start, start + ENGINES_AT_ONCE)
        samples = side_by_side([h.samples for h in histories[some]])
        evidence = weigh_samples(samples, samples.last, rise, nodes.table)
        found.append(_average(evidence, failure_age[some], log_lead, nodes, rise_weight))
    return np.concatenate(found)


def many_factors(histories: Sequence[History], failure_age: Floats, nodes: Nodes = QUICK) -> Floats:
    """The oil factor G of M engines at `failure_age` (M, T): (M, T). See `many_likelihoods`."""
    weight = histories[0].factor_points[1]
    told = np.einsum("f,mft->mt", weight, many_likelihoods(histories, failure_age, nodes))
    silent = np.array([h.silent.mean for h in histories])[:, None]
    return np.asarray(silent + (1 - silent) * told)


def _average(
    evidence: Evidence,
    failure: Floats,
    log_lead: tuple[Floats, float],
    nodes: Nodes,
    rise_weight: Floats,
) -> Floats:
    """E[L] over lead and rise at `failure` (M, T), for each factor on the lead: (M, F, T)."""
    if log_lead[1] >= NARROW:
        return _by_onset(
            _onsets(evidence, failure.min(axis=1), log_lead, nodes), failure, log_lead, rise_weight
        )
    leads = lead_nodes(failure, evidence.samples.last, *log_lead, nodes.panels, nodes.order)
    shape = leads.lead.shape
    then = np.broadcast_to(failure[..., None], shape).reshape(shape[0], -1)
    onset = onset_age(then, leads.lead.reshape(shape[0], -1))
    found = evidence.log_likelihood(onset, then)
    told = (np.exp(found) @ rise_weight).reshape(shape)
    return np.asarray(leads.later + np.einsum("mftn,mtn->mft", leads.weight, told))


Weighed = tuple[OnsetNodes, Onsets]


def _onsets(
    evidence: Evidence, first: Floats, log_lead: tuple[Floats, float], nodes: Nodes
) -> Weighed:
    """The samples weighed at onsets laid out for failures from `first` (M,) on."""
    last = evidence.samples.last
    laid = onset_nodes(first, last, *log_lead, nodes.panels, nodes.order)
    return laid, weigh_onsets(evidence, laid.onset, nodes.climbs)


def _by_onset(
    weighed: Weighed, failure: Floats, log_lead: tuple[Floats, float], rise_weight: Floats
) -> Floats:
    """`_average` from samples already weighed."""
    laid, onsets = weighed
    weight, later = laid.weights(failure, *log_lead)
    told = np.exp(onsets.log_likelihood(failure)) @ rise_weight
    return np.asarray(later + np.einsum("mftu,mut->mft", weight, told))


def _log_lead(lead: Quantity, factor: Floats) -> tuple[Floats, float]:
    """The centres (F,) and the spread of ln lead."""
    return np.asarray(math.log(lead.median) + np.log(factor)), lead.spread
