"""Failures of other causes: a constant rate that every plan keeps and no replacement resets."""

from __future__ import annotations

import math

import pytest

from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files
from tests.decision.exact_case import b50

CASE = """
format = 1
[machine]
unit = "km"
reading = 60
usage_per_year = 10
[life]
shape_prior = {shape}
b50_prior = {b50}
{records}
[use]
stretches = [{{ until = 60, shares = {{}} }}]
ahead = {{}}
[oil]
interval = 7
next_change_in = 5
turnaround = 0
[cost]
planned = 2000
failure = 9000
oil_change = 80
discount_rate = 0.04
install_fault = 0.03
[plan]
keep_usage = 50
new_part_life = 1
after_failure = "{after}"
"""


def case(shape: float, scale: float, after: str, other: tuple[int, float] | None) -> Case:
    """Exactly known wear; `other` = failures of other causes over usage watched, on record."""
    files = {}
    records = ""
    if other is not None:
        records = 'records = "records.csv"'
        failures, exposure = other
        each = exposure / failures
        lines = ["age,outcome,cause", *(f"{each!r},failed,other" for _ in range(failures))]
        files["records.csv"] = "\n".join(lines).encode()
    text = CASE.format(shape=shape, b50=b50(shape, scale), records=records, after=after)
    return case_from_files({"case.toml": text.encode(), **files})


@pytest.mark.parametrize("after", ["repair", "stop"])
def test_a_constant_rate_beside_a_constant_rate_is_their_sum(after: str) -> None:
    """Wear of shape 1 is a constant rate too: both together are shape 1 at the summed rate."""
    both = weigh(case(1.0, 100.0, after, (4, 400.0)))
    summed = weigh(case(1.0, 50.0, after, None))
    for one, other in zip(both.plans, summed.plans, strict=True):
        assert one.cost.value == pytest.approx(other.cost.value, rel=1e-6)
        assert one.failure.value == pytest.approx(other.failure.value, rel=1e-9)


def test_chance_of_any_failure_is_the_closed_form() -> None:
    shape, scale, rate = 3.0, 100.0, 0.002
    weighing = weigh(case(shape, scale, "stop", (4, 2000.0)))
    never = weighing.plans[-1]
    wear = math.exp((60 / scale) ** shape - (110 / scale) ** shape)
    assert never.failure.value == pytest.approx(1 - wear * math.exp(-50 * rate), rel=1e-9)
    assert never.present_failure.value == pytest.approx(1 - wear, rel=1e-9)
    assert weighing.other_causes is not None
    assert weighing.other_causes.chance.value == pytest.approx(1 - math.exp(-50 * rate))
    assert weighing.failures_used == 0


def test_other_causes_move_every_plan_alike() -> None:
    """No plan escapes them: the costs rise by much the same, whatever the plan."""
    without = weigh(case(3.0, 100.0, "repair", None)).plans
    along = weigh(case(3.0, 100.0, "repair", (4, 20000.0))).plans
    more = [b.cost.value - a.cost.value for a, b in zip(without, along, strict=True)]
    # 50 km at one failure in 5,000 km: about 90 each, a little less where it spares a worn part
    assert min(more) > 40
    assert max(more) < 90


def test_few_failures_of_other_causes_widen_the_interval() -> None:
    plan = weigh(case(3.0, 100.0, "repair", (2, 2000.0))).plans[0]
    assert plan.failure.low < plan.failure.value < plan.failure.high
    assert plan.cost.low < plan.cost.value < plan.cost.high
