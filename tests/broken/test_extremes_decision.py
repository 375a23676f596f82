"""Whole cases at figures far from any engine's: an answer of finite numbers, or a refusal."""

from __future__ import annotations

import math
import warnings
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.decision.long_run import Replaced
from riskmodel.decision.pf_rule import missed, needed
from riskmodel.decision.results import Interval, Weighing
from riskmodel.decision.timing import services_within
from riskmodel.decision.value import perfect, sampled
from riskmodel.decision.weigh import weigh
from riskmodel.records.errors import CannotAnswer, InputError
from tests.decision.exact_case import b50, case_of

FEW = settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def case(**asked: Any) -> Weighing | None:
    """The answer to a car with some figures changed; None where it is refused in words."""
    told: dict[str, Any] = {
        "shape": 2.5, "scale": 188_000.0, "age": 124_000.0, "interval": 8_000.0, "keep": 34_500.0,
        "per_year": 11_500.0, "planned": 2_500.0, "failure": 12_000.0, "rate": 0.03, "lead": None,
        "silent": 0.25, "oil": False, "first": None, **asked,
    }  # fmt: skip
    oil: dict[str, Any] = {"interval": told["interval"]}
    if told["oil"]:
        oil["element"] = [{"symbol": "Pb", "typical": [0.2, 0.9], "from_part": True}]
    if told["first"] is not None:
        oil["next_change_in"] = told["first"]
    warning = {"silent": told["silent"]} | ({} if told["lead"] is None else {"lead": told["lead"]})
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            return weigh(
                case_of(
                    {
                        "machine": {
                            "unit": "km",
                            "reading": told["age"],
                            "usage_per_year": told["per_year"],
                        },
                        "life": {
                            "shape_prior": told["shape"],
                            "b50_prior": told.get("b50") or b50(told["shape"], told["scale"]),
                        },
                        "warning": warning,
                        "oil": oil,
                        "cost": {
                            "planned": told["planned"],
                            "failure": told["failure"],
                            "discount_rate": told["rate"],
                            "oil_change": 100,
                        },
                        "plan": {"keep_usage": told["keep"]},
                    }
                )
            )
    except (InputError, CannotAnswer) as fault:
        refused = str(fault)
    assert len(refused) > 20
    return None


def numbers(value: object) -> list[float]:
    """Every number of an answer, its arrays included; the case itself left out."""
    if isinstance(value, float):
        return [value]
    if isinstance(value, np.ndarray) and value.dtype.kind == "f":
        return value.ravel().tolist()
    if isinstance(value, tuple | list):
        return [each for item in value for each in numbers(item)]
    if is_dataclass(value):
        names = [field.name for field in fields(value) if field.name != "case"]
        return [each for name in names for each in numbers(getattr(value, name))]
    return []


def looked_at(found: Weighing | None) -> None:
    if found is None:
        return
    assert all(math.isfinite(each) for each in numbers(found))
    rounding = 1 + 1e-9
    for plan in found.plans:
        for chance in (plan.failure, plan.present_failure, plan.alarm):
            assert -1e-9 <= chance.low <= chance.high * rounding + 1e-9 <= rounding + 1e-8
            assert -1e-9 <= chance.value <= rounding
        assert 0 <= plan.chance_cheapest <= 1
        assert plan.cost.low <= plan.cost.high
    assert sum(plan.chance_cheapest for plan in found.plans) <= rounding
    # the later it is replaced, the likelier the part has failed before
    fails = [plan.present_failure.value for plan in found.plans]
    if all(plan.alarm.value == 0 for plan in found.plans):
        assert (np.diff(fails) >= -1e-9).all()
    ahead: list[Interval] = [each.chance for each in sorted(found.risk, key=lambda r: r.ahead)]
    assert (np.diff([each.value for each in ahead]) >= -1e-9).all()


EXTREMES: dict[str, dict[str, Any]] = {
    "shape 0.1": {"shape": 0.1},
    "shape 50": {"shape": 50.0},
    "new": {"age": 0.0},
    "a thousand million on the meter": {"age": 1e9, "scale": 1e9, "oil": True},
    "outlived by far": {"age": 1e9},
    "nothing costs anything": {"planned": 0.0, "failure": 0.0},
    "a million million": {"planned": 1e12, "failure": 1e12},
    "a failure beyond price": {"failure": 1e12},
    "oil for ever": {"interval": 1e9},
    "oil for ever, sampled": {"interval": 1e9, "oil": True},
    "given up at once": {"keep": 1e-3},
    "given up at once, sampled": {"keep": 1e-3, "oil": True},
    "kept for fifty oil changes": {"keep": 4e5},
    "money now and then alike": {"rate": 0.0},
    "hardly driven": {"per_year": 1e-3},
    "driven at once": {"per_year": 1e9},
    "all silent": {"silent": 1.0, "oil": True},
    "none silent": {"silent": 0.0, "oil": True},
    "a lead of ten lives": {"lead": [1e6, 2e6], "oil": True},
    "a lead without end": {"lead": 1e9, "oil": True},
    "no lead to speak of": {"lead": [1e-3, 2e-3], "oil": True},
    "a part that lasts a day": {"scale": 100.0, "age": 0.0, "interval": 1e5},
    "the next change in an instant": {"first": 1e-6, "oil": True},
    "a very long wait for the first": {"first": 8_000.0, "interval": 8_000.0},
    "a wide belief": {"shape": [1.0, 6.0], "b50": [2e4, 2e6]},
    "a wide belief of an old part": {"shape": [1.0, 6.0], "b50": [2e4, 2e6], "age": 1e6},
}


@pytest.mark.parametrize("name", EXTREMES)
def test_an_answer_of_finite_numbers_or_a_refusal(name: str) -> None:
    looked_at(case(**EXTREMES[name]))


def test_a_hundred_thousand_oil_changes_are_refused_and_not_begun() -> None:
    assert case(interval=0.3) is None
    assert case(interval=8_000.0, keep=1e9) is None


@FEW
@given(
    shape=st.floats(0.3, 20), scale=st.floats(1e3, 1e8), age=st.floats(0, 1e6),
    interval=st.floats(5e3, 1e6), keep=st.floats(1, 8e4), planned=st.floats(0, 1e6),
    failure=st.floats(0, 1e9), rate=st.floats(0, 1), oil=st.booleans(),
    silent=st.sampled_from([0.0, 1.0, 0.4]), lead=st.sampled_from([None, 300.0, [1e3, 1e5]]),
)  # fmt: skip
def test_any_figures_together(**asked: Any) -> None:
    looked_at(case(**asked))


@settings(max_examples=150, deadline=None)
@given(
    st.floats(0.3, 20), st.floats(1e-3, 1e9), st.floats(0, 1e9), st.floats(0, 1e9),
    st.sampled_from([0.0, 1e-12, 1e-3]),
)  # fmt: skip
def test_the_long_run_at_any_age(
    shape: float, scale: float, planned: float, failure: float, other: float
) -> None:
    part = Replaced(np.array([shape]), np.array([scale]), planned, failure, other=other)
    for age in (scale * 1e-3, scale, scale * 1e3):
        used = part.in_service(age)
        assert 0 < used[0] <= age * (1 + 1e-9)
        assert np.isfinite(part.cost(age)).all()
        assert 0 <= part.reaches(age)[0] <= 1
    assert (part.best_ages() > 0).all()


@pytest.mark.parametrize("sees", [0.0, 1e-12, 0.5, 1.0])
def test_the_rule_for_samples_at_its_ends(sees: float) -> None:
    for net in (0.0, 1e-9, 1e4, 1e9):
        assert 0 <= missed(net, 5_000.0, sees) <= 1
    assert needed(sees, 0.1) >= 0


def test_services_never_fall_on_or_beyond_the_end() -> None:
    for keep in (1e-3, 1.0, 8_000.0, 8_000.0 * (1 + 1e-12), 1e5):
        found = services_within(keep, 8_000.0, 8_000.0)
        assert (found < keep).all()
        assert len(found) == max(0, math.ceil(keep / 8_000.0 - 1e-9) - 1)


def test_information_about_nothing_is_worth_nothing() -> None:
    assert perfect([[0.0, 0.0], [0.0, 0.0]], [0.5, 0.5]) == 0
    assert perfect([[1e12, 1e12]], [0.3, 0.7]) == 0
    assert sampled([[1e12, 0.0], [1.0, 1.0]], [0.0, 1.0], [[1.0, 1.0]]) == 0
