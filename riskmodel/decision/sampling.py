"""What samples taken and samples to come lead to, given when the part would fail.

A part that would fail at T shows distress from T - H on, H its warning lead. A sample at a
service alarms with a chance that grows with how far the fill of oil tells of it; where distress
has begun the investigation sees it with a certain chance, and the part is replaced. The lead
and how far wear rises vary from part to part and are averaged over, weighed by the samples
taken so far; the lead's own middle (`lead_factor`) and the share of failures that give no signal
are not known, and make the worlds between which plans are weighed.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from riskmodel.decision.leads import LEAD_REACH, LEADS, shared_leads
from riskmodel.decision.sample_table import Table
from riskmodel.decision.watched import Kernels
from riskmodel.decision.worlds import Worlds, few_worlds, fewest_worlds
from riskmodel.life.posterior import Curves
from riskmodel.life.weibull import failure as failure_by
from riskmodel.oil.alarm import Alarm, alarms, shed
from riskmodel.oil.history import History, roughly
from riskmodel.oil.retest import RetestAlarm
from riskmodel.oil.rise import fill_pieces
from riskmodel.oil.seen import follow
from riskmodel.records.case import Case, Warning
from riskmodel.records.quantity import exactly

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

LIFE_REACH = 3.0
"""How far a life counts from the usual one, in normal deviates, where the lead goes with it."""

RISES = 5
"""Quadrature points over how far wear rises, one quantile for all elements of a part."""

STEPS, ROUGH_STEPS = 12, 6
"""Failure ages worked out in an oil interval; between them straight lines."""

ROUGH_LEADS = 16
"""Leads averaged over at one factor where a difference is asked for, or an interval's ends."""


SAME_AGE = 1e-7
"""Failure ages closer than this, in oil intervals, are one to what past samples tell."""

COARSE, ROUGH_COARSE, MOST_COARSE, USUAL_REACH = 30, 20, 150, 40.0
"""Failure ages worked out beyond the last service, where a difference is asked for, and at most,
more than the first where samples can tell of failures further ahead than so many oil intervals."""


class Outcome(Protocol):
    """Something found out about the present part, `at` a usage from today that lies before the
    clock of the plans starts."""

    @property
    def at(self) -> float: ...

    @property
    def reach(self) -> float:
        """Usage before failure within which it can tell anything; 0: no more than samples do."""
        ...

    @property
    def of_oil(self) -> bool:
        """Whether it hangs on what the oil shows; if not, it is as likely for all leads."""
        ...

    def likelier(self, onset: Floats, failure: Floats, age: float, log_rise: Floats) -> Floats:
        """How many times likelier it is than without distress, where distress goes from `onset`
        (T, L) to `failure` (T, 1), the part being `age` old then, at ln rises (R, E); (T, L, R)."""
        ...

    def quietly(self, failure: Floats) -> Floats:
        """The same where the oil gives no signal; (T,)."""
        ...


@dataclass(frozen=True, slots=True)
class Retested:
    """What a retest of the present part showed: another surge, or not. `at` is the usage from
    today's at which it was drawn, before the clock of the plans starts."""

    alarm: RetestAlarm
    surge: bool
    at: float

    @property
    def reach(self) -> float:
        return 0.0

    @property
    def of_oil(self) -> bool:
        return True

    def quietly(self, failure: Floats) -> Floats:
        return np.ones_like(failure)

    @property
    def key(self) -> tuple[float, bool]:
        """What tells it from the other outcomes of a second sample in the same case."""
        return self.alarm.false_alarm, self.surge

    @property
    def opposite(self) -> Retested:
        return replace(self, surge=not self.surge)

    @property
    def usual_chance(self) -> float:
        """The chance of this outcome without distress."""
        false = self.alarm.false_alarm
        return false if self.surge else 1 - false

    def likelier(self, onset: Floats, failure: Floats, age: float, log_rise: Floats) -> Floats:
        """How many times likelier it is with distress from `onset` (T, L) to `failure` (T, 1), the
        part being `age` old at the retest, at ln rises (R, E); (T, L, R)."""
        pieces = fill_pieces(
            onset[..., None, None], failure[..., None, None], age, self.alarm.oil_age
        )
        chance = self.alarm.chance(pieces.log_mean(log_rise))
        if not self.surge:
            chance = 1 - chance
        begun = (onset < age)[..., None]
        return np.asarray(np.where(begun, chance / self.usual_chance, 1.0))


@dataclass(frozen=True, slots=True, eq=False)
class LeadLife:
    """That long lives go with long leads, or with short ones: `share` is the correlation of the
    logarithm of the lead with the normal score of life on the mean of `curves`, the present part
    being of `ages` (curves,) today."""

    share: float
    curves: Curves
    ages: Floats


Followed = tuple[Floats, Floats, Floats]


class Sampling:
    """Samples of `case`, those taken (`history`) and those at coming services; a `Watch`.

    Where none are to come, the parts are never seen and never alarm. Without `lead_life` lead and
    life are independent. No part lasts longer than `lasting`, however long its lead. Leads are laid
    out for factors `beside` its own, too. `worlds` are those of the warning, left out: few. One
    that is `rough` weighs samples at fewer leads and nodes, and parts at fewer failure ages, so
    many `steps` an oil interval: to be compared with others that are.
    """

    def __init__(
        self,
        case: Case,
        history: History | None = None,
        lead_life: LeadLife | None = None,
        lasting: float = np.inf,
        beside: Sequence[float] = (),
        worlds: Worlds | None = None,
        rough: bool = False,
        steps: int | None = None,
    ) -> None:
        self.case, self._rough = case, rough
        self._many, own = (ROUGH_LEADS, ROUGH_STEPS) if rough else (LEADS, STEPS)
        self._steps = own if steps is None else steps
        history = roughly(history) if rough else history
        warning, oil = case.warning, case.oil
        self.worlds = _worlds(warning, rough) if worlds is None else worlds
        self._laid = np.unique([*self.worlds.factor, *beside])
        self.sampled = case.sampled and bool(shed(oil.element))
        self.turnaround = oil.turnaround
        self.false_alarm = oil.false_alarm if self.sampled else 0.0
        self.history, self._age = history, case.age
        self._today = case.age
        self._average = False
        self._outcome: Outcome | None = None
        self._rest: tuple[Sampling, Sampling] | None = None  # without an outcome; with the opposite
        self._blind: Sampling | None = None  # without an outcome that the oil has no part in
        self._interval, self._sees = case.interval, oil.investigation_sees
        self._elements, self._shared = shed(oil.element), oil.shared_scatter
        self._lead_life = lead_life
        self._range = warning.lead
        self._reach = float(warning.lead.quantile(LEAD_REACH) * self._laid.max())
        self.lasting = lasting
        self._tables: dict[tuple[bool, bytes], Table] = {}
        self._followed: dict[tuple[bool, bytes], Followed] = {}
        self._likely: dict[int, Floats] = {}  # by failure age, and shared with all copies

    def serves(self, case: Case, history: History | None) -> bool:
        """Whether `case` with these samples is told the same: it differs in no more than prices,
        how long it is kept and what is done after a failure."""
        own = self.case
        return history is self.history and all(
            getattr(case, name) == getattr(own, name)
            for name in ("oil", "warning", "age", "interval", "sampled")
        )

    def unsampled(self) -> Sampling:
        """The same with no samples to come: what those taken tell of a failure stays."""
        told = self._anew()
        told.case = replace(self.case, plan=replace(self.case.plan, sample=False))
        told.sampled, told.false_alarm = False, 0.0
        return told

    def on_average(self) -> Sampling:
        """The same in one world, whose kernels are the mean of all: with no samples to come, what
        follows a replacement is alike in all worlds, and so are means then."""
        told = copy(self)  # parts are followed once for both
        told._tables, told._average, told._blind = {}, True, None
        return told

    def later(self, usage: float) -> Sampling:
        """The same, the clock of the plans starting so much later."""
        told = self._anew()
        told._age, told.lasting = self._age + usage, self.lasting - usage
        return told

    def knowing(self, outcome: Outcome) -> Sampling:
        """The same where the outcome of a retest before the plans' clock is known."""
        told = self._anew()
        told._outcome = outcome
        told._reach = max(self._reach, outcome.reach)
        if not outcome.of_oil and outcome.reach <= self._reach:
            told._blind = self
        return told

    def settled(self, factor: float | None = None, silent: float | None = None) -> Sampling:
        """The same with the factor on the lead known, one of those it has or has `beside` them, or
        the silent share, or both; parts are followed once for all that are settled. Raises
        ValueError for another factor."""
        told, certain = copy(self), self.case.warning
        if factor is not None:
            if factor not in self._laid:
                raise ValueError(f"a lead {factor:g} times as long was not laid out")
            certain = replace(certain, lead_factor=exactly(factor))
        if silent is not None:
            certain = replace(certain, silent=exactly(silent, share=True))
        told.case, told._tables, told._blind = replace(self.case, warning=certain), {}, None
        told.worlds = _worlds(certain, self._rough)
        return told

    def roughly(self, worlds: Worlds | None = None, steps: int | None = None) -> Sampling:
        """The same case and samples as they stand today, but rough; in other `worlds`, if they are
        given."""
        own = self.case, self.history, self._lead_life, self.lasting
        return Sampling(*own, worlds=worlds, rough=True, steps=steps)

    def _anew(self) -> Sampling:
        """A copy for which nothing has been worked out yet but what past samples tell."""
        told = copy(self)
        told._tables, told._followed = {}, {}
        told._blind = None  # it is of what this was copied from
        return told

    def either(self, outcome: Retested) -> tuple[Sampling, Sampling]:
        """The same where the retest turned out so, and where it turned out the other way: what
        that leads to follows from the other two, without following it out."""
        told, opposite = self.knowing(outcome), self.knowing(outcome.opposite)
        opposite._rest = self, told
        return told, opposite

    @property
    def weight(self) -> Floats:
        """How far each world is believed before any sample; (W,)."""
        return np.ones(1) if self._average else self.worlds.weight

    @property
    def reach(self) -> float:
        return self._reach

    def of_new_part(self, services: Floats, at: Floats) -> Kernels:
        """For a part fitted at 0, its own usual level unknown."""
        return self.table_of_new_part(services).kernels(at)

    def of_present_part(self, services: Floats, at: Floats) -> Kernels:
        """For the part in the engine now."""
        return self.table_of_present_part(services).kernels(at)

    def table_of_new_part(self, services: Floats) -> Table:
        """The same as a table of failure ages."""
        return self._table(services, None)

    def table_of_present_part(self, services: Floats) -> Table:
        """The same as a table of failures in usage from now."""
        return self._table(services, self._age)

    def _table(self, services: Floats, age: float | None) -> Table:
        key = (age is None, services.tobytes())
        for new, longer in self._tables if self._rough else ():
            # what a sample tells hangs on none that come later
            if new == key[0] and longer.startswith(key[1]):
                return self._tables[new, longer].of_first(len(services))
        if key not in self._tables:
            self._tables[key] = self._from_others(services, age) or self._worked_out(services, age)
        return self._tables[key]

    def _from_others(self, services: Floats, age: float | None) -> Table | None:
        """That which follows from the tables of others; None where none does."""
        if age is None or self._outcome is None:
            return None
        if self._rest is not None:
            assert isinstance(self._outcome, Retested)
            without, opposite = (each.table_of_present_part(services) for each in self._rest)
            return without.less(opposite, 1 - self._outcome.usual_chance)
        if self._blind is not None:
            table = self._blind.table_of_present_part(services)
            return table.times(self._outcome.quietly(age + table.at))
        return None

    def _worked_out(self, services: Floats, age: float | None) -> Table:
        """`age` of the part now; None for a new part, which has no history."""
        step = self._interval / self._steps
        last = float(services.max(initial=0.0))
        first = services[0] % step if len(services) else step
        # fine to a little beyond the last service, then ever coarser to where nothing can tell
        fine = np.arange(first, last + 2 * step, step)
        far = min(1.1 * self.reach, max(self.lasting - last, step))
        more = np.sqrt(far / (USUAL_REACH * self._interval))
        least = ROUGH_COARSE if self._steps < STEPS else COARSE
        points = int(np.clip(least * more, least, MOST_COARSE))
        coarse = last + 2 * step + far * np.linspace(0, 1, points)[1:] ** 2
        grid = np.unique(np.concatenate([[0.0], fine, coarse]))
        key = (age is None, services.tobytes())
        if key not in self._followed:
            self._followed[key] = self._at(services, grid, age)
        seen, alarm, evidence = self._followed[key]
        silent = self.worlds.silent
        index = np.searchsorted(self._laid, self.worlds.factor)
        loud = (1 - silent)[:, None]
        told = np.ones(len(grid))
        if age is not None and self._outcome is not None:
            told = self._outcome.quietly(age + grid)
        quiet = (silent * self.false_alarm)[:, None, None] * told - self.false_alarm
        table = Table(
            grid,
            loud[..., None] * seen[index],
            loud[..., None] * alarm[index] + quiet,
            loud * (evidence[index] - 1) + silent[:, None] * (told - 1),
            self.false_alarm,
        )
        return table.mean(self.worlds.weight) if self._average else table

    def _at(self, services: Floats, grid: Floats, age: float | None) -> Followed:
        """Of parts that are not silent, for each of F lead factors laid out and times how likely
        the history then is: (F, S, T) the chance to be seen at each service, (F, S, T) to be in
        place there and alarm, and (F, T) that likelihood alone."""
        history = None if age is None else self.history
        start = 0.0 if age is None else age
        z, rise_weight = _even(RISES) if history is None else history.rise_points
        log_rise = np.array([np.log(e.rise.quantile(z)) for e in self._elements]).T
        told = self._alarms(len(services), history) if self.sampled else ()
        shape = (len(self._laid), len(services), len(grid))
        seen, alarm = np.zeros(shape), np.zeros(shape)
        failure, step = start + grid[:, None], self._interval / self._steps
        lead, weight = self._leads(failure, new=age is None)
        onset = np.maximum(failure - lead, 0.0)
        likely = np.broadcast_to(rise_weight, (*onset.shape, len(rise_weight)))
        if history is not None:
            likely = likely * self._of_history(history, failure, lead)
        if age is not None and self._outcome is not None:
            drawn = self._today + self._outcome.at
            likely = likely * self._outcome.likelier(onset, failure, drawn, log_rise)
        evidence = weight @ likely.sum(axis=2).T
        # a factor on the lead only weighs leads anew: each is followed once
        followed = follow(
            np.broadcast_to(failure, onset.shape).ravel(),
            onset.ravel(),
            likely.reshape(onset.size, -1),
            start + services - 1e-9 * step,  # a part that fails at a service is there before
            self._interval,
            log_rise,
            told,
            self._sees,
        )
        for j, (ringing, found) in enumerate(followed if told else ()):
            alarm[:, j] = weight @ ringing.reshape(onset.shape).T
            seen[:, j] = weight @ found.reshape(onset.shape).T
        return seen, alarm, evidence

    def _leads(self, failure: Floats, *, new: bool) -> tuple[Floats, Floats]:
        """Leads (L,) averaged over, or (T, L) where they go with life, and how far each counts at
        each factor, (F, L); `failure` (T, 1)."""
        spread, middle = self._range.spread, np.zeros((1, 1))
        if self._lead_life is not None and self._lead_life.share != 0:
            share, curves = self._lead_life.share, self._lead_life.curves
            own = failure if new else self._lead_life.ages + (failure - self._today)
            by = failure_by(own, curves.shape, curves.scale) @ curves.weight
            score = np.clip(ndtri(by), -LIFE_REACH, LIFE_REACH)[:, None]
            middle, spread = share * spread * score, np.sqrt(1 - share**2) * spread
        away, weight = shared_leads(np.log(self._laid), spread, self._many)
        lead = self._range.median * np.exp(middle + away)
        return lead[0] if len(lead) == 1 else lead, weight

    def _of_history(self, history: History, failure: Floats, lead: Floats) -> Floats:
        """L at `failure` (T, 1) and `lead` (L,) or (T, L); (T, L, R). No outcome changes it, and a
        clock that starts later asks for the same ages."""
        keys = np.rint(failure[:, 0] / (SAME_AGE * self._interval)).astype(np.int64).tolist()
        new = np.array([i for i, key in enumerate(keys) if key not in self._likely], dtype=int)
        if len(new):
            own = np.broadcast_to(lead, (len(failure), lead.shape[-1]))[new]
            found = np.exp(history.log_likelihood(failure[new], own))
            self._likely.update((keys[i], told) for i, told in zip(new, found, strict=True))
        return np.stack([self._likely[key] for key in keys])

    def _alarms(self, services: int, history: History | None) -> tuple[Alarm, ...]:
        """The analyst's alarm at each service, knowing the samples before it."""
        used = {} if history is None else history.used
        return alarms(
            self._elements, self._interval, used, self.false_alarm, services, self._shared
        )


def _worlds(warning: Warning, rough: bool) -> Worlds:
    return fewest_worlds(warning) if rough else few_worlds(warning)


def _even(points: int) -> tuple[Floats, Floats]:
    """Gauss-Hermite deviates and weights of a standard normal."""
    z, weight = np.polynomial.hermite_e.hermegauss(points)
    return z, weight / weight.sum()
