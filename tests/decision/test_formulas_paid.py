"""Bad cases, intervals and prices as drawn, against closed forms and scipy's distributions."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from scipy import stats

from riskmodel.decision.results import PlanResult
from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files
from riskmodel.records.quantity import exactly
from tests.decision.exact_case import b50, case_of
from tests.decision.test_formulas_sampled import case as sampled

SHAPE, SCALE, AGE, KEEP, PER_YEAR, RATE = 2.5, 100.0, 60.0, 30.0, 10.0, 0.25


def case(
    cost: dict[str, Any],
    warning: dict[str, Any] | None = None,
    oil: dict[str, Any] | None = None,
    **plan: Any,
) -> Case:
    """No service before keep-until: the plans are now and never."""
    return case_of(
        {
            "machine": {"unit": "km", "reading": AGE, "usage_per_year": PER_YEAR},
            "life": {"shape_prior": SHAPE, "b50_prior": b50(SHAPE, SCALE)},
            "warning": warning or {},
            "oil": {"turnaround": 0, "interval": 99, **(oil or {})},
            "cost": {"planned": 500, "failure": 8000, "install_fault": 0.0, "discount_rate": RATE,
                     **cost},
            "plan": {"keep_usage": KEEP, "new_part_life": 1, "after_failure": "stop", **plan},
        }
    )  # fmt: skip


def plans(of: Case) -> tuple[PlanResult, PlanResult]:
    now, never = (plan for plan in weigh(of).plans if plan.occasion is None)
    return now, never


def worth(usage: float) -> float:
    return float((1 + RATE) ** (-usage / PER_YEAR))


def life(share: float, age: float = 0.0, scale: float = SCALE) -> float:
    """Usage within which a share of parts `age` old has failed."""
    hazard = (age / scale) ** SHAPE - math.log1p(-share)
    return float(scale * hazard ** (1 / SHAPE) - age)


def test_the_bad_case_is_the_failure_of_the_worst_twentieth() -> None:
    """A failure costs less the later it comes: one in twenty pays what the twentieth does."""
    _, never = plans(case({}))
    assert never.bad_case == pytest.approx(8000 * worth(life(0.05, AGE)), rel=2e-3)


def test_the_bad_case_of_a_new_part_gets_nothing_for_a_wreck() -> None:
    now, _ = plans(case({"sale_credit": 3000}, keep_usage=45))
    assert life(0.058) < 45
    # the luck of new parts is drawn: a percentile of 4,096 lies within 0.7 % of probability
    low, high = (500 + 8000 * worth(life(p)) for p in (0.058, 0.042))
    assert low <= now.bad_case <= high


@pytest.mark.parametrize(("lead", "pays"), [(1.0, False), (400.0, True)])
def test_the_bad_case_finds_worn_what_was_to_fail_within_the_visible_lead(
    lead: float, pays: bool
) -> None:
    share = 1 - math.exp((AGE / SCALE) ** SHAPE - ((AGE + lead) / SCALE) ** SHAPE)
    assert share < 0.03 or share > 0.97
    of = case({"failure": 0, "found_worn": 900}, {"visible_lead": lead}, keep_usage=5)
    now, _ = plans(of)
    assert now.bad_case == pytest.approx(500 + 900 * pays, abs=0.5)


def test_the_bad_case_pays_for_short_notice() -> None:
    """A failure costs little, the job after an alarm much: the worst are those that alarm."""

    def left_in(**more: float) -> PlanResult:
        of = sampled(failure=100, **more)
        longer = replace(of.warning, lead=exactly(20_000.0))
        return weigh(replace(of, warning=longer)).plans[-1]

    usual, dear = left_in(), left_in(urgent=9000)
    assert usual.alarm.value > 0.1
    assert dear.bad_case - usual.bad_case > 0.5 * (9000 - 3000)


@pytest.mark.parametrize("after", ["repair", "stop"])
def test_the_interval_of_a_cost_is_the_cost_at_the_ends_of_an_unsure_price(after: str) -> None:
    """All else known, a cost is linear in a price, so nine in ten lie between its values there."""
    low, high = 5000.0, 12000.0
    unsure = plans(case({"failure": [low, high], "install_fault_price": 3000}, after_failure=after))
    for at, name in ((low, "low"), (high, "high")):
        exact = plans(case({"failure": at, "install_fault_price": 3000}, after_failure=after))
        for ours, theirs in zip(unsure, exact, strict=True):
            assert getattr(ours.cost, name) == pytest.approx(theirs.cost.value, rel=3e-3)


def test_what_is_drawn_has_fitting_faults_and_prices_in_it() -> None:
    """With every figure exact the draws all say what the mean says."""
    cost = {
        "install_fault": 0.2, "install_fault_price": 4000, "found_worn": 700, "sale_credit": 900,
        "oil_change": 60,
    }  # fmt: skip
    for plan in plans(case(cost, {"visible_lead": 20})):
        assert plan.cost.low == pytest.approx(plan.cost.value, rel=1e-9)
        assert plan.cost.high == pytest.approx(plan.cost.value, rel=1e-9)
        assert plan.failure.low == pytest.approx(plan.failure.value, rel=1e-9)
    of_fault = plans(case({"install_fault": [0.05, 0.4], "install_fault_price": 4000}))[0].cost
    for chance, end in ((0.05, of_fault.low), (0.4, of_fault.high)):
        exact = plans(case({"install_fault": chance, "install_fault_price": 4000}))[0].cost.value
        assert end == pytest.approx(exact, rel=5e-3)


def test_the_rate_of_other_causes_is_not_known_exactly_either() -> None:
    """Two failures on record in 2,000: the rate has the posterior Gamma(2.5, 2000) of Jeffreys's
    prior (Brown, Cai & DasGupta 2003), each failure costs its price, discounted over keep-until."""
    text = """
format = 1
[machine]
unit = "km"
reading = 60
usage_per_year = 10
[life]
records = "records.csv"
shape_prior = 2.5
b50_prior = 1e6
[use]
stretches = [{ until = 60, shares = {} }]
ahead = {}
[oil]
interval = 31
turnaround = 0
[cost]
planned = 500
failure = 8000
discount_rate = 0.25
install_fault = 0
[plan]
keep_usage = 30
new_part_life = 1
"""
    rows = b"age,outcome,cause\n1000,failed,other\n1000,failed,other\n"
    never = weigh(case_from_files({"case.toml": text.encode(), "records.csv": rows})).plans[-1]
    force = math.log1p(RATE) / PER_YEAR
    owned = 8000 * (1 - math.exp(-force * KEEP)) / force
    low, high = stats.gamma(2.5, scale=1 / 2000).ppf([0.05, 0.95]) * owned
    # the middle one is the mean rate, 2 in 2,000
    assert never.cost.value == pytest.approx(2 / 2000 * owned, rel=0.01)
    assert never.cost.low == pytest.approx(low, rel=0.03)
    assert never.cost.high == pytest.approx(high, rel=0.03)
    rates = stats.gamma(2.5, scale=1 / 2000).ppf([0.05, 0.95])
    chances = [1 - math.exp(-rate * KEEP) for rate in rates]
    assert [never.failure.low, never.failure.high] == pytest.approx(chances, rel=0.03)
