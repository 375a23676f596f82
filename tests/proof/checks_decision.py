"""Outside checks of what the plans cost: closed forms, published cases, other programs."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np

from riskmodel.decision.long_run import least
from riskmodel.decision.pf_rule import missed, needed
from riskmodel.decision.results import LongRun, PlanResult
from riskmodel.decision.value import blind, perfect, sampled
from riskmodel.decision.weigh import weigh
from riskmodel.life.weibull import hazard
from tests.decision import test_closed_forms as closed
from tests.decision import test_intervals as intervals
from tests.decision import test_long_run as ages
from tests.decision import test_trade_facts as facts
from tests.decision.exact_case import CASES, SIMULATED, simulated_case
from tests.decision.sampled_case import CASES as SAMPLED_CASES
from tests.decision.sampled_case import SAMPLED, sampled_case
from tests.decision.test_sampled_against_simulation import LIVES as SAMPLED_LIVES
from tests.oil.test_surge import surged
from tests.proof.checks_kind import (
    MEMORY,
    PRACTICE,
    PROGRAM,
    READ,
    RECOMPUTED,
    WORKED,
    Check,
)
from tests.proof.checks_oil import parameters

LONG_RUN = "decision/test_long_run.py"
VALUE = "decision/test_value.py"


def checks() -> list[Check]:
    """All of them."""
    return [*_ages(), *_even(), *_value(), *_intervals(), *_plans(), *_played(), *_trade()]


# --- the best age over the long run -----------------------------------------------------------


@cache
def _found(shape: float, scale: float, planned: float, failure: float) -> LongRun:
    return ages.found(ages.exact(shape, scale, planned, failure))


def _told(which: str, *case: float) -> Callable[[], float]:
    def ours() -> float:
        found = _found(*case)
        return float(found.age or 0) if which == "age" else float(getattr(found, which).value)

    return ours


def _ages() -> list[Check]:
    coursework = (2, 10, 3000, 5000)
    mean_life = 1500 / 0.233966
    seal = (2.2, mean_life / math.gamma(1 + 1 / 2.2), 200, 1500)
    tutorial = (1.5, 1, 1000, 30000)
    mc303 = "university coursework MC-303 (github.com/arif-hussain09/Stochastic-Process-MC-303-)"
    hastings = (
        "Hastings, chapter 16 of Blischke & Murthy (eds) 2003, Case Studies in Reliability and "
        "Maintenance, p. 372"
    )
    rams = "RAMS maintenance theory tutorial, model 4 (github.com/LanceFiondella)"
    found = [
        Check("replaced at 8 months, at failure: cost a month", mc303, RECOMPUTED, (599.91, 564.19),
              lambda: (
                  float(ages.one(2, 5000, 3000, 10).cost(8.0)[0]), _told("never", *coursework)(),
              ), LONG_RUN),
        Check("best age [months], its cost", mc303, RECOMPUTED, (13.977, 559.08),
              lambda: (_told("age", *coursework)(), _told("cost", *coursework)()), LONG_RUN),
        Check("hydraulic seal: best age in % of the mean life, its cost in % of failure only",
              f"{hastings}; inputs inferred", READ, (45, 56),
              lambda: (100 * _told("age", *seal)() / mean_life,
                       100 * _told("cost", *seal)() / _told("never", *seal)()), LONG_RUN),
        Check("hydraulic seal: best age [h]", f"{hastings}; inputs inferred", READ, 2885,
              _told("age", *seal), LONG_RUN, 17.31, "0.6 %: the mean life is read off 0.23"),
        Check("best age, its cost, cost of never replacing", rams, RECOMPUTED,
              (0.169736, 17921.57, 33231.97),
              lambda: tuple(_told(which, *tutorial)() for which in ("age", "cost", "never")),
              LONG_RUN, (1e-6, 0.005, 0.005), "the last digit"),
    ]  # fmt: skip
    for r, age, cost in parameters(ages.test_failure_price_stated_as_an_addition):
        found.append(
            Check(f"best age and its cost, a failure costs {r} times the job on top",
                  "Gutierrez-Miravete, Rensselaer slides", RECOMPUTED, (age, cost),
                  lambda r=r: (_told("age", 3, 10, 1, 1 + r)(), _told("cost", 3, 10, 1, 1 + r)()),
                  LONG_RUN, (2e-6 * age, 2e-6 * cost), "2e-6 of itself: the optimum is flat")
        )  # fmt: skip
    return [
        *found,
        Check(f"{len(ages.rows())} shapes and prices: age and cost, greatest difference in "
              "proportion", "40-digit arithmetic, tests/decision/age_replacement.csv", WORKED, 0.0,
              _table, LONG_RUN, 1e-6, "the optimum is flat"),
        Check("cost at the best age over (Cf - Cp) h(T), less 1: greatest",
              "Barlow & Hunter 1960, Operations Research 8, 90-100", MEMORY, 0.0, _identity,
              LONG_RUN, 2e-6, "the optimum is flat"),
    ]  # fmt: skip


def _table() -> float:
    far = 0.0
    for row in ages.rows():
        parts = ages.one(row["shape"], row["failure"])
        best = least(ages.rate(parts), float(parts.never()[0]), 1e-3, 40.0)
        far = max(far, abs(best.cost / row["cost"] - 1), abs(best.age / row["age"] - 1))
    return far


def _identity() -> float:
    far = 0.0
    for row in ages.rows():
        parts = ages.one(row["shape"], row["failure"])
        best = least(ages.rate(parts), row["never"], 1e-3, 40.0)
        wanted = (row["failure"] - 1) * float(hazard(best.age, row["shape"], 1.0))
        far = max(far, abs(best.cost / wanted - 1))
    return far


def _even() -> list[Check]:
    """Lives spread evenly up to an end; the search is ours, the lives are the book's."""
    sources = (
        ("Jardine & Tsang, Maintenance, Replacement, and Reliability, chapter 2, problem 2", READ),
        ("Durrett, Essentials of Stochastic Processes, the car", RECOMPUTED),
        ("Ross, Introduction to Probability Models, the car", MEMORY),
    )

    def rate(at: float, end: float, planned: float, failure: float) -> float:
        gone = min(at, end) / end
        return (planned * (1 - gone) + failure * gone) / (end * (gone - gone**2 / 2))

    def best(end: float, *prices: float) -> tuple[float, float]:
        answer = least(
            lambda at: rate(at, end, *prices), prices[1] / (end / 2), end / 1000, 2 * end
        )
        return answer.age, answer.cost

    rows = parameters(ages.test_least_of_published_even_lives)
    return [
        Check("even lives to 40,000, 100 and 200: cost of replacing at each quarter", *sources[0],
              (0.0143, 0.01, 0.0093, 0.01),
              lambda: tuple(rate(at, 40000, 100, 200) for at in (1e4, 2e4, 3e4, 4e4)), LONG_RUN,
              5e-5, "half a unit of the fourth digit"),
        *(
            Check(f"even lives to {end:g}, {planned:g} and {failure:g}: best age, its cost",
                  book, standing, (round(age, 5), cost),
                  lambda e=end, p=planned, f=failure: best(e, p, f), LONG_RUN,
                  (2e-6 * age, 1e-5 * cost), "six digits printed")
            for (end, planned, failure, age, cost), (book, standing) in zip(
                rows, sources, strict=True
            )
        ),
    ]  # fmt: skip


# --- the value of information -----------------------------------------------------------------


def _value() -> list[Check]:
    well, seismic = [[-600.0, 200.0], [0.0, 0.0]], [0.4, 0.6]
    good = np.array([0.5 * 0.6 / 0.4, 0.5 * 0.4 / 0.6])
    sell, oil = [[-700.0, 100.0], [-90.0, -90.0]], [0.25, 0.75]
    survey = np.array([[0.6, 0.2], [0.4, 0.8]])
    wager, belief = [[12_000.0, 0.0], [2_500.0, 2_500.0]], [0.1, 0.9]
    samuelson = "Samuelson & Marks, Managerial Economics, chapter 13"
    hillier = "Hillier & Lieberman's oil example (figures also in Ragsdale, chapter 15)"
    return [
        Check("drilling: least cost, value of perfect information, of the seismic test [1,000]",
              samuelson, READ, (-120, 120, 20),
              lambda: (blind(well, seismic), perfect(well, seismic),
                       sampled(well, seismic, [good, 1 - good])), VALUE, 1e-9, "a closed form"),
        Check("drill or sell: least cost, value of perfect information, of the survey, less its "
              "price of 30 [1,000]", hillier, READ, (-100, 142.5, 53, 23),
              lambda: (blind(sell, oil), perfect(sell, oil), sampled(sell, oil, survey),
                       sampled(sell, oil, survey) - 30), VALUE, 1e-9, "a closed form"),
        Check("an oil sample before a wager: value of perfect information, of the sample",
              "by hand", WORKED, (950, 647.5),
              lambda: (perfect(wager, belief),
                       sampled(wager, belief, [[0.8, 0.05], [0.2, 0.95]])), VALUE, 1e-9,
              "a closed form"),
    ]  # fmt: skip


# --- how often to look ------------------------------------------------------------------------


def _intervals() -> list[Check]:
    rows = parameters(intervals.test_inspections_needed)
    found = []
    for sees in dict.fromkeys(sees for sees, _, _ in rows):
        mine = [(accepted, count) for s, accepted, count in rows if s == sees]
        found.append(
            Check(f"looks needed that see {sees:g}, for a miss of 10, 5, 1, 0.1 of 100",
                  "NAVAIR 00-25-403, as quoted: n = ln(P) / ln(1 - theta)", RECOMPUTED,
                  tuple(count for _, count in mine),
                  lambda sees=sees, mine=mine: tuple(needed(sees, a) for a, _ in mine),
                  "decision/test_intervals.py", 0.005, "half a unit of the second digit")
        )  # fmt: skip
    found.append(
        Check("missed in 10 and in 30 by a look every 15 that sees 9 of 10", "by hand", WORKED,
              (0.40, 0.01), lambda: (missed(10, 15, 0.9), missed(30, 15, 0.9)),
              "decision/test_intervals.py", 1e-9, "a closed form")
    )  # fmt: skip
    return found


# --- plans ------------------------------------------------------------------------------------


@cache
def _horizon(after: float) -> list[PlanResult]:
    case = closed.exact(
        3, 200, 120, 60, {"interval": 1000, "next_change_in": after},
        {"planned": 2500, "failure": 12000}, after_failure="stop",
    )  # fmt: skip
    return closed.at_services(weigh(case))


def _plans() -> list[Check]:
    found = [
        Check("a part of 120, kept for 60: cost of replacing now, never; chance of a failure",
              "closed form, simulated with four million draws", WORKED,
              (2819.67, 4815.64, 0.0266, 0.4013),
              lambda: (_horizon(10)[0].cost.value, _horizon(10)[2].cost.value,
                       _horizon(10)[0].failure.value, _horizon(10)[2].failure.value),
              "decision/test_closed_forms.py")
    ]  # fmt: skip
    for after, cost, chance in parameters(closed.test_finite_horizon_age_replacement):
        found.append(
            Check(f"the same, replaced after {after}: cost, chance of a failure",
                  "closed form, simulated with four million draws", WORKED, (cost, chance),
                  lambda after=after: (_horizon(after)[1].cost.value,
                                       _horizon(after)[1].failure.value),
                  "decision/test_closed_forms.py", (0.005, 5e-5), "half a unit of the last digit")
        )  # fmt: skip
    return found


@cache
def _lives(name: str) -> tuple[tuple[float, float], ...]:
    """By plan: how many standard errors the chance is off, and what share of itself the cost."""
    from tests.simulation import brute_force
    from tests.simulation.case import read_case

    lives = 1_000_000
    ours = [plan for plan in weigh(simulated_case(name)).plans if plan.occasion is None]
    played = brute_force.simulate(read_case(SIMULATED / f"{name}.json"), lives, seed=2).plans
    found = []
    for mine, theirs in zip(ours, played, strict=True):
        chance = mine.failure.value
        error = max(theirs.failure_probability.error, math.sqrt(chance * (1 - chance) / lives))
        off = abs(chance - theirs.failure_probability.value) / max(error, 1e-12)
        found.append((off, abs(mine.cost.value / theirs.expected_cost.value - 1)))
    return tuple(found)


@cache
def _sampled_lives(name: str) -> tuple[tuple[float, float], ...]:
    """The same with samples taken and to come; chances of a failure and of an alarm that counts."""
    from tests.simulation.sampled import simulate_sampled
    from tests.simulation.sampled_case import read_sampled_case

    lives = SAMPLED_LIVES.get(name, 200_000)
    ours = [plan for plan in weigh(sampled_case(name)).plans if plan.occasion is None]
    played = simulate_sampled(read_sampled_case(SAMPLED / f"{name}.json"), lives, seed=2).plans
    found = []
    for mine, theirs in zip(ours, played, strict=True):
        off = 0.0
        for chance, told in (
            (mine.failure.value, theirs.failure_probability),
            (mine.alarm.value, theirs.alarm_probability),
        ):
            error = max(told.error, math.sqrt(chance * (1 - chance) / lives), 1e-12)
            off = max(off, abs(chance - told.value) / error)
        cost = theirs.expected_cost
        allowed = max(0.005 * cost.value, 3.5 * cost.error)
        found.append((off, abs(mine.cost.value - cost.value) / allowed))
    return tuple(found)


def _played() -> list[Check]:
    source = "a million lives a plan, by a program written from the model's text alone"
    where = "decision/test_against_simulation.py"
    found = []
    for name in CASES:
        found += [
            Check(f"{name.replace('_', ' ')}: chance of a failure, every plan: greatest difference "
                  "[standard errors]", source, PROGRAM, 0.0,
                  lambda name=name: max(off for off, _ in _lives(name)), where, 3.0,
                  "three standard errors", slow=True),
            Check(f"{name.replace('_', ' ')}: expected cost, every plan: greatest difference in "
                  "proportion", source, PROGRAM, 0.0,
                  lambda name=name: max(cost for _, cost in _lives(name)), where, 0.005,
                  "luck of a million lives, and half a per cent for straight lines", slow=True),
        ]  # fmt: skip
    where = "decision/test_sampled_against_simulation.py"
    for name in SAMPLED_CASES:
        lives = SAMPLED_LIVES.get(name, 200_000)
        source = f"{lives:,} lives a plan, by a program written from the model's text alone"
        found += [
            Check(f"{name.replace('_', ' ')}, sampled: chances of a failure and of an alarm that "
                  "counts, every plan: greatest difference [standard errors]", source, PROGRAM, 0.0,
                  lambda name=name: max(off for off, _ in _sampled_lives(name)), where, 3.5,
                  "one in a hundred such tables would exceed it by luck", slow=True),
            Check(f"{name.replace('_', ' ')}, sampled: expected cost, every plan: greatest "
                  "difference over what is allowed", source, PROGRAM, 0.0,
                  lambda name=name: max(cost for _, cost in _sampled_lives(name)), where, 1.0,
                  "half a per cent, or 3.5 standard errors where more", slow=True),
        ]  # fmt: skip
    return [
        *found,
        Check("expected failures of parts renewed at failure, shapes 1.6 and 3, by the program of "
              "the simulations: greatest difference in proportion",
              "Smith & Leadbetter 1963, Technometrics 5: power series", MEMORY, 0.0, _renewals,
              "simulation/test_brute_force.py", 1e-4, "its steps", slow=True),
    ]  # fmt: skip


def _renewals() -> float:
    from tests.simulation.renewal_policy import solve_policy
    from tests.simulation.test_brute_force import build

    far = 0.0
    for shape in (1.6, 3.0):
        case = build(shape=shape, scale=60 / 0.9, after_failure="repair", planned=0, failure=1)
        policy = solve_policy(case)
        found = float(policy.cost[policy.point(60.0)])
        far = max(far, abs(found / _series(0.9, shape) - 1))
    return far


def _series(t: float, shape: float) -> float:
    """Smith & Leadbetter's series of the renewal function at scale 1."""
    a = [math.gamma(1 + shape * k) / math.factorial(k) for k in range(40)]
    series = [0.0]
    for k in range(1, 40):
        series.append(a[k] - sum(a[j] * series[k - j] for j in range(1, k)))
    return sum(
        (-1.0) ** (k - 1) * series[k] * math.pow(t, shape * k) / math.gamma(1 + shape * k)
        for k in range(1, 40)
    )


# --- what the trade knows ---------------------------------------------------------------------


def _trade() -> list[Check]:
    where = "decision/test_trade_facts.py"

    def verdict(folder: str, *change: Any) -> str:
        case = facts.waiting(folder)
        return "now" if facts.replaces_now(weigh(surged(case, *change))) else "not now"

    found = []
    for folder in facts.EXAMPLES:
        name = folder.replace("-", " ")
        found += [
            Check(f"{name} that had better wait, lead, copper and tin five times the usual: "
                  "replace", "a surge of the part's own metals is acted on", PRACTICE, "now",
                  lambda folder=folder: verdict(folder, 5, ("Pb", "Cu", "Sn")), where, slow=True),
            Check(f"{name} that had better wait, iron and silicon ten times the usual: replace",
                  "metals that the part does not hold are no reason to", PRACTICE, "not now",
                  lambda folder=folder: verdict(folder, 10, ("Fe", "Si")), where, slow=True),
        ]  # fmt: skip
    return found
