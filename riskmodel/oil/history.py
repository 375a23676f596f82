"""One engine's used-oil samples as evidence on when its part will fail; or many engines'."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import compress, pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.oil.columns import Column, misled, read_columns
from riskmodel.oil.evidence import Evidence, weigh_samples
from riskmodel.oil.evidence_data import Samples, side_by_side
from riskmodel.oil.evidence_lead import NARROW, OnsetNodes, lead_nodes, onset_nodes
from riskmodel.oil.evidence_onsets import Onsets, weigh_onsets
from riskmodel.oil.laboratories import laboratory_of
from riskmodel.oil.mass_balance import SampleRates, wear_rates
from riskmodel.oil.rise import onset_age
from riskmodel.oil.surge import marks
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FACTORS = 5
"""Nodes over what is not known of the lead."""
SILENT = 5
"""Nodes over the silent share."""
ENGINES_AT_ONCE = 64

PLACES, CLOSER = (0.7, 0.8, 0.9, 1.0, 1.2, 1.45, 1.75, 2.1), 1
"""Places tried for surges, in times of how far their own lies above the level, and how many times
those about the best are tried anew."""
UNSURE = 0.5
"""A level known no better than to so much of the scatter is little known."""


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
ROUGH = Nodes(panels=8, order=6, rise_step=1.25, rise_end=2.5, table=0.2)
"""Where a difference is asked for, or an interval's ends."""
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
        keep = self.nodes == ROUGH  # it is compared with others
        own = self.samples, self.samples.last, self.rise_points[0], self.nodes.table
        return weigh_samples(*own, keep)

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

    def as_alike(self, other: History | None) -> History:
        """The same, with what has been worked out for the `other` where samples differ in no more
        than how often one misleads."""
        own = self.samples
        if other is None or self.nodes != other.nodes or not own.alike(other.samples):
            return self
        alike = replace(self)
        alike.__dict__["evidence"] = other.evidence.misled_as(own)
        return alike

    def _require(self, failure: Floats) -> None:
        if failure.size and failure.min() < self.last:
            raise ValueError(
                f"a part sampled at {self.last:g} cannot have failed at {failure.min():g}"
            )


def history(
    case: Case,
    effective_age: Callable[[Floats], Floats] | None = None,
    rates: Sequence[SampleRates] | None = None,
    quick: bool = False,
) -> History | None:
    """The samples of a case as evidence; None where none of them is.

    `effective_age` turns ages of the part into effective ones (left out: they are the same);
    `rates` are those of `wear_rates`, if they are known already. `quick` leaves off to look for
    nearer places of surges, which seldom matters: for many engines.
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
    columns = read_columns(elements, rows, usage, places, case.oil.shared_scatter)
    lead, share = case.warning.lead.median, misled(columns, case.oil.misleading)
    mark = [marks(at, at - begun, top_up, lead, each.log_rise) for each in columns]

    def taken(times: Floats) -> History:
        """With surges held so many times as far out as their place lies."""
        own = [each.held(share, m, times) for each, m in zip(columns, mark, strict=True)]
        samples = Samples(
            at=at[None],
            oil_age=(at - begun)[None],
            top_up_rate=top_up[None],
            low=np.array([[each.low for each in own]]),
            high=np.array([[each.high for each in own]]),
            scale=np.array([[each.scale for each in own]]),
            centre=np.array([[each.centre for each in own]]),
            spread=np.array([[each.spread for each in own]]),
            log_rise=np.array([[each.log_rise for each in own]]),
            rise_spread=np.array([[each.element.rise.spread for each in own]]),
            misleading=np.array([case.oil.misleading]),
        )
        return History(
            symbols=tuple(each.element.symbol for each in own),
            in_use=tuple(each.place == labs[-1] for each in own),
            samples=samples,
            today=float(turned(np.array([case.age]))[0]),
            lead=case.warning.lead,
            lead_factor=case.warning.lead_factor,
            silent=case.warning.silent,
        )

    return _loudest(taken, columns, PLACES[0] if not quick else 1.0)


def roughly(history: History | None) -> History | None:
    """The same weighed at fewer nodes: for a difference, or an interval's ends."""
    if history is None or history.nodes == ROUGH:
        return history
    return replace(history, nodes=ROUGH)


def _loudest(
    taken: Callable[[Floats], History], columns: Sequence[Column], nearest: float
) -> History:
    """Surges held where all samples together speak loudest for a failure soon: at their places,
    or nearer for the last one, or farther out where little is known of a level."""
    every = np.ones(len(columns[0].low))
    found = taken(every)

    def at(times: float) -> History:
        return taken(times * every if times > 1 else np.append(every[1:], times))

    nearer = nearest < 1 and not np.array_equal(at(nearest).samples.low, found.samples.low)
    farther = any(_unsure(*pair) for pair in zip(columns, found.samples.low[0], strict=True))
    places = np.array([t for t in PLACES if t == 1 or (nearer if t < 1 else farther)])
    if len(places) == 1:
        return found
    soon = found.today + float(np.median(found.samples.oil_age)) * np.array([1, 3, 5]) / 6
    for _ in range(1 + CLOSER):
        tried = [at(times) for times in places]
        says = many_factors(tried, np.tile(soon, (len(tried), 1))).mean(axis=1)
        best = int(np.argmax(says))
        around = places[max(best - 1, 0) : best + 2]
        places = np.unique([np.geomspace(*ends, 3) for ends in pairwise(around)])
    return tried[best]


def _unsure(column: Column, low: Floats) -> bool:
    """Whether a reading was held, as `low`, while the level is little known to this day."""
    return bool((low != column.low).any() and column.unknown[-1] > UNSURE * column.scale[-1])


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
