"""The effective age of one engine, against closed forms and draws."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.records.quantity import Z90
from riskmodel.use.effective_age import Use, joined_use, use_of
from riskmodel.use.kinds import standard_kinds
from riskmodel.use.mix import UNKNOWN, Mix
from tests.risk.cases import case_with
from tests.use.made import TOWN, TRACK, kind

HARD = kind("hard", 2.0, population_share=0.1)
LOGS = (math.log(0.8), math.log(2.0))


def width(use: Use, values: np.ndarray) -> float:
    told = use.summary(values)
    return told.high - told.low


def deviation(use: Use, values: np.ndarray) -> float:
    return float(np.sqrt(use.weight @ (values - use.weight @ values) ** 2))


def test_two_stretches_by_hand() -> None:
    use = joined_use([HARD], [0, 60_000, 100_000], [Mix(), Mix({"hard": 0.5})], Mix({"hard": 1.0}))
    assert len(use.weight) == 1
    assert use.age[0] == pytest.approx((60_000 * 1 + 40_000 * 1.5) / 1.1)
    assert use.ahead[0] == pytest.approx(2 / 1.1)
    assert use.plain_age == 100_000


def test_the_populations_mix_gives_the_plain_age_exactly() -> None:
    own = Mix({"town": 0.3, "track": 0.1})
    use = joined_use([TOWN, TRACK], [0, 70_000, 124_000], [own, own], own, entered_at=61_000)
    assert np.array_equal(use.age, np.full(len(use.weight), 124_000.0))
    assert np.array_equal(use.ahead, np.ones(len(use.weight)))
    assert np.array_equal(use.entered, np.full(len(use.weight), 61_000.0))
    told = use.summary(use.age)
    assert (told.low, told.median, told.high) == (124_000, 124_000, 124_000)


def test_ages_within_stretches_beyond_today_and_before_the_part_was_new() -> None:
    use = joined_use([HARD], [0, 600, 1000], [Mix(), Mix({"hard": 0.5})], Mix({"hard": 1.0}), 800)
    found = use.effective_age([-50, 0, 300, 600, 800, 1000, 1100])[0] * 1.1
    assert found == pytest.approx([-50, 0, 300, 600, 900, 1200, 1400])
    assert use.entered[0] * 1.1 == pytest.approx(900)
    assert use.mean_effective_age([800])[0] * 1.1 == pytest.approx(900)


def test_a_part_just_fitted() -> None:
    use = joined_use([TOWN], [0], [], Mix({"town": 1.0}))
    assert np.array_equal(use.age, np.zeros(len(use.weight)))
    assert use.effective_age([10.0])[:, 0] == pytest.approx(10 * use.ahead)


def test_one_uncertain_harshness_has_the_moments_of_its_lognormal() -> None:
    """With no share in the population the rate is linear in a lognormal: all is closed form."""
    use = joined_use([kind("hard", 0.8, 2.0)], [0, 1000], [Mix({"hard": 0.4})], Mix({"hard": 1.0}))
    spread = (LOGS[1] - LOGS[0]) / (2 * Z90)
    mean = math.exp(sum(LOGS) / 2 + spread**2 / 2)
    sd = mean * math.sqrt(math.expm1(spread**2))
    assert use.weight @ use.ahead == pytest.approx(mean, rel=1e-4)
    assert deviation(use, use.ahead) == pytest.approx(sd, rel=1e-3)
    assert use.weight @ use.age == pytest.approx(1000 * (1 + 0.4 * (mean - 1)), rel=1e-4)
    told = use.summary(use.ahead)
    assert [told.low, told.median, told.high] == pytest.approx([0.8, math.sqrt(1.6), 2], rel=3e-3)


@pytest.mark.parametrize("kinds", [1, 2, 3, 5])
def test_age_and_rate_ahead_against_draws(kinds: int) -> None:
    """However many harshnesses are not known, and with an untold stretch beside them."""
    random = np.random.default_rng(kinds)
    named = [kind(f"k{i}", 0.8 + 0.1 * i, 2.0 + 0.3 * i, 0.5 / kinds) for i in range(kinds)]
    past = Mix({each.name: 0.9 / kinds for each in named})
    ahead = Mix({"k0": 0.5})
    use = joined_use(named, [0, 400, 1000], [UNKNOWN, past], ahead)
    draws = 200_000
    harsh = np.stack(
        [each.harshness.quantile(random.standard_normal(draws)) for each in named], axis=1
    )
    usual = 1 + (harsh - 1).sum(axis=1) * 0.5 / kinds
    rate = (1 + (harsh - 1).sum(axis=1) * 0.9 / kinds) / usual
    then = (1 + 0.5 * (harsh[:, 0] - 1)) / usual
    share = random.dirichlet([4 * 0.5 / kinds] * kinds + [4 * 0.5], draws)
    unnamed = -math.log(0.9) / Z90
    drawn = (np.column_stack([harsh, np.ones(draws)]) * share).sum(axis=1)
    drawn *= np.exp(unnamed * random.standard_normal(draws) - unnamed**2 / 2) / usual
    age = 400 * drawn + 600 * rate
    assert use.weight @ use.age == pytest.approx(age.mean(), rel=2e-3)
    assert deviation(use, use.age) == pytest.approx(age.std(), rel=0.03)
    assert use.weight @ use.ahead == pytest.approx(then.mean(), rel=2e-3)
    assert deviation(use, use.ahead) == pytest.approx(then.std(), rel=0.03)
    together = use.weight @ (use.age * use.ahead) - (use.weight @ use.age) * (
        use.weight @ use.ahead
    )
    noise = age.std() * then.std() / draws**0.5  # of the covariance of draws
    assert together == pytest.approx(np.cov(age, then)[0, 1], rel=0.03, abs=4 * noise)
    told = use.summary(use.age)
    ends = np.quantile(age, [0.05, 0.5, 0.95])
    assert [told.low, told.median, told.high] == pytest.approx(ends, abs=0.06 * (ends[2] - ends[0]))


def test_past_and_future_share_their_harshness() -> None:
    use = joined_use([TRACK], [0, 1000], [Mix({"track": 0.5})], Mix({"track": 0.5}))
    assert use.age == pytest.approx(1000 * use.ahead)


# --- don't know never narrows --------------------------------------------------------------

SHARE = st.fixed_dictionaries({"town": st.floats(0, 0.6), "track": st.floats(0, 0.4)})


@given(SHARE, st.floats(0.1, 0.9))
def test_not_to_know_a_stretch_never_narrows_the_age(
    shares: dict[str, float], where: float
) -> None:
    """Against the population's mix in its place, whatever the other stretch was."""
    own = Mix({"town": 0.3, "track": 0.1})
    told, untold = (
        joined_use([TOWN, TRACK], [0, 1000 * where, 1000], [first, Mix(shares)], Mix(shares))
        for first in (own, UNKNOWN)
    )
    assert untold.weight @ untold.age == pytest.approx(told.weight @ told.age, rel=1e-4)
    assert deviation(untold, untold.age) > deviation(told, told.age)
    assert width(untold, untold.age) >= 0.98 * width(told, told.age)


def test_nothing_told_is_the_population_with_a_wider_interval() -> None:
    use = joined_use([TOWN, TRACK], [0, 1000], [UNKNOWN], UNKNOWN)
    assert use.weight @ use.age == pytest.approx(1000, rel=1e-4)
    assert use.weight @ use.ahead == pytest.approx(1, rel=1e-4)
    told = use.summary(use.age)
    assert told.low < 850 < 1150 < told.high


def test_splitting_an_untold_stretch_does_not_average_its_doubt_away() -> None:
    whole = joined_use([TOWN], [0, 1000], [UNKNOWN], Mix())
    split = joined_use([TOWN], [0, 300, 700, 1000], [UNKNOWN] * 3, Mix())
    assert split.age == pytest.approx(whole.age)


def test_what_is_known_in_part_lies_between() -> None:
    told, part, untold = (
        joined_use([TOWN, TRACK], [0, 1000], [mix], Mix())
        for mix in (Mix({"town": 0.3}), Mix({"town": 0.3}, unknown=True), UNKNOWN)
    )
    assert deviation(told, told.age) < deviation(part, part.age) < deviation(untold, untold.age)


@given(st.lists(st.floats(1, 8), min_size=2, max_size=2), SHARE, st.floats(0, 1), st.floats(0, 1))
def test_a_harsher_past_never_lowers_the_effective_age(
    harsh: list[float], shares: dict[str, float], more: float, where: float
) -> None:
    kinds = [kind("town", harsh[0], population_share=0.3), kind("track", harsh[1])]
    ordinary = 1 - sum(shares.values())
    edges = [0, 10 + 900 * where, 1000]
    harder = {**shares, "track": shares["track"] + more * ordinary}
    mild, hard = (
        joined_use(kinds, edges, [Mix(each), Mix(shares)], Mix()) for each in (shares, harder)
    )
    assert np.all(hard.age >= mild.age * (1 - 1e-14))
    ages = np.linspace(0, 1100, 23)
    later = hard.effective_age(ages)
    assert np.all(later >= mild.effective_age(ages) - 1e-9)
    assert all(np.all(a <= b) for a, b in pairwise(later.T))


# --- from a case ---------------------------------------------------------------------------

KINDS = [{"name": "town", "population_share": 0.3}, {"name": "track", "population_share": 0.1}]


def use_with(**use: Any) -> Use:
    return use_of(
        case_with(None, use=use, part={"fitted_at": 20_000}, life={"b50_prior": [1e5, 3e5]})
    )


def test_stretches_are_read_from_the_meter_and_habits_go_on() -> None:
    use = use_with(
        kinds=KINDS,
        stretches=[
            {"until": 50_000, "unknown": True},
            {"until": 100_000, "shares": {"town": 0.2}},
        ],
    )
    assert use.edges.tolist() == [0, 30_000, 80_000]
    assert use.mixes == (UNKNOWN, Mix({"town": 0.2}))
    assert use.mix_ahead == Mix({"town": 0.2})


def test_usage_that_no_stretch_covers_is_not_told() -> None:
    use = use_with(kinds=KINDS, stretches=[{"until": 90_000, "shares": {"town": 0.2}}])
    assert use.edges.tolist() == [0, 70_000, 80_000]
    assert use.mixes == (Mix({"town": 0.2}), UNKNOWN)
    assert use.mix_ahead == Mix({"town": 0.2})


def test_habits_ahead_that_are_stated_hold_even_where_they_are_ordinary() -> None:
    stretches = [{"until": 100_000, "shares": {"town": 0.2}}]
    assert use_with(kinds=KINDS, stretches=stretches, ahead={}).mix_ahead == Mix()
    told = use_with(kinds=KINDS, stretches=stretches, ahead={"track": 1.0})
    assert told.mix_ahead == Mix({"track": 1.0})


def test_a_case_that_says_nothing_has_the_standard_kinds_and_the_populations_age() -> None:
    use = use_with()
    assert [each.name for each in use.kinds] == [each.name for each in standard_kinds("km")]
    assert use.mixes == (UNKNOWN,)
    assert use.mix_ahead == UNKNOWN
    assert use.weight @ use.age == pytest.approx(80_000, rel=1e-4)
    assert use.weight @ use.ahead == pytest.approx(1, rel=1e-4)
    # nobody knows the owner's habits: what they were they will be
    assert use.age == pytest.approx(80_000 * use.ahead)


def test_a_case_of_none_but_ordinary_use_has_no_kinds_and_its_plain_age() -> None:
    use = use_with(stretches=[{"until": 100_000, "shares": {}}])
    assert use.kinds == ()
    assert use.age.tolist() == [80_000.0]
    assert use.ahead.tolist() == [1.0]


@pytest.mark.parametrize(
    ("told", "fault"),
    [
        ({"edges": [0, 10, 5]}, "growing ends"),
        ({"edges": [0, 10]}, "one mix each"),
        ({"ahead": Mix({"twon": 1.0})}, "twon"),
        ({"ahead": Mix({"town": 0.7, "track": 0.6})}, "at most 1"),
        ({"ahead": Mix({"town": 0.7}, True, 0.6)}, "at most 1"),
        ({"ahead": Mix({"town": -0.1})}, "between 0 and 1"),
        ({"entered_at": 30.0}, "cannot begin at 30"),
        ({"kinds": [TOWN, kind("track", 1, 2, 0.9)]}, "population shares"),
    ],
)
def test_parts_that_do_not_fit_together_are_refused(told: dict[str, Any], fault: str) -> None:
    whole: dict[str, Any] = {
        "kinds": [TOWN, TRACK],
        "edges": [0, 10, 20],
        "mixes": [Mix(), Mix()],
        "ahead": Mix(),
    }
    with pytest.raises(ValueError, match=fault):
        joined_use(**{**whole, **told})


def test_other_habits_ahead_leave_the_past_as_it_was() -> None:
    use = joined_use([TOWN, TRACK], [0, 1000], [Mix({"track": 0.5})], Mix({"track": 0.5}))
    gentler = use.with_ahead(Mix({"town": 0.3}))
    assert np.array_equal(gentler.age, use.age)
    assert not np.array_equal(gentler.ahead, use.ahead)
    assert np.array_equal(gentler.weight, use.weight)
