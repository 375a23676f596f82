"""Life curves and use together: the chance ahead against closed forms and brute force."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.life.posterior import Curves, posterior
from riskmodel.life.weibull import cumulative_hazard, survival
from riskmodel.records.quantity import Z90, Quantity
from riskmodel.risk import forecast
from riskmodel.use.aged import aged_curves, chance_ahead, with_habits
from riskmodel.use.effective_age import Use, joined_use
from riskmodel.use.mix import UNKNOWN, Mix
from tests.use.made import TOWN, TRACK, kind

CURVES = Curves(
    np.array([1.8, 2.5, 3.5]), np.array([2200.0, 1800.0, 1500.0]), np.array([0.3, 0.5, 0.2])
)
AHEAD = np.array([100.0, 400.0])


def driven(first: Mix = UNKNOWN) -> Use:
    return joined_use(
        [TOWN, TRACK],
        [0, 500, 1000],
        [first, Mix({"town": 0.2, "track": 0.5})],
        Mix({"track": 0.3}),
        entered_at=500,
    )


def test_a_curve_at_a_node_is_a_curve_with_an_age_of_its_own() -> None:
    use = driven()
    aged = aged_curves(CURVES, use, None, each=None)
    age, ahead = use.age[aged.node], use.ahead[aged.node]
    shape, scale = CURVES.shape[aged.curve], CURVES.scale[aged.curve]
    for usage in AHEAD:
        wanted = 1 - survival(age + ahead * usage, shape, scale) / survival(age, shape, scale)
        now = 1 - survival(aged.age + usage, aged.shape, aged.scale) / survival(
            aged.age, aged.shape, aged.scale
        )
        assert now == pytest.approx(wanted, rel=1e-9)
    assert aged.entered * ahead == pytest.approx(use.entered[aged.node])


def test_the_populations_mix_leaves_every_chance_as_it_was() -> None:
    own = Mix({"town": 0.3, "track": 0.1})
    use = joined_use([TOWN, TRACK], [0, 1000], [own], own, entered_at=200)
    told = chance_ahead(aged_curves(CURVES, use, (200.0, 1000.0), None), AHEAD)
    plain = forecast.chance_ahead(CURVES, 1000.0, AHEAD)
    assert told[0] == pytest.approx(plain[0], rel=1e-12)


def test_chance_ahead_against_brute_force() -> None:
    """Engines drawn from the model's words alone: a curve, harshness, the shares of the untold
    stretch, then when the part fails; those that do not last from when the watch began until today
    are left out."""
    random = np.random.default_rng(11)
    draws = 2_000_000
    curve = random.choice(3, draws, p=CURVES.weight)
    shape, scale = CURVES.shape[curve], CURVES.scale[curve]
    town, track = (
        np.exp(
            (math.log(low) + math.log(high)) / 2
            + (math.log(high) - math.log(low)) / (2 * Z90) * random.standard_normal(draws)
        )
        for low, high in ((0.8, 2.0), (1.1, 3.0))
    )
    # the population: 0.3 town, 0.1 track, 0.6 ordinary; an engine's shares vary about them
    usual = 0.3 * town + 0.1 * track + 0.6
    parts = [random.standard_gamma(4 * share, draws) for share in (0.3, 0.1, 0.6)]
    drawn = (parts[0] * town + parts[1] * track + parts[2]) / sum(parts)
    unnamed = -math.log(0.9) / Z90
    drawn = drawn * np.exp(unnamed * random.standard_normal(draws) - unnamed**2 / 2)
    entered = 500 * drawn / usual
    age = entered + 500 * (0.2 * town + 0.5 * track + 0.3) / usual
    rate = (0.3 * track + 0.7) / usual
    # failure age of a part that is there when the watch begins
    began = (entered / scale) ** shape
    failed = scale * (began + random.standard_exponential(draws)) ** (1 / shape)
    lasts = failed > age
    for usage, told in zip(
        AHEAD, chance_ahead(aged_curves(CURVES, driven(), None, None), AHEAD)[0], strict=True
    ):
        gone = (failed <= age + rate * usage)[lasts]
        # three standard errors, and what taking the untold share's form as lognormal may cost
        assert told == pytest.approx(gone.mean(), abs=3 * gone.std() / lasts.sum() ** 0.5 + 2e-4)


def test_weights_are_prior_times_survival_in_effective_ages() -> None:
    use = joined_use([TRACK], [0, 1000], [Mix({"track": 1.0})], Mix(), entered_at=300)
    aged = aged_curves(CURVES, use, None, None)
    table = np.zeros((3, len(use.weight)))
    for i in range(3):
        lived = survival(use.age, CURVES.shape[i], CURVES.scale[i])
        lived /= survival(use.entered, CURVES.shape[i], CURVES.scale[i])
        table[i] = CURVES.weight[i] * use.weight * lived
    assert aged.weight.reshape(3, -1) == pytest.approx(table / table.sum())


def test_a_hard_past_outlived_speaks_for_long_life_and_for_a_gentler_past() -> None:
    use = joined_use([TRACK], [0, 1500], [Mix({"track": 1.0})], Mix())
    aged = aged_curves(CURVES, use, None, None)
    assert aged.weight @ use.age[aged.node] < use.weight @ use.age
    longest = np.argmax(CURVES.scale)
    assert aged.weight[aged.curve == longest].sum() > CURVES.weight[longest]


def test_survival_that_the_curves_know_already_counts_once() -> None:
    priors = Quantity(1.5, 4.0), Quantity(800.0, 3000.0)
    known = (300.0, 1000.0)
    before, after = posterior(None, *priors), posterior(None, *priors, known)
    use = joined_use([TRACK], [0, 1000], [Mix({"track": 0.6})], Mix({"track": 0.2}), 300)
    chances = [
        chance_ahead(aged_curves(curves, use, told), AHEAD)
        for curves, told in ((before, None), (after, known))
    ]
    assert chances[0][0] == pytest.approx(chances[1][0], rel=2e-3)
    assert chances[0][2] == pytest.approx(chances[1][2], rel=2e-2)


@pytest.mark.parametrize(
    ("each", "mean", "ends"), [(1, 0.01, 0.1), (4, 5e-3, 0.03), (8, 2e-3, 0.02)]
)
def test_a_few_nodes_for_each_curve_stand_for_all(each: int, mean: float, ends: float) -> None:
    curves = posterior(None, Quantity(1.5, 4.0), Quantity(1200.0, 4000.0), (500.0, 1000.0))
    some, every = (
        chance_ahead(aged_curves(curves, driven(), (500.0, 1000.0), count), AHEAD)
        for count in (each, None)
    )
    assert some[0] == pytest.approx(every[0], rel=mean)
    assert some[1] == pytest.approx(every[1], rel=ends)
    assert some[2] == pytest.approx(every[2], rel=ends)


@pytest.mark.parametrize("kinds", [[TOWN, TRACK], [], [kind("track", 2.0)]])
def test_nothing_told_never_narrows_the_chance(kinds: list[object]) -> None:
    """Against the population's curve at the plain age, whatever kinds are named."""
    curves = posterior(None, Quantity(2.0, 4.0), Quantity(1200.0, 2500.0), (0.0, 1000.0))
    use = joined_use(kinds, [0, 1000], [UNKNOWN], UNKNOWN)  # type: ignore[arg-type]
    mean, low, high = chance_ahead(aged_curves(curves, use, (0.0, 1000.0), None), AHEAD)
    plain, plain_low, plain_high = forecast.chance_ahead(curves, 1000.0, AHEAD)
    assert np.all(high - low > plain_high - plain_low)
    assert mean == pytest.approx(plain, rel=0.05)


@given(st.floats(0, 0.7), st.floats(0, 0.3))
def test_harsher_use_ahead_never_lowers_the_chance(share: float, more: float) -> None:
    hard = kind("hard", 1.0, 3.0, 0.1)
    ahead = [Mix({"hard": share}), Mix({"hard": share + more})]
    uses = [joined_use([hard], [0, 1000], [Mix({"hard": 0.4})], mix) for mix in ahead]
    gentle, harsh = (chance_ahead(aged_curves(CURVES, use, None, None), AHEAD)[0] for use in uses)
    # a few nodes have the range's lower tail below ordinary use: on average it is harsher
    assert np.all(harsh >= gentle * (1 - 1e-12))


def test_other_habits_keep_the_pairs_and_what_is_believed() -> None:
    before = driven()
    after = before.with_ahead(Mix({"town": 0.3}))
    aged = aged_curves(CURVES, before, None)
    moved = with_habits(aged, before, after)
    anew = aged_curves(CURVES, after, None, None)
    assert np.array_equal(moved.weight, aged.weight)
    assert moved.age * after.ahead[moved.node] == pytest.approx(after.age[moved.node])
    assert chance_ahead(with_habits(aged_curves(CURVES, before, None, None), before, after), AHEAD)[
        0
    ] == pytest.approx(chance_ahead(anew, AHEAD)[0], rel=1e-9)
    untold = joined_use([TOWN], [0, 1000], [Mix()], Mix())
    with pytest.raises(ValueError, match="other nodes"):
        with_habits(aged, before, untold)


def test_a_new_part_lives_by_the_same_curve_under_the_use_ahead() -> None:
    use = driven()
    aged = aged_curves(CURVES, use, None, None)
    effective = use.ahead[aged.node] * 700
    wanted = cumulative_hazard(effective, CURVES.shape[aged.curve], CURVES.scale[aged.curve])
    found = cumulative_hazard(700.0, aged.curves.shape, aged.curves.scale)
    assert found == pytest.approx(wanted, rel=1e-12)


def test_a_part_just_fitted_has_no_age_on_any_curve() -> None:
    use = joined_use([TRACK], [0], [], Mix({"track": 1.0}))
    aged = aged_curves(CURVES, use, None)
    assert np.array_equal(aged.age, np.zeros(len(aged)))
    told = chance_ahead(aged, AHEAD)[0]
    every = chance_ahead(aged_curves(CURVES, use, None, None), AHEAD)[0]
    assert told == pytest.approx(every, rel=0.03)
