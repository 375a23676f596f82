"""Records and beliefs, each alone and together, against what they can be worked out by."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate

from riskmodel.life.covariate_curves import trait_curves
from riskmodel.life.fit import fit
from riskmodel.page.examples import example
from riskmodel.records.files import changed
from riskmodel.risk.driven import driven
from riskmodel.risk.forecast import chance_ahead
from riskmodel.risk.learned import learned
from riskmodel.risk.life_curves import average_curves, life_curves, survived
from riskmodel.risk.with_oil import chance_with_oil
from tests.risk.cases import case_with
from tests.words.life_cases import case_of, learned_of, sensitivity_of

FAILED = [60_000, 95_000, 110_000, 130_000, 145_000, 160_000, 190_000, 210_000]
ROWS = [f"{age},failed" for age in FAILED] + ["150000,running"] * 6


def test_the_belief_alone_agrees_with_drawing_from_it() -> None:
    case = case_with(ROWS, life={"shape_prior": [1.5, 4], "b50_prior": [90_000, 250_000]})
    rng = np.random.default_rng(8)
    z = rng.standard_normal((2, 400_000))
    shape = np.exp(np.log(1.5 * 4) / 2 + np.log(4 / 1.5) / 3.2897 * z[0])
    b50 = np.exp(np.log(90_000 * 250_000) / 2 + np.log(250 / 90) / 3.2897 * z[1])
    lived, end = (np.exp(-np.log(2) * (age / b50) ** shape) for age in (100_000, 110_000))
    known = learned(case).by_belief
    assert known.chance == pytest.approx(1 - end.sum() / lived.sum(), rel=0.01)
    order = np.argsort(1 - end / lived)
    ranked = np.cumsum(lived[order]) / lived.sum()
    for end_told, share in ((known.low, 0.05), (known.high, 0.95)):
        drawn = (1 - end / lived)[order][np.searchsorted(ranked, share)]
        assert end_told == pytest.approx(drawn, rel=0.02)


def test_the_records_alone_are_maximum_likelihood() -> None:
    case = case_with(ROWS, life={"b50_prior": [90_000, 250_000]})
    assert case.records is not None
    told, wanted = learned(case).by_records, fit(case.records).conditional(100_000, 10_000)
    assert (told.chance, told.low, told.high) == (wanted.probability, wanted.low, wanted.high)


def test_the_share_from_the_records_at_a_known_shape_against_quadrature() -> None:
    """With the shape known, ln B50 has one dimension: its variance is an integral."""
    shape, low, high = 2.5, 90_000.0, 250_000.0
    case = case_with(
        ROWS,
        life={"shape_prior": shape, "b50_prior": [low, high]},
        part={"in_records": True},
    )
    spread = math.log(high / low) / (2 * 1.6448536269514722)
    centre = math.log(low * high) / 2
    ages = np.array([*FAILED, *[150_000] * 6], dtype=float)

    def density(y: float) -> float:
        hazard = math.log(2) * (ages / math.exp(y)) ** shape
        prior = -(((y - centre) / spread) ** 2) / 2
        return math.exp(prior - hazard.sum() - len(FAILED) * shape * (y - centre))

    mass, first, second = (
        integrate.quad(lambda y, k=k: y**k * density(y), 10.5, 13.5, epsrel=1e-10)[0]
        for k in range(3)
    )
    variance = second / mass - (first / mass) ** 2
    found = learned(case)
    assert found.half.records == pytest.approx(1 - variance / spread**2, abs=2e-3)
    assert found.shape.records == 0  # it was taken as known


def test_without_a_belief_all_is_from_the_records() -> None:
    found = learned(case_with(ROWS))
    assert found.half.records == 1
    assert found.half.believed is None
    assert found.by_belief.chance is None
    assert "nothing was believed" in found.by_belief.why_not
    assert 0 < found.shape.records < 1


def test_without_records_the_belief_is_all() -> None:
    found = learned(case_with(None, life={"b50_prior": [90_000, 250_000]}))
    assert found.both == found.by_belief or found.both.chance == found.by_belief.chance
    assert found.by_records.chance is None
    assert found.observed is found.plot is found.choice is found.effects is None
    assert found.remarks == ()


def test_a_belief_far_from_the_records_is_told() -> None:
    assert not learned(case_with(ROWS, life={"b50_prior": [90_000, 250_000]})).conflict
    assert learned(case_with(ROWS, life={"b50_prior": [500_000, 700_000]})).conflict
    assert learned(case_with(ROWS, life={"b50_prior": [20_000, 40_000]})).conflict


def test_records_without_a_failure_leave_the_belief_to_speak() -> None:
    rows = ["150000,running"] * 20
    found = learned(case_with(rows, life={"b50_prior": [90_000, 250_000]}))
    assert found.by_records.chance is None
    assert found.both.chance is not None
    assert found.by_belief.chance is not None
    assert found.both.chance < found.by_belief.chance
    assert found.plot is None
    assert found.observed is not None
    assert found.observed.reason is not None


@pytest.mark.parametrize("folder", ["road-car", "work-boat"])
def test_curves_stay_within_their_bands(folder: str) -> None:
    curve = learned(example(folder)).both.curve
    assert curve is not None
    assert (np.diff(curve.failed) >= 0).all()
    assert (curve.low <= curve.failed + 1e-12).all()
    assert (curve.failed <= curve.high + 1e-12).all()


def test_traits_enter_the_chances_and_are_told_beside_the_average() -> None:
    case = case_of("road car")
    assert case.part.traits
    assert case.records is not None
    curves = life_curves(case)
    wanted = trait_curves(
        case.records,
        case.part.traits,
        case.life.shape_prior,
        case.life.b50_prior,
        survived(case),
        case.life.finding_error,
        case.warning.visible_lead,
        case.life.reporting_ratio,
    )
    np.testing.assert_array_equal(curves.scale, wanted.scale)
    effects = learned_of("road car")[1].effects
    assert effects is not None
    assert effects.used
    ahead = np.array([case.next_change_in])
    average = [float(x[0]) for x in chance_ahead(average_curves(case), case.age, ahead)]
    assert effects.average == pytest.approx(average)
    tried = {(x.group, x.setting): x for x in sensitivity_of("road car")}
    unknown = tried["traits", "traits_unknown"].chance
    assert unknown is not None
    as_driven = driven(case, average_curves(case))
    told = chance_with_oil(
        as_driven.case, as_driven.curves, ahead, as_driven.history(), as_driven.aged.age
    ).with_oil
    assert unknown.value == pytest.approx(float(told.value[0]))


def test_an_engine_of_unknown_traits_is_an_average_one() -> None:
    case = changed(example("road-car"), {"part.traits": {}})
    assert not case.part.traits
    np.testing.assert_array_equal(life_curves(case).scale, average_curves(case).scale)
    effects = learned(case).effects
    assert effects is not None
    assert not effects.used
