"""Plans whose cost can be worked out by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest
from scipy import integrate

from riskmodel.decision.results import PlanResult, Weighing
from riskmodel.decision.weigh import weigh
from tests.decision.exact_case import b50, case_of


def exact(
    shape: float,
    scale: float,
    age: float,
    keep: float,
    oil: dict[str, Any],
    cost: dict[str, Any],
    **plan: Any,
) -> Any:
    return case_of(
        {
            "machine": {"unit": "km", "reading": age, "usage_per_year": 10},
            "life": {"shape_prior": shape, "b50_prior": b50(shape, scale)},
            "oil": {"turnaround": 0, **oil},
            "cost": {"install_fault": 0, **cost},
            "plan": {"keep_usage": keep, "new_part_life": 1, **plan},
        }
    )


@pytest.mark.parametrize(
    ("after", "cost", "chance"),
    [(10, 3216.38, 0.0716), (15, 3455.10, 0.0978), (30, 4300.53, 0.1888)],
)
def test_finite_horizon_age_replacement(after: float, cost: float, chance: float) -> None:
    """Life 3, 200; age 120, horizon 60 (thousand km); planned 2,500, failure 12,000.

    Conventions: one failure at most (nothing is owned after one), no discounting, the new
    part as the old and not replaced again, no other cost. Source of the figures: the closed
    form E = Cf p1 + (1 - p1) (Cp + Cf F(H - x)), worked and simulated (4 million draws)
    before this program was written; no published table of this form was found.
    """
    # The next service after the first falls beyond the horizon.
    case = exact(
        3, 200, 120, 60, {"interval": 1000, "next_change_in": after},
        {"planned": 2500, "failure": 12000}, after_failure="stop",
    )  # fmt: skip
    now, later, never = at_services(weigh(case))
    assert (now.cost.value, later.cost.value, never.cost.value) == pytest.approx(
        (2819.67, cost, 4815.64), abs=0.005
    )
    assert (now.failure.value, later.failure.value, never.failure.value) == pytest.approx(
        (0.0266, chance, 0.4013), abs=0.00005
    )


def at_services(w: Weighing) -> list[PlanResult]:
    """The plans now, at each service and never: without those of other times."""
    return [plan for plan in w.plans if plan.occasion is None]


def survival(t: float, shape: float, scale: float) -> float:
    return math.exp(-((t / scale) ** shape))


@pytest.mark.parametrize("shape", [0.7, 1.0, 2.4, 8.0])
def test_one_interval_left(shape: float) -> None:
    """No service before keep-until: replace now or never, no new part is ever replaced.

    With repair, at most a few failures follow each other; the chance of none is exact, the
    cost of giving the machine up after the first failure too.
    """
    scale, age, keep = 150.0, 90.0, 20.0
    fails = 1 - survival(age + keep, shape, scale) / survival(age, shape, scale)
    new_fails = 1 - survival(keep, shape, scale)
    cost = {
        "planned": 1000, "failure": 7000, "install_fault": 0.04, "oil_change": 99,
        "consequence": [{"name": "tow", "amount": 250}], "sale_credit": 300,
    }  # fmt: skip
    case = exact(shape, scale, age, keep, {"interval": 20}, cost, after_failure="stop")
    now, never = at_services(weigh(case))
    assert never.cost.value == pytest.approx(7250 * fails, rel=1e-9)
    assert never.failure.value == pytest.approx(fails, rel=1e-9)
    expected = 1000 + 0.04 * 7250 + 7250 * new_fails - 300 * (1 - new_fails)
    assert now.cost.value == pytest.approx(expected, rel=1e-9)
    assert now.failure.value == pytest.approx(1 - 0.96 * (1 - new_fails), rel=1e-9)
    assert now.present_failure.value == 0


def test_discounting_against_numerical_integration() -> None:
    """Failures are discounted at the moment they happen, services at theirs."""
    shape, scale, age, keep, rate = 2.2, 150.0, 90.0, 35.0, 0.08
    case = exact(
        shape, scale, age, keep, {"interval": 10, "next_change_in": 4},
        {"planned": 1e9, "failure": 7000, "oil_change": 100, "discount_rate": rate},
        after_failure="stop",
    )  # fmt: skip
    never = weigh(case).plans[-1]

    def discount(t: float) -> float:
        return float((1 + rate) ** (-t / 10))

    def alive(t: float) -> float:
        return survival(age + t, shape, scale) / survival(age, shape, scale)

    def density(t: float) -> float:
        return shape / scale * ((age + t) / scale) ** (shape - 1) * alive(t)

    paid, _ = integrate.quad(lambda t: 7000 * discount(t) * density(t), 0, keep, epsabs=1e-10)
    paid += sum(100 * discount(s) * alive(s) for s in (4, 14, 24, 34))
    # Within a cell of the recursion the discount is a straight line: (rate * cell)^2 / 12.
    assert never.cost.value == pytest.approx(paid, rel=2e-5)


def test_found_worn_against_numerical_integration() -> None:
    """Found worn: the visible lead, lognormal, is longer than the life that was left."""
    from scipy import stats

    shape, scale, age, keep = 2.5, 150.0, 90.0, 12.0
    case = case_of(
        {
            "machine": {"unit": "km", "reading": age, "usage_per_year": 10},
            "life": {"shape_prior": shape, "b50_prior": b50(shape, scale)},
            "warning": {"visible_lead": [5, 40]},
            "oil": {"interval": 12, "turnaround": 0},
            "cost": {"planned": 0, "failure": 0, "found_worn": 1000, "install_fault": 0},
            "plan": {"keep_usage": keep, "new_part_life": 1},
        }
    )
    spread = math.log(40 / 5) / (2 * 1.6448536269514722)
    lead = stats.lognorm(spread, scale=math.sqrt(5 * 40))

    def worn(v: float) -> float:
        return 1 - survival(age + v, shape, scale) / survival(age, shape, scale)

    expected, _ = integrate.quad(lambda u: worn(float(lead.ppf(u))), 0, 1, epsabs=1e-9)
    assert weigh(case).plans[0].cost.value == pytest.approx(1000 * expected, rel=1e-4)
