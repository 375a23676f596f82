"""What many machines have in common when they are ranked: life curves, and what follows a
replacement. Worked out once for all that are alike, and kept for the next.

A machine's own survival only re-weighs the curves of its group. What follows a replacement hangs
on the rule for the parts to come, which is the best at some prices: machines whose prices are near
each other (`rank_rounded`) share a rule, and each pays its own.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.lives import Lives
from riskmodel.decision.prices import EVENTS, SALE, Prices
from riskmodel.decision.rank_curves import group_of, lasting
from riskmodel.decision.rank_rounded import rounded, rounded_prices, with_near_leads
from riskmodel.decision.renewal import NewPart
from riskmodel.decision.renewed import Renewal
from riskmodel.decision.sample_table import Table
from riskmodel.decision.sampling import Sampling
from riskmodel.decision.timing import Timing
from riskmodel.decision.watched import Kernels
from riskmodel.life.other_causes import other_causes
from riskmodel.life.posterior import Curves
from riskmodel.oil.alarm import Alarm, alarms, shed
from riskmodel.oil.history import History
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from riskmodel.risk.later import is_later, shortened, with_life_of_later
from riskmodel.risk.life_curves import (
    average_curves,
    average_knowing,
    by_traits,
    surety_of_records,
)
from riskmodel.use.learned import Learned, left_to_records, may_learn, with_learned

Floats = NDArray[np.float64]

FEWEST_EFFECTIVE = 15.0
"""Where the machine's own survival leaves fewer effective curves, its own are worked out."""
WIDER = 2.5
"""Nodes for the parts to come reach so many times beyond the scales of an average machine's
curves, on either side, for machines whose traits make life longer or shorter."""
FACTOR_POINTS = 3
"""Quadrature points over the factor on a new part's life."""
SHAPES, MOST_SCALES, RARE = 9, 64, 1e-4
"""Nodes over ln shape and at most over ln scale; curves believed less than this share of the
likeliest do not widen them."""
MOST_CURVES, MOST_RENEWALS, MOST_TABLES = 64, 192, 96
"""How many are kept, which bounds the memory (a renewal takes about a megabyte)."""

T = TypeVar("T")


class Kept(Generic[T]):
    """The `most` latest used of what was worked out."""

    def __init__(self, most: int) -> None:
        self._most, self._held = most, OrderedDict[Hashable, T]()

    def get(self, key: Hashable, work: Callable[[], T]) -> T:
        if key in self._held:
            self._held.move_to_end(key)
            return self._held[key]
        found = work()
        self._held[key] = found
        if len(self._held) > self._most:
            self._held.popitem(last=False)
        return found


@dataclass(frozen=True, slots=True, eq=False)
class Following:
    """What follows a replacement, at nodes of shape and scale that all machines of the records
    share.

    `renewal` holds counts at those nodes (points, events, nodes), averaged over the worlds, and the
    chance that all goes well (points, 1, nodes); `blend` (nodes, curves) takes them to the
    machine's curves, averaged over a new part's life. `table`: `seen`, `alarms` (F, S, T) tell of
    samples at services an interval apart, the first an interval after the clock's start, at
    failures `at` (T,) after it, for each of the lead's `factors` with their `share` (F,); None
    without samples to come. `other` is the rate of failures of other causes.
    """

    renewal: Renewal
    blend: Floats
    table: Table | None
    factors: Floats
    share: Floats
    other: float


@dataclass(frozen=True, slots=True, eq=False)
class Everywhere:
    """Chebyshev points over ln shape (R,) and ln scale (C,) for the parts to come of all machines
    that share records, and the lives at every pair of them, scales running fastest."""

    log_shape: Floats
    log_scale: Floats
    lives: Lives

    def blend(self, curves: Curves, new_part_life: Quantity) -> Floats:
        """Weights (nodes, curves) that take values at the nodes to curves, averaged over the
        factor on a new part's life."""
        factor, share = new_part_life.points(FACTOR_POINTS)
        by_shape = _weights(self.log_shape, np.log(curves.shape))
        wanted = np.log(curves.scale[:, None] * factor)
        inside = np.clip(wanted, self.log_scale[0], self.log_scale[-1])
        by_scale = _weights(self.log_scale, inside.ravel()).reshape(*inside.shape, -1)
        by_scale = np.einsum("kqc,q->kc", by_scale, share)
        found = by_shape[:, :, None] * by_scale[:, None, :]
        return np.asarray(found.reshape(len(curves), -1).T)


def _chebyshev(low: float, high: float, points: int) -> Floats:
    place = (1 - np.cos(np.pi * np.arange(points) / max(points - 1, 1))) / 2
    return np.asarray(low + (high - low) * place)


def _weights(points: Floats, at: Floats) -> Floats:
    """Weights (J, points) of barycentric interpolation from Chebyshev `points` to `at` (J,)."""
    if len(points) == 1:
        return np.ones((len(at), 1))
    sign = (-1.0) ** np.arange(len(points))
    sign[[0, -1]] /= 2
    gap = at[:, None] - points
    tiny = 1e-13 * (points[-1] - points[0])
    part = sign / np.where(np.abs(gap) < tiny, tiny, gap)
    return np.asarray(part / part.sum(axis=1, keepdims=True))


class Shared:
    """Curves and renewals that were worked out already."""

    def __init__(self) -> None:
        self._curves = Kept[Curves](MOST_CURVES)
        self._others = Kept[float](MOST_CURVES)
        self._sure = Kept[float](MOST_CURVES)
        self._everywhere = Kept[Everywhere](MOST_CURVES)
        self._renewals = Kept[Renewal](MOST_RENEWALS)
        self._watches = Kept[_Average](MOST_CURVES)
        self._tables = Kept[Table](MOST_TABLES)
        self._learned = Kept[Learned | None](MOST_CURVES)
        self._known: tuple[LifeRecords, Hashable] | None = None

    def records_key(self, records: LifeRecords | None) -> Hashable:
        """Something that is equal where the records are."""
        if records is None:
            return None
        if self._known is not None and self._known[0] is records:
            return self._known[1]
        columns = (records.age, records.age_from, records.entered_at, records.count)
        key = (
            b"".join(column.tobytes() for column in columns),
            records.outcome,
            records.cause,
            records.why,
            tuple(records.covariates.items()),
        )
        short = hash(key), len(records)
        self._known = records, short
        return short

    def learned(self, case: Case) -> Case:
        """The case with harshness from its records, as `learned_use` has it."""
        if case.records is None or not case.use.kinds or not may_learn(case):
            return case
        key = (self.records_key(case.records), case.use.kinds, *_beliefs(case))
        found = self._learned.get(key, lambda: left_to_records(case))
        return case if found is None else with_learned(case, found)

    def curves(self, case: Case, counted: bool) -> tuple[Curves, Hashable]:
        """The life curves of this machine's part, and a key of the group's that they re-weigh.

        `counted` says that the records hold the part itself, in service today. They are those of
        `own_curves`, joined with harshness where the records tell it.
        """
        group = group_of(case, self.learned(case))
        case, life = group.case, case.life
        joined = None if group.learned is None else case.use.kinds
        traits = tuple(sorted(case.part.traits.items())) if by_traits(case) else None
        key: Hashable = (self.records_key(case.records), traits, joined, *_beliefs(case))
        power = 1.0
        if counted:
            sure = self._sure.get(key, lambda: surety_of_records(case))
            power = 1.0 - sure * life.reporting_ratio
        elif case.part.in_records:
            power = 0.0
        try:
            shared = self._curves.get(key, group.curves)
        except CannotAnswer:
            return with_life_of_later(group.own(), case), ("own", id(case))
        told = lasting(shared, case.part.entered_at, case.age, power)
        if 1 / np.sum(told.weight**2) < FEWEST_EFFECTIVE < len(shared) and not counted:
            told = with_life_of_later(group.own(), case)
            return told, ("own", key, case.part.entered_at, case.age)
        return with_life_of_later(told, case), key

    def following(
        self,
        case: Case,
        curves: Curves,
        prices: Prices,
        taken: History | None,
        stated: Quantity,
    ) -> Following:
        """What follows a replacement of this machine's part, and what samples of it will see.
        Leads of `case` and `curves` are in usage from now; `stated` is the life of a new part
        against the first's, the case's own against the present part's."""
        case = with_near_leads(case)
        timing, near_prices = rounded(case), rounded_prices(prices)
        sampled = case.sampled and bool(shed(case.oil.element))
        watching = _watching(case, timing) if sampled else None
        life = case.plan.new_part_life
        beliefs = (self.records_key(case.records), *_beliefs(case))
        other = self._others.get(beliefs, lambda: _other(case))
        lives = life, stated if is_later(case) else life
        everywhere = self._everywhere.get(
            (beliefs, lives), lambda: _everywhere(case, other, stated)
        )

        def work() -> Renewal:
            watch = None
            if watching is not None:
                watch = self._watches.get(watching, lambda: _Average(_Knowing(case, timing)))
            new = NewPart(
                everywhere.lives,
                timing,
                case.warning.visible_lead,
                case.plan.after_failure == "repair",
                np.array([near_prices.fault.mean]),
                everywhere.lives.weight,
                watch,
            )
            found = new.solve(near_prices)
            return replace(found, counts=found.counts.astype(np.float32))

        settings = (beliefs, lives, timing, near_prices.means().tobytes(), case.plan.after_failure,
                    case.warning.visible_lead, watching)  # fmt: skip
        renewal = self._renewals.get(settings, work)
        blend = everywhere.blend(curves, life)
        if not sampled:
            return Following(renewal, blend, None, np.ones(1), np.ones(1), other)
        used = {} if taken is None else {s: _few(n) for s, n in taken.used.items()}
        table = self._tables.get(
            (watching, timing, tuple(used.items())), lambda: _table(case, timing, used)
        )
        factors, share = case.warning.lead_factor.points(len(table.seen))
        return Following(renewal, blend, table, factors, share, other)


def _beliefs(case: Case) -> tuple[Hashable, ...]:
    """All besides the records that life curves of no known trait hang on."""
    life = case.life
    told = (life.shape_prior, life.b50_prior, life.finding_error, life.reporting_ratio)
    return (*told, case.warning.visible_lead)


def _other(case: Case) -> float:
    """The rate of failures of other causes."""
    if case.records is None or "other" not in case.records.cause:
        return 0.0
    return other_causes(case.records, case.life.reporting_ratio).rate


def _everywhere(case: Case, other: float, stated: Quantity) -> Everywhere:
    """Nodes about the curves of a machine of no known trait, far enough for any trait."""
    try:
        curves = average_knowing(case, None)
    except CannotAnswer:  # its own survival is needed to settle them
        curves = average_curves(case)
    if is_later(case):
        curves = shortened(curves, stated)
    factor, _ = case.plan.new_part_life.points(FACTOR_POINTS)
    some = curves.weight > RARE * curves.weight.max()
    low, high = np.log(curves.shape[[curves.shape.argmin(), curves.shape.argmax()]])
    shapes = _chebyshev(low, high, SHAPES if high > low else 1)
    first = math.log(float(curves.scale[some].min() * factor.min()) / WIDER)
    last = math.log(float(curves.scale[some].max() * factor.max()) * WIDER)
    bends = float(curves.shape[some].max()) * (last - first)
    scales = _chebyshev(first, last, min(math.ceil(6 + 1.5 * bends), MOST_SCALES))
    shape, scale = (each.ravel() for each in np.meshgrid(shapes, scales, indexing="ij"))
    nodes = Everywhere(shapes, scales, Lives(np.exp(shape), np.exp(scale), np.zeros(0), other))
    believed = nodes.blend(curves, case.plan.new_part_life) @ curves.weight
    return replace(nodes, lives=replace(nodes.lives, weight=believed))


def _watching(case: Case, timing: Timing) -> Hashable:
    """All that samples to come hang on."""
    oil, warning = case.oil, case.warning
    told = (warning.lead, warning.lead_factor, warning.silent, oil.element, oil.shared_scatter)
    seen = (oil.turnaround, oil.false_alarm, oil.investigation_sees)
    return told, seen, timing.interval


class _Knowing(Sampling):
    """Samples at services as far apart as `timing` says, of a part far older than any lead, so
    that its distress may begin at any time; the analyst knows so many `used` earlier ones of each
    element."""

    def __init__(self, case: Case, timing: Timing, used: Mapping[str, int] | None = None) -> None:
        super().__init__(case)
        self._used = {} if used is None else used
        self._interval = timing.interval
        self._age += 1e3 * self.reach

    def _alarms(self, services: int, history: History | None) -> tuple[Alarm, ...]:
        return alarms(
            self._elements, self._interval, self._used, self.false_alarm, services, self._shared
        )


class _Average:
    """What samples of new parts lead to, averaged over the worlds: a `Watch` of one world.

    That is exact for one part; what one part's fate says of the next one's warning is left out.
    """

    def __init__(self, watch: Sampling) -> None:
        self._watch = watch
        self.weight = np.ones(1)
        self.turnaround, self.false_alarm = watch.turnaround, watch.false_alarm

    @property
    def reach(self) -> float:
        return self._watch.reach

    def of_new_part(self, services: Floats, at: Floats) -> Kernels:
        found, weight = self._watch.of_new_part(services, at), self._watch.weight
        return Kernels(
            *(
                np.einsum("w,w...->...", weight, each)[None]
                for each in (found.seen, found.alarms, found.tilt)
            )
        )

    def of_present_part(self, services: Floats, at: Floats) -> Kernels:
        raise NotImplementedError("only new parts are followed here")


def _few(count: int) -> int:
    """A number of samples near `count`, one of few: what more of them tell is ever less."""
    return min((0, 1, 2, 4, 8, 16, 64), key=lambda n: abs(math.log((n + 1) / (count + 1))))


def _table(case: Case, timing: Timing, used: Mapping[str, int]) -> Table:
    watch = _Knowing(case, timing, used)
    factors = len(np.unique(watch.worlds.factor))
    return _by_factor(watch.table_of_present_part(timing.services), watch.weight, factors)


def _by_factor(table: Table, weight: Floats, factors: int) -> Table:
    """The table's worlds averaged over the silent share: (F, S, T)."""
    share = weight.reshape(factors, -1)
    share = share / share.sum(axis=1, keepdims=True)

    def mean(values: Floats) -> Floats:
        shape = (factors, -1, *values.shape[1:])
        return np.asarray(np.einsum("fs,fs...->f...", share, values.reshape(shape)))

    return replace(table, seen=mean(table.seen), alarms=mean(table.alarms), tilt=mean(table.tilt))


def priced(renewal: Renewal, price: Floats, *, sold: bool) -> Renewal:
    """The renewal with costs in place of counts: (points, 1, curves). Without the worth at sale
    where the part before failed (`sold` False)."""
    kept = price.copy()
    if not sold:
        kept[SALE] = 0.0
    assert len(kept) == len(EVENTS)
    return replace(renewal, counts=np.einsum("e,pek->pk", kept, renewal.counts)[:, None])
