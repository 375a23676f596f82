"""How numbers are written. The rules are judgement unless a source is named."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.decision.results import Interval
from riskmodel.words import formats


def plain(text: str) -> str:
    return text.replace(formats.NBSP, " ")


@pytest.mark.parametrize(
    ("value", "text"),
    [(8000.0, "8,000"), (124000.4, "124,000"), (37.5, "37.5"), (40.0, "40"), (-1200.0, "−1,200")],
)
def test_numbers_have_thousands_separated_and_no_needless_decimals(value: float, text: str) -> None:
    assert formats.number(value) == text


@given(
    amounts=st.lists(st.floats(-5_000, 20_000), min_size=1, max_size=7),
    step=st.sampled_from([1.0, 10.0, 100.0]),
)
def test_amounts_in_a_table_add_up_and_none_moves_by_more_than_a_step(
    amounts: list[float], step: float
) -> None:
    """The whole is fixed, its parts follow it: none further from its value than one step, which
    is what the whole can be off by when all its parts are shown."""
    told = formats.adding_up(amounts, sum(amounts), step)
    assert sum(told) == round(sum(amounts) / step) * step
    assert all(abs(each - amount) <= step for each, amount in zip(told, amounts, strict=True))


def test_the_part_nearest_to_being_rounded_the_other_way_gives_way() -> None:
    assert formats.adding_up([14.9, 14.0, 11.0], 39.9, 10.0) == [20.0, 10.0, 10.0]
    assert formats.adding_up([5.1, 6.0, 9.0], 20.1, 10.0) == [0.0, 10.0, 10.0]
    # What is too small to be shown is in the whole all the same.
    assert sum(formats.adding_up([104.0], 114.0, 10.0)) == 110.0


def test_minus_zero_is_zero() -> None:
    assert formats.number(-0.01) == "0"


def test_usage_keeps_its_unit_on_the_line() -> None:
    assert formats.usage(8000.0, "km") == f"8,000{formats.NBSP}km"


@pytest.mark.parametrize(
    ("value", "currency", "text"),
    [
        (5412.0, "EUR", "EUR 5,410"),
        (5412.0, "€", "€5,410"),
        (5412.0, "", "5,410"),
        (14249.0, "EUR", "EUR 14,200"),
        (38.0, "EUR", "EUR 38"),
        (0.0, "EUR", "EUR 0"),
        (-312.0, "EUR", "−EUR 312"),
    ],
)
def test_money_has_three_significant_figures_and_its_currency(
    value: float, currency: str, text: str
) -> None:
    assert plain(formats.money(value, currency)) == text


def test_money_ranges_are_rounded_outwards() -> None:
    assert plain(formats.money_range(2549.0, 3851.0, "EUR")) == "EUR 2,500 to 3,900"


@pytest.mark.parametrize(
    ("chance", "text"),
    [
        (0.0, "fewer than 1 of 100"),
        (0.0094, "fewer than 1 of 100"),
        (0.0096, "about 1 of 100"),
        (0.0549, "about 5 of 100"),
        (0.055, "about 6 of 100"),
        (0.995, "more than 99 of 100"),
        (1.0, "more than 99 of 100"),
    ],
)
def test_chances_are_counts_of_100(chance: float, text: str) -> None:
    assert formats.of_100(chance) == text


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (0.042, 0.0799, "between 4 and 8"),
        (0.04, 0.08, "between 4 and 8"),
        (0.001, 0.02, "at most 2"),
        (0.0, 0.004, "at most 1"),
        (0.971, 0.999, "at least 97"),
    ],
)
def test_intervals_of_chances(low: float, high: float, text: str) -> None:
    assert formats.between(Interval((low + high) / 2, low, high)) == text


@given(st.tuples(*[st.floats(0, 1)] * 3))
def test_rounding_never_narrows_an_interval_and_holds_its_estimate(
    ends: tuple[float, float, float],
) -> None:
    low, value, high = sorted(ends)
    interval = Interval(value, low, high)
    down, up = formats.outward(interval)
    assert 0 <= down <= up <= 100
    assert down <= 100 * low + 1e-6
    assert up >= 100 * high - 1e-6
    assert down <= formats.count_of_100(value) <= max(up, 1)


def test_a_chance_of_exactly_nothing_has_no_interval() -> None:
    assert formats.chance_short(Interval(0.0, 0.0, 0.0)) == "0"


@pytest.mark.parametrize(
    ("years", "text"),
    [
        (0.01, "less than a week"),
        (0.02, "about 1 week"),
        (0.1, "about 5 weeks"),
        (1.42, "about 17 months"),
        (2.4, "about 2½ years"),
        (3.1, "about 3 years"),
        (12.4, "about 12 years"),
    ],
)
def test_durations_are_rough(years: float, text: str) -> None:
    assert plain(formats.duration(years)) == text


@pytest.mark.parametrize(
    ("position", "text"),
    [(1, "1st"), (2, "2nd"), (3, "3rd"), (4, "4th"), (11, "11th"), (13, "13th"), (22, "22nd")],
)
def test_ordinals(position: int, text: str) -> None:
    assert formats.ordinal(position) == text


def test_lists_read_as_sentences() -> None:
    assert formats.listed(["a"]) == "a"
    assert formats.listed(["a", "b"]) == "a and b"
    assert formats.listed(["a", "b", "c"], "or") == "a, b or c"


def test_days() -> None:
    assert plain(formats.day("2026-11-01")) == "1 November 2026"


@pytest.mark.parametrize(
    ("chance", "limit", "text"),
    [
        (0.1004, 0.10, "just over 10 of 100"),
        (0.0998, 0.10, "about 10 of 100"),
        (0.0955, 0.096, "just under 9.6 of 100"),
        (0.007, 0.005, "over 0.5 and fewer than 1 of 100"),
        (0.003, 0.005, "fewer than 1 of 100"),
        (0.12, 0.10, "about 12 of 100"),
        (0.04, 0.10, "about 4 of 100"),
        (0.1004, None, "about 10 of 100"),
    ],
)
def test_beside_a_limit_a_chance_never_rounds_onto_its_other_side(
    chance: float, limit: float | None, text: str
) -> None:
    assert formats.of_100(chance, limit) == text


@given(st.floats(0, 1), st.integers(0, 1000).map(lambda tenths: tenths / 1000))
def test_what_is_told_beside_a_limit_is_on_the_side_where_the_chance_is(
    chance: float, limit: float
) -> None:
    text = formats.count(chance, limit)
    if "just over" in text or text.startswith("over"):
        assert chance > limit
    elif "just under" in text:
        assert chance <= limit
    elif text.isdigit():
        assert (int(text) > 100 * limit + 1e-6) == (chance > limit)


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.9984, 2, "1.0"),
        (1.0, 2, "1.0"),
        (9.996, 3, "10.0"),
        (0.0999, 2, "0.10"),
        (999.6, 3, "1,000"),
        (27_749.0, 3, "27,700"),
        (-0.9984, 2, "−1.0"),
        (0.0444, 2, "0.044"),
    ],
)
def test_what_rounds_up_to_a_figure_more_has_no_digit_more(
    value: float, digits: int, text: str
) -> None:
    assert formats.significant(value, digits) == text
