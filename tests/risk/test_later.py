"""A part that is itself a later one: its curves against a plain sum over curves and factors."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtri

from riskmodel.decision.basis import basis, rebased
from riskmodel.decision.prepared import expected_costs, grounds, prepared
from riskmodel.life.posterior import Curves
from riskmodel.life.quantile import weighted_quantile
from riskmodel.life.weibull import conditional_failure
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.risk.forecast import chance_ahead
from riskmodel.risk.later import is_later, shortened, with_parts_alike
from riskmodel.risk.life_curves import average_curves, first_part_curves, life_curves
from tests.risk.cases import case_with

FACTOR = Quantity(0.6, 1.1)


ROWS = [
    *(f"{age},failed" for age in (70_000, 95_000, 110_000, 128_000, 150_000, 171_000, 190_000)),
    *(f"{age},running" for age in (60_000, 90_000, 120_000, 140_000, 160_000, 200_000)),
]


def case_of(fitted: float) -> Case:
    """A part of 100,000 that was fitted at a reading."""
    return case_with(
        ROWS,
        machine={"reading": 100_000 + fitted},
        part={"fitted_at": fitted, "entered_at": 30_000},
        use={"stretches": [{"until": 100_000 + fitted, "shares": {}}], "ahead": {}},
    )


@pytest.fixture(scope="module")
def first() -> Case:
    return case_of(0)


@pytest.fixture(scope="module")
def later() -> Case:
    return case_of(80_000)


def plain_sum(curves: Curves, case: Case, ahead: float) -> list[float]:
    """Chance ahead and its 5 and 95 % points: every curve with 200 factors, weighed by survival."""
    factor = FACTOR.quantile(ndtri((np.arange(200) + 0.5) / 200))
    scale = np.outer(curves.scale, factor)
    b = curves.shape[:, None]
    weight = (
        curves.weight[:, None]
        * np.exp((case.age / curves.scale[:, None]) ** b - (case.age / scale) ** b)
        * (1.0 / 200)
    )
    lasted = case.part.entered_at
    weight *= np.exp((lasted / scale) ** b - (lasted / curves.scale[:, None]) ** b)
    weight /= weight.sum()
    chance = conditional_failure(case.age, ahead, b, scale)
    ends = weighted_quantile(chance.ravel(), weight.ravel(), [0.05, 0.95])
    return [float((chance * weight).sum()), *ends.tolist()]


def test_chances_are_those_of_every_curve_by_every_factor(later: Case) -> None:
    curves = life_curves(later)
    before = first_part_curves(later)
    assert len(curves) < 1.6 * len(before)
    for ahead in (2_000.0, 15_000.0, 60_000.0):
        told = [float(x[0]) for x in chance_ahead(curves, later.age, np.array([ahead]))]
        assert told == pytest.approx(plain_sum(before, later, ahead), rel=0.015)
    assert float(curves.weight.sum()) == pytest.approx(1)


def test_a_shorter_life_is_likelier_to_end_and_less_sure(first: Case, later: Case) -> None:
    ahead = np.array([15_000.0])
    one, two = (chance_ahead(life_curves(c), c.age, ahead) for c in (first, later))
    assert two[0] > 1.05 * one[0]
    assert two[2] / two[1] > one[2] / one[1]


def test_the_first_part_is_untouched(first: Case, later: Case) -> None:
    assert not is_later(first)
    assert with_parts_alike(first) is first
    ours, theirs = life_curves(first), average_curves(first)
    np.testing.assert_array_equal(ours.scale, theirs.scale)
    np.testing.assert_array_equal(ours.weight, theirs.weight)
    told = replace(later, plan=replace(later.plan, new_part_life=exactly(1.0)))
    np.testing.assert_array_equal(life_curves(told).scale, theirs.scale)


def test_a_known_factor_is_a_change_of_units() -> None:
    """Lives half as long: the curve of a part twice as old, all in half units; by hand."""
    curves = Curves(np.array([2.0, 3.0]), np.array([100.0, 150.0]), np.array([0.4, 0.6]))
    found = shortened(curves, exactly(0.5), (10.0, 40.0))
    was = np.exp(-((0.4) ** 2 - 0.1**2)), np.exp(-((40 / 150) ** 3 - (10 / 150) ** 3))
    now = np.exp(-((0.8) ** 2 - 0.2**2)), np.exp(-((40 / 75) ** 3 - (10 / 75) ** 3))
    weight = np.array([0.4 * now[0] / was[0], 0.6 * now[1] / was[1]])
    np.testing.assert_allclose(found.scale, [50, 75])
    np.testing.assert_allclose(found.weight, weight / weight.sum(), rtol=1e-12)


def test_parts_after_it_live_as_it_does(first: Case, later: Case) -> None:
    """No further factor: the plans' costs are those of the widened curves with new parts alike."""
    found = grounds(later)
    assert found.case.plan.new_part_life == exactly(1.0)
    assert found.new_part_life == later.plan.new_part_life
    told = expected_costs(prepared(found))
    given = replace(first, plan=replace(first.plan, new_part_life=exactly(1.0)))
    by_hand = expected_costs(prepared(grounds(given, life_curves(later))))
    for one, other in zip(told, by_hand, strict=True):
        np.testing.assert_allclose(one, other, rtol=1e-9)


def test_another_life_of_new_parts_changes_the_present_one(later: Case) -> None:
    """What was worked out before does not serve then."""
    base = basis(later)
    longer = replace(later, plan=replace(later.plan, new_part_life=exactly(1.2)))
    moved, anew = rebased(base, longer), basis(longer)
    assert moved.risk == anew.risk
    assert moved.risk[0].chance.value < base.risk[0].chance.value
    same = rebased(base, replace(later, cost=replace(later.cost, planned=exactly(999.0))))
    assert same.risk == base.risk
