"""Harshness learned from a column of the records, joined with the curve it was fitted with.

Driven one way throughout, an engine is one of that level of the column: its chances are those of
its trait. Driven both ways, they are those of a plain sum over shape, scale and harshness.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from riskmodel.life.covariate_curves import EFFECT_PRIOR, trait_curves
from riskmodel.life.joint_curves import JointCurves, _shared_out
from riskmodel.life.quantile import weighted_quantile
from riskmodel.life.weibull import quantile
from riskmodel.records.case import Case
from riskmodel.risk.chance_parts import parts_of_chance
from riskmodel.risk.driven import average_use_curves, driven, own_curves
from riskmodel.risk.forecast import chance_ahead
from riskmodel.use.learned import base_of_use, learned_harshness
from tests.risk.cases import case_with

AGE, AHEAD = 100_000.0, 15_000.0
HALF, FIRM = 24, 170_000.0


def recorded(shares: dict[str, float], more: str = "", **part: object) -> Case:
    """Parts of shape 3 of which those under hard use last 65 % as long, half of them calm; those
    beyond 170,000 still running. This engine was, and will be, driven in `shares`."""
    at = (np.arange(HALF) + 0.5) / HALF
    rows = []
    for use, scale in (("calm", 200_000.0), ("hard", 130_000.0)):
        for i, age in enumerate(quantile(at, 3.0, scale)):
            told = f"{age:.0f},failed" if age < FIRM else f"{FIRM:.0f},running"
            rows.append(f"{told},{use}" + (f",{'ab'[i % 2]}" if more else ""))
    return case_with(
        rows,
        "age,outcome,use" + more,
        machine={"reading": AGE + part.get("fitted_at", 0.0)},  # type: ignore[operator]
        use={
            "kinds": [
                {"name": "calm", "harshness": 1.0, "population_share": 0.5},
                {"name": "hard", "population_share": 0.5},
            ],
            "stretches": [{"until": AGE + part.get("fitted_at", 0.0), "shares": shares}],  # type: ignore[operator]
            "ahead": shares,
        },
        part=part,
    )


def told(case: Case, each: int | None = None) -> list[float]:
    """The chance ahead and its interval, its use counted: as ever, or with `each` nodes a curve."""
    found = driven(case, own_curves(case), each)
    chance = chance_ahead(found.curves, found.aged.age, np.array([AHEAD]))
    return [float(each[0]) for each in chance]


def by_trait(case: Case, use: str) -> list[float]:
    assert case.records is not None
    life = case.life
    curves = trait_curves(case.records, {"use": use}, life.shape_prior, life.b50_prior, (0.0, AGE))
    return [float(each[0]) for each in chance_ahead(curves, AGE, np.array([AHEAD]))]


def weak(case: Case) -> Case:
    """With no more believed of harshness than of the effect of any column."""
    kinds = tuple(
        kind if kind.harshness.exact else replace(kind, harshness=EFFECT_PRIOR)
        for kind in case.use.kinds
    )
    return replace(case, use=replace(case.use, kinds=kinds))


@pytest.mark.parametrize("use", ["calm", "hard"])
def test_driven_one_way_it_is_an_engine_of_that_level(use: str) -> None:
    case = weak(recorded({use: 1.0}))
    assert case.records is not None
    base, found = base_of_use(case.records, "use"), learned_harshness(case)
    assert found is not None
    assert found.base == base == "calm"
    # four nodes a curve leave an end of the interval within 3 % of itself, all of them 1 %
    for each, near in ((None, 0.03), (60, 0.01)):
        wanted, (mean, *ends) = by_trait(case, use), told(case, each)
        assert mean == pytest.approx(wanted[0], rel=1e-6 if use == base else 0.002)
        assert ends == pytest.approx(wanted[1:], rel=near)
    # one Weibull curve of all parts says another thing
    other = driven(case, average_use_curves(case))
    pooled = chance_ahead(other.curves, other.aged.age, np.array([AHEAD]))
    assert max(abs(float(one[0]) / two - 1) for one, two in zip(pooled, wanted, strict=True)) > 0.03


@pytest.mark.parametrize("share", [0.3, 0.7])
def test_driven_both_ways_against_a_plain_sum(share: float) -> None:
    """Shape, ln B50 of an average part and ln factor between the levels on a dense grid: priors,
    every record at its own scale, this engine at the usage of the calm that it is worth."""
    case = recorded({"calm": 1 - share, "hard": share})
    assert case.records is not None
    data, life = case.records, case.life
    assert life.b50_prior is None
    beta = np.linspace(math.log(0.7), math.log(9), 60)[:, None, None]
    y = np.linspace(math.log(70_000), math.log(400_000), 90)[:, None]
    g = np.linspace(-1.6, 1.0, 80)
    shape = np.exp(beta)
    prior = ((beta - math.log(life.shape_prior.median)) / life.shape_prior.spread) ** 2
    believed = case.use.kinds[1].harshness  # as for any hard use
    log = -(prior + ((-g - math.log(believed.median)) / believed.spread) ** 2) / 2
    calm = np.exp(y - 0.5 * g) / math.log(2) ** (1 / shape)  # half of those on record are hard
    for age, outcome, use in zip(data.age, data.outcome, data.covariates["use"], strict=True):
        scale = calm * np.exp(g) if use == "hard" else calm
        power = (age / scale) ** shape
        log = log - power
        if outcome == "failed":
            log = log + beta + np.log(power)
    pace = 1 - share + share * np.exp(-g)
    lived, later = ((pace * age / calm) ** shape for age in (AGE, AGE + AHEAD))
    weight = np.exp(log - lived - (log - lived).max())
    weight /= weight.sum()
    chance = -np.expm1(lived - later)
    ends = weighted_quantile(chance.ravel(), weight.ravel(), [0.05, 0.95])
    mean, low, high = told(case)
    assert mean == pytest.approx(float((chance * weight).sum()), rel=0.01)
    assert [low, high] == pytest.approx(ends, rel=0.03)


def test_other_columns_and_a_later_part_keep_the_two_together() -> None:
    """A column that is not stated mixes curves, a later part spreads them: what is believed of
    harshness beside each still sums to 1, and the chances stay near those without either."""
    plain = told(recorded({"hard": 1.0}))
    mixed = recorded({"hard": 1.0}, ",grade")
    later = recorded({"hard": 1.0}, fitted_at=50_000.0)
    for case, factor in ((mixed, 1.25), (later, 1.8)):
        curves = own_curves(case)
        assert isinstance(curves, JointCurves)
        np.testing.assert_allclose(curves.share.sum(axis=1), 1)
        assert float(curves.weight.sum()) == pytest.approx(1)
        assert 1 / factor < told(case)[0] / plain[0] < factor
    assert told(later)[0] > plain[0]
    same = replace(later, plan=replace(later.plan, new_part_life=mixed.plan.new_part_life))
    assert told(same) == told(later)


def test_harsher_beside_a_longer_life_of_the_calm() -> None:
    """What is believed of harshness hangs on the curve it stands beside."""
    case = recorded({"hard": 1.0})
    curves = own_curves(case)
    assert isinstance(curves, JointCurves)
    found = driven(case, curves)
    harsh = found.use.nodes.harshness
    base = int(np.flatnonzero((harsh == 1).all(axis=0))[0])
    mean = curves.share @ np.log(harsh[:, 1 - base])
    line = np.log(curves.scale) - curves.mean(np.log(curves.scale))
    assert curves.mean(line * mean) > 0


def test_stated_harshness_and_untold_use_are_as_before() -> None:
    case = recorded({"calm": 0.5, "hard": 0.5})
    stated = replace(case, stated=case.stated | {"use.kinds[2].harshness"})
    untold = replace(case, use=replace(case.use, stretches=()))
    for each in (stated, untold):
        assert not isinstance(own_curves(each), JointCurves)
        np.testing.assert_array_equal(own_curves(each).scale, average_use_curves(each).scale)
    assert sum(parts_of_chance(case).shares) > 0


def test_two_columns_levels_about_the_nearest_of_many_sets() -> None:
    """Three levels: each point belongs to the nearest set of two harshnesses."""
    rng = np.random.default_rng(0)
    at, sets = rng.normal(0, 0.3, (5, 4, 2)), rng.normal(0, 0.3, (40, 2))
    label, part = _shared_out(at, sets)
    far = ((at[:, :, None] - sets) ** 2).sum(axis=3)
    np.testing.assert_array_equal(label[:, :, 0], far.argmin(axis=2))
    assert (part == 1).all()
    label, part = _shared_out(at[:, :, :1], sets[:, :1])
    inside = np.abs(at[:, :, 0]) < 0.5
    mean = (sets[label, 0] * part).sum(axis=2)
    np.testing.assert_allclose(mean[inside], at[:, :, 0][inside], atol=1e-12)
