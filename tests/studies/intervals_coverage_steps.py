"""Coverage of what `weigh` says of the bad case with samples, of a second sample soon, of a look
first and of selling today, with selling among the plans.

    python -m tests.studies.intervals_coverage_steps [--worlds 1000] [--records 30] [--keep FILE]
        [--only last earlier never]

All that is not known is drawn from the ranges that the case states, samples too
(`intervals_coverage_steps_worlds.py`); what is true is what lives come to that are played out by
the simulation of `tests/simulation/` with all known and the same samples, new parts under the rule
that the tool takes (`intervals_coverage_steps_truth.py`). A second sample is weighed in every world
where its result is in before the next oil change, and told apart for those where the samples hint,
where alone it is told. What a look is told to save is held against the truth twice: in all worlds,
and where it is what the tool would have done first. `--only` takes those of the worlds in which a
reading lies beyond what a failing part shows on average in the last sample, in earlier ones alone,
or never.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.results import Information, Interval, Sale, Weighing
from riskmodel.decision.weigh import HINT, weigh
from tests.studies.intervals_coverage import row
from tests.studies.intervals_coverage_run import run
from tests.studies.intervals_coverage_steps_truth import Parts, Played, Truth
from tests.studies.intervals_coverage_steps_worlds import (
    DAMAGE,
    RATE,
    SAMPLE,
    SEES,
    SURGES,
    VALUE,
    World,
    draw_world,
    surges,
)
from tests.studies.intervals_coverage_truth import Rule

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
SEED = 20_261_135
LIVES, HINTED = 60_000, 1_000_000
"""Lives played out a plan; after a hint more, as few of them then count for much."""


def one(number: int, parts: int) -> dict[str, Any]:
    rng = np.random.default_rng([SEED, number])
    return of_world(draw_world(rng, parts), rng)


def kind(number: int, parts: int) -> str:
    """Which of its samples tell of a surge."""
    return surges(draw_world(np.random.default_rng([SEED, number]), parts).told)


def of_world(world: World, rng: np.random.Generator, lives: int | None = None) -> dict[str, Any]:
    """Every interval as [stated, low, high, truth], every chance as [stated, came true]."""
    told = weigh(world.told, retest=True)
    if lives is None:
        lives = HINTED if _hinted(told) else LIVES
    new = told.new_part_rule
    truth = Truth(world.true, Rule(new.left, new.service, world.told.interval), lives, rng)
    assert told.recommended is not None
    sold = _sold(world)
    plans = [truth.plan(plan.at) for plan in told.plans]
    costs = np.array([*(truth.parts.mean(plan.paid) for plan in plans), sold])
    found = _plans(told, truth, plans)
    found.update(_sale(told.sale, sold))
    found.update(_second_sample(told, truth, float(costs[told.recommended])))
    found.update(_look(told, truth, world.money.look, float(costs[told.recommended])))
    least, chosen = int(np.argmin(costs)), told.chosen
    assert chosen is not None
    chances = [plan.chance_cheapest for plan in told.all_plans]
    found["cheapest"] = [[chance, float(i == least)] for i, chance in enumerate(chances)]
    found["recommended is cheapest"] = [
        chances[chosen],
        float(chosen == least),
        float((costs[chosen] - costs[least]) / abs(costs[least])),
    ]
    found["came true: selling is cheapest"] = [chances[-1], float(least == len(plans))]
    return found


def _plans(told: Weighing, truth: Truth, plans: list[Played]) -> dict[str, Any]:
    first = next(i for i, plan in enumerate(told.plans) if plan.service == 1)
    assert told.recommended is not None
    kinds = {
        "now": 0,
        "next change": first,
        "never": len(plans) - 1,
        "recommended": told.recommended,
    }
    found: dict[str, Any] = {}
    for kind, i in kinds.items():
        plan, played, mean = told.plans[i], plans[i], truth.parts.mean
        found[f"cost, {kind}"] = row(plan.cost, mean(played.paid))
        found[f"any failure, {kind}"] = row(plan.failure, mean(played.failed))
        found[f"bad case, {kind}"] = [plan.bad_case, mean(played.paid > plan.bad_case)]
    return found


def _sold(world: World) -> float:
    """What selling today costs beside keeping it, its money paid and received day by day."""
    money, true = world.money, world.true.base
    years = true.keep_usage / true.usage_per_year
    day = (np.arange(3_000) + 0.5) / 3_000 * years
    worth = years * float(np.mean((1 + RATE) ** -day))
    later = money.later * (1 + RATE) ** -years
    return worth * (money.without - money.upkeep) - (VALUE - later)


def _sale(told: Sale | None, sold: float) -> dict[str, Any]:
    assert told is not None
    assert told.plan is not None
    bad = told.plan.bad_case
    return {"selling: cost": row(told.plan.cost, sold), "bad case, selling": [bad, sold > bad]}


def _second_sample(told: Weighing, truth: Truth, best: float) -> dict[str, Any]:
    retest = told.retest
    if retest is None:
        return {}
    parts, mean = truth.parts, truth.parts.mean
    surge = truth.surge(retest.at, retest.false_alarm)
    played = truth.either(surge, retest.if_surge.at, retest.if_clear.at)
    cost = mean(played.paid) + truth.retested(retest.at, SAMPLE)
    acted = parts.life > retest.acts_at
    soon = acted & (parts.life <= truth.case.base.next_change_in)
    rows = {
        "cost": row(retest.cost, cost),
        "saves": row(retest.saves, best - cost),
        "any failure": row(retest.failure, mean(played.failed)),
        "present part fails": row(retest.present_failure, mean(played.present)),
        "alarm leads to a job": row(retest.alarm, mean(played.urgent)),
        "fails before its result": row(retest.first, 1 - mean(acted)),
        "another surge": row(retest.if_surge.chance, mean(surge * acted)),
        "no surge": row(retest.if_clear.chance, mean((1 - surge) * acted)),
        "fails soon after a surge": _given(retest.if_surge.soon, parts, soon, surge * acted),
        "fails soon after none": _given(retest.if_clear.soon, parts, soon, (1 - surge) * acted),
    }
    hint = _hinted(told)
    kinds = ("a second sample", "after a hint")[: 1 + hint]
    found: dict[str, Any] = {f"{kind}: {what}": x for kind in kinds for what, x in rows.items()}
    if hint and told.first_step == "retest":
        found["a second sample first, told so: saves"] = rows["saves"]
    return found


def _hinted(told: Weighing) -> bool:
    factor = told.risk[0].oil_factor
    return factor is not None and factor >= HINT


def _given(told: Interval, parts: Parts, what: Bools, outcome: Floats) -> list[float]:
    """A row about what follows an outcome that comes about with chances `outcome` (n,). It is of
    worlds in which it did, so each counts by how likely that was."""
    return [*row(told, parts.given(what, outcome)), parts.mean(outcome)]


def _look(told: Weighing, truth: Truth, price: float, best: float) -> dict[str, Any]:
    known: Information | None = told.information
    assert known is not None
    look = known.inspection
    assert look is not None
    parts, mean = truth.parts, truth.parts.mean
    seen = truth.seen(SEES)
    played = truth.either(seen, look.if_seen.at, look.if_not.at)
    unhurt = mean(played.paid)
    cost = price + (1 - DAMAGE) * unhurt + DAMAGE * truth.damaged()
    soon = parts.life <= truth.case.base.next_change_in
    # with the price known: what is left of the interval is that of what the look tells
    free = look.price - price
    rows = {
        "cost": row(look.cost, cost),
        "cost, its price known": row(look.cost, cost + free),
        "saves": row(look.saves, best - cost),
        "saves, its price known": row(look.saves, best - cost - free),
        "any failure": row(look.failure, DAMAGE + (1 - DAMAGE) * mean(played.failed)),
        "any failure, unhurt": row(_unhurt(look.failure), mean(played.failed)),
        "distress is seen": row(look.if_seen.chance, mean(seen)),
        "none is seen": row(look.if_not.chance, 1 - mean(seen)),
        "fails soon, seen": _given(look.if_seen.soon, parts, soon, seen),
        "fails soon, none seen": _given(look.if_not.soon, parts, soon, 1 - seen),
    }
    found: dict[str, Any] = {f"a look: {what}": x for what, x in rows.items()}
    if told.first_step == "inspection":
        found["a look first, told so: saves"] = rows["saves"]
    return found


def _unhurt(told: Interval) -> Interval:
    """What is told of a look that may do damage, where it does none."""
    ends = (max(each - DAMAGE, 0.0) / (1 - DAMAGE) for each in (told.value, told.low, told.high))
    return Interval(*ends)


if __name__ == "__main__":
    run(__doc__, one, kind, SURGES)
