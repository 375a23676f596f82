"""How often the intervals of `weigh` hold what they are about, and whether its chances are right.

    python -m tests.studies.intervals_coverage [--worlds 1000] [--records 30] [--keep FILE]

Unsampled engines (`intervals_coverage_worlds.py`): everything that the case gives as a range of
what is not known is drawn from that range, so over many worlds a 90 % interval is to hold the truth
in 90 of 100. The truth of a plan's cost and chance of failure is worked out with all known, new
parts under the rule that the tool takes (`intervals_coverage_truth.py`); the bad case is held
against lives played out by the brute-force simulation. With --keep, worlds done are kept as lines
of JSON and a run broken off goes on. Prints Markdown tables.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.long_run import Replaced
from riskmodel.decision.results import Interval, Weighing
from riskmodel.decision.weigh import weigh
from riskmodel.life.weibull import conditional_failure
from riskmodel.records.quantity import Quantity
from tests.simulation.brute_force import mean_prices, play
from tests.studies.intervals_coverage_run import run
from tests.studies.intervals_coverage_truth import Rule, known
from tests.studies.intervals_coverage_worlds import World, draw_world

Floats = NDArray[np.float64]
Row = list[float]
SEED = 20_261_129
LIVES = 60
"""Lives played out under each of four plans of a world, for the bad case."""


def row(told: Interval, truth: float) -> Row:
    return [told.value, told.low, told.high, truth]


def of_world(world: World, rng: np.random.Generator) -> dict[str, Any]:
    """Every interval and chance, each as [stated, low, high, truth]; of plans by their kind."""
    told, truth = weigh(world.case, retest=False), world.truth
    found: dict[str, Any] = {}
    for chance in told.risk:
        true = float(conditional_failure(truth.age, chance.ahead, truth.shape, truth.scale))
        found[f"fails by {chance.what}"] = row(chance.chance, true)
    at = np.array([np.inf if plan.at is None else plan.at for plan in told.plans])
    new = told.new_part_rule
    rule = Rule(new.left, new.service, truth.interval)
    exact = known(truth, rule, at)
    best = int(np.argmin(exact.cost))
    assert told.recommended is not None
    kinds = {
        "now": 0,
        "next oil change": int(np.flatnonzero(at > 0)[0]),
        "halfway": len(at) // 2,
        "never": len(at) - 1,
        "recommended": told.recommended,
    }
    for kind, i in kinds.items():
        plan = told.plans[i]
        own = conditional_failure(truth.age, min(at[i], truth.keep), truth.shape, truth.scale)
        found[f"cost, {kind}"] = row(plan.cost, float(exact.cost[i]))
        found[f"any failure, {kind}"] = row(plan.failure, float(exact.failure[i]))
        found[f"present part fails, {kind}"] = row(plan.present_failure, float(own))
        if kind != "halfway":
            paid = _played(world, rule, float(at[i]), rng)
            found[f"bad case, {kind}"] = [plan.bad_case, float(np.mean(paid > plan.bad_case))]
    found["cheapest"] = [
        [plan.chance_cheapest, float(i == best)] for i, plan in enumerate(told.plans)
    ]
    found["recommended is cheapest"] = [
        told.plans[told.recommended].chance_cheapest,
        float(told.recommended == best),
        float(exact.cost[told.recommended] / exact.cost[best] - 1),
    ]
    found.update(_use(told, world))
    found.update(_long_run(told, world))
    return found


def _played(world: World, rule: Rule, at: float, rng: np.random.Generator) -> Floats:
    """What is paid in lives under the plan that replaces at `at`; (LIVES,)."""
    truth, case = world.truth, world.truth.played()
    total = (truth.age / truth.scale) ** truth.shape + rng.exponential(size=LIVES)
    life = truth.scale * total ** (1 / truth.shape) - truth.age
    assert case.visible_lead is not None
    visible = case.visible_lead.at(rng.standard_normal(LIVES))
    k = np.full(LIVES, truth.new_life)
    when = None if np.isinf(at) else at
    counts, _, _ = play(case, rule, when, life, visible, k, rng)  # type: ignore[arg-type]
    return np.asarray(mean_prices(case) @ counts)


def _use(told: Weighing, world: World) -> dict[str, Row]:
    use = told.use
    assert use is not None
    return {
        "effective age": [use.age.median, use.age.low, use.age.high, world.age],
        "ageing ahead": [use.ahead.median, use.ahead.low, use.ahead.high, world.ahead],
    }


def _long_run(told: Weighing, world: World) -> dict[str, Row]:
    """The best age of new parts for ever; `age` infinite: never before they fail."""
    truth, said = world.truth, told.long_run
    assert said is not None
    true = Replaced(
        np.array([truth.shape]),
        np.array([truth.scale * truth.new_life]),
        truth.planned + truth.fault * truth.fault_price,
        truth.failure,
        truth.found_worn,
        0.0,
        Quantity(*truth.visible),
    )
    age, low, high = (np.inf if x is None else x for x in (said.age, said.age_low, said.age_high))
    best = float(true.best_ages()[0])
    rate = float(true.cost(age)[0]) if np.isfinite(age) else float(true.never()[0])
    return {
        "long-run age": [age, low, high, best],
        "long-run cost at that age": row(said.cost, rate),
        "long-run cost of never": row(said.never, float(true.never()[0])),
    }


def one(number: int, parts: int) -> dict[str, Any]:
    rng = np.random.default_rng([SEED, number])
    return of_world(draw_world(rng, parts), rng)


if __name__ == "__main__":
    run(__doc__, one)
