"""What simulated owners live through: the part in the engine, and those fitted after it.

Played event by event from the model's text; nothing of it is imported from the package that this
judges but the quantile of a range.
Luck is drawn once for an owner and shared by all rules: the same failure age, lead and noise of the
first part, the same draws for the second part, the third, and so on. What is paid is discounted.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from tests.studies.owners import (
    FAULT,
    LEAD,
    LEAD_FACTOR,
    SILENT,
    TURNAROUND,
    VISIBLE_LEAD,
    Floats,
    Misfit,
    Owner,
    Rng,
    stream,
)

Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]
Z90 = 1.6448536269514722
NEAR = 1e-6
"""Usage within which two times are the same."""


def _ranged(ends: tuple[float, float], z: Floats) -> Floats:
    low, high = np.log(ends)
    return np.asarray(np.exp((low + high) / 2 + (high - low) / 2 / Z90 * z))


def _share(ends: tuple[float, float], z: Floats) -> Floats:
    low, high = (np.log(v / (1 - v)) for v in ends)
    return np.asarray(1 / (1 + np.exp(-(low + high) / 2 - (high - low) / 2 / Z90 * z)))


@dataclass(frozen=True, eq=False)
class Parts:
    """Parts of one generation; every array (n,). `life` from their own fitting on (of the first:
    from today on), `visible` how long before failure a look shows it, `lead` and the normal score
    `rise` of their distress, and whether the oil is `silent` about it."""

    life: Floats
    visible: Floats
    lead: Floats
    rise: Floats
    silent: Bools


class Luck:
    """The luck of an owner: `lives` fates of the first part, each with `after` of what follows.

    Fates of the first part are spread evenly over its chances, one in each of as many strata.
    """

    def __init__(self, owner: Owner, misfit: Misfit, lives: int, after: int = 1) -> None:
        rng = stream(owner.number, 2)
        self.owner, self.misfit, self.lives, self.after = owner, misfit, lives, after
        self.factor = _ranged(LEAD_FACTOR, rng.standard_normal(lives)) * misfit.lead
        self.share = np.minimum(_share(SILENT, rng.standard_normal(lives)) * misfit.silent, 1.0)
        even = (rng.permutation(lives) + rng.random(lives)) / lives
        total = (owner.age / owner.scale) ** owner.shape - np.log1p(-even)
        life = owner.scale * total ** (1 / owner.shape) - owner.age
        self.first = self._parts(rng, life, self.factor, self.share)
        self.later = cache(self._later)

    def _parts(self, rng: Rng, life: Floats, factor: Floats, share: Floats) -> Parts:
        n = len(life)
        return Parts(
            life,
            np.asarray(VISIBLE_LEAD.quantile(rng.standard_normal(n))),
            _ranged(LEAD, rng.standard_normal(n)) * factor,
            rng.standard_normal(n),
            rng.random(n) < share,
        )

    def _later(self, generation: int) -> Parts:
        """The parts that come `generation` (from 1) after the first, in every life and what may
        follow it; (lives * after,)."""
        owner, n = self.owner, self.lives * self.after
        rng = np.random.default_rng([owner.number, 3, generation])
        life = owner.new_life * owner.scale * rng.exponential(size=n) ** (1 / owner.shape)
        factor, share = (np.repeat(each, self.after) for each in (self.factor, self.share))
        return self._parts(rng, life, factor, share)


class NewRule(Protocol):
    """When newly fitted parts are replaced."""

    def service(self, left: Floats) -> Ints:
        """The service, from the fitting on, at which a part fitted with usage `left` (n,) is
        replaced; 0: never."""
        ...


@dataclass(frozen=True)
class AtAge:
    """At the first service at an age or later; inf: never."""

    age: float
    interval: float

    def service(self, left: Floats) -> Ints:
        if not np.isfinite(self.age):
            return np.zeros(len(left), dtype=np.int64)
        number = max(1, int(np.ceil(self.age / self.interval - 1e-9)))
        return np.where(number * self.interval < left - NEAR, number, 0)


@dataclass(frozen=True, eq=False)
class Table:
    """By the usage left: that of the nearest of the points `at` (points,), `number` (points,)."""

    at: Floats
    number: Ints
    interval: float

    def service(self, left: Floats) -> Ints:
        middle = (self.at[1:] + self.at[:-1]) / 2
        found = self.number[np.searchsorted(middle, left)]
        return np.where(found * self.interval < left - NEAR, found, 0)


@dataclass(frozen=True, eq=False)
class Ended:
    """How the first part ended, each (lives,): `over` in usage from today (keep-until where it
    lasted), whether it `failed` or was `replaced`; `paid` until then, the replacement's or
    failure's price and the credit at sale included."""

    over: Floats
    failed: Bools
    replaced: Bools
    paid: Floats


def first_part(luck: Luck, at: float) -> Ended:
    """The first part unsampled, replaced `at` a usage from today (inf: never) unless it fails."""
    owner, life = luck.owner, luck.first.life
    end = min(at, owner.keep)
    failed = life < end
    replaced = ~failed & (at < owner.keep - NEAR)
    over = np.minimum(life, end)
    paid = services_paid(owner, over)
    return ended(luck, over, failed, replaced, np.zeros(len(life), dtype=bool), paid)


def services_paid(owner: Owner, over: Floats) -> Floats:
    """What the oil changes before `over` (n,) cost."""
    services = owner.services
    total = np.concatenate([[0.0], np.cumsum(owner.money.oil_change * owner.worth(services))])
    return np.asarray(total[np.searchsorted(services, over - NEAR)])


def ended(
    luck: Luck, over: Floats, failed: Bools, replaced: Bools, urgent: Bools, paid: Floats
) -> Ended:
    """Adds to what was `paid` at services what the end of the first part costs; `urgent` are
    those of the `replaced` that an alarm led to."""
    owner, money = luck.owner, luck.owner.money
    job = np.where(urgent, money.urgent, money.planned) + FAULT * money.fault_price
    job = job + money.found_worn * (luck.first.visible > luck.first.life - over)
    due = np.where(failed, money.failure, 0.0) + np.where(replaced, job, 0.0)
    credit = money.sale_credit * float(owner.worth(owner.keep))
    paid = paid + due * owner.worth(over) - np.where(replaced, credit, 0.0)
    return Ended(over, failed, replaced, paid)


Alarms = Callable[[int, int, Parts, Ints], tuple[Bools, Bools]]
"""(generation, service's number, parts, which of them) -> whether each sample alarms, and whether
distress is then seen."""


@dataclass(frozen=True)
class Total:
    """Means over an owner's lives: `cost` discounted, engines `lost` (fitting faults included),
    `fitted` parts; `costs` (lives,) are those of each life."""

    cost: float
    lost: float
    fitted: float
    costs: Floats


def total(luck: Luck, end: Ended, new: NewRule, alarms: Alarms | None = None) -> Total:
    """Plays on to keep-until; with `alarms` new parts are sampled at each service."""
    after = luck.after
    paid, lost, fitted = (np.zeros(luck.lives * after) for _ in range(3))
    lost += np.repeat(end.failed + FAULT * end.replaced, after)
    fitted += np.repeat(end.replaced, after)
    over = np.repeat(end.over, after)
    who = np.flatnonzero(np.repeat(end.failed | end.replaced, after))
    generation = 0
    while len(who):
        generation += 1
        parts = luck.later(generation)
        who = _generation(
            luck.owner, parts, who, over, (paid, lost, fitted), new, alarms, generation
        )
    costs = end.paid + paid.reshape(luck.lives, after).mean(axis=1)
    return Total(float(costs.mean()), float(lost.mean()), float(fitted.mean()), costs)


def _generation(
    owner: Owner,
    parts: Parts,
    who: Ints,
    over: Floats,
    books: tuple[Floats, Floats, Floats],
    new: NewRule,
    alarms: Alarms | None,
    generation: int,
) -> Ints:
    """Plays parts fitted at `over[who]` to their ends, which are entered in `over` and `books`
    (paid, lost, fitted), all (n,). Returns who gets a further part."""
    paid, lost, fitted = books
    money, d = owner.money, owner.interval
    start, life = over[who], parts.life[who]
    left = owner.keep - start
    number = new.service(left)
    planned = number > 0
    due = np.where(planned, number * d, left)
    stop = np.minimum(life, due)
    urgent = np.full(len(who), np.inf)
    if alarms is None:
        held = np.ceil((stop - NEAR) / d).astype(np.int64) - 1
        held = np.maximum(held, 0)
        most = int(held.max(initial=0))
        each = owner.worth(d * np.arange(1, most + 1))
        spent = np.concatenate([[0.0], np.cumsum(money.oil_change * each)])
        paid[who] += spent[held] * owner.worth(start)
    else:
        service = 0
        while True:
            service += 1
            age = service * d
            here = np.flatnonzero((age < stop - NEAR) & np.isinf(urgent))
            if not len(here):
                break
            rung, seen = alarms(generation, service, parts, who[here])
            price = money.oil_change + money.sample + money.investigation * rung
            paid[who[here]] += price * owner.worth(start[here] + age)
            then = age + TURNAROUND
            hit = here[seen]
            urgent[hit[(life[hit] > then) & (left[hit] - NEAR > then)]] = then
    soon = np.isfinite(urgent)
    stop = np.where(soon, urgent, stop)
    failed = ~soon & (life < due)
    job = soon | (planned & ~failed)
    when = owner.worth(start + stop)
    price = np.where(soon, money.urgent, money.planned) + FAULT * money.fault_price
    price = price + money.found_worn * (parts.visible[who] > life - stop)
    paid[who] += when * (np.where(failed, money.failure, 0.0) + np.where(job, price, 0.0))
    lost[who] += failed + FAULT * job
    fitted[who] += job
    over[who] = start + stop
    return who[failed | job]
