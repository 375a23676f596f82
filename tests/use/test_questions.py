"""From answers to shares."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.records.inputs import UNITS, Unit
from riskmodel.use.kinds import COLD, FULL_LOAD, HEAVY, LUGGING, OLD_OIL, UNWARMED, standard_kinds
from riskmodel.use.mix import UNKNOWN
from riskmodel.use.questions import Implied, implied_shares, questions


def share(found: Implied, key: str) -> float | None:
    return next(each.share for each in found.shares if each.kind == key)


def test_cold_starts_by_hand() -> None:
    # 200 km a week; 5 short trips of 4.8 km (0.6 of 8 km) are 24 km, 12 % of it
    told = implied_shares({"starts": 9, "short": 5, "unwarmed": 2.5}, "km", 200 * 52)
    assert share(told, COLD) == pytest.approx(0.12)
    # 4 longer trips, a quarter of them driven hard in their first 8 km: 8 km, 4 %
    assert share(told, UNWARMED) == pytest.approx(0.04)
    assert told.scale == 1


def test_the_rest_by_hand() -> None:
    told = implied_shares(
        {
            "hard_days": 4,
            "hard_usage": 250,
            "book_interval": 10_000,
            "own_interval": 15_000,
            "lugging": 1,
        },
        "km",
        10_000,
    )
    assert share(told, FULL_LOAD) == pytest.approx(0.1)
    assert share(told, OLD_OIL) == pytest.approx(1 / 3)
    assert share(told, LUGGING) == pytest.approx(0.1)
    sooner = implied_shares({"book_interval": 10_000, "own_interval": 7_000}, "km", 10_000)
    assert share(sooner, OLD_OIL) == 0


@pytest.mark.parametrize("unit", UNITS)
def test_who_answers_nothing_has_told_nothing(unit: Unit) -> None:
    asked = questions(unit)
    for answers in ({}, dict.fromkeys(question.key for question in asked)):
        assert implied_shares(answers, unit, 1_000).mix == UNKNOWN


@pytest.mark.parametrize("unit", UNITS)
def test_every_kind_is_asked_for_and_every_question_serves_one(unit: Unit) -> None:
    keys = {question.key for question in questions(unit)}
    told = implied_shares({}, unit, 1_000)
    assert [each.kind for each in told.shares] == [kind.key for kind in standard_kinds(unit)]
    assert keys == {key for each in told.shares for key in each.asked}
    assert (HEAVY in [each.kind for each in told.shares]) == (unit == "h")
    assert all("?" in question.text for question in questions(unit))


def test_an_answer_in_part_leaves_the_rest_untold() -> None:
    told = implied_shares({"starts": 9, "short": 5}, "km", 200 * 52)
    assert share(told, UNWARMED) is None  # how it is then driven is not known
    assert told.mix.unknown
    assert set(told.mix.shares) == {"cold starts and short trips"}


@given(
    st.fixed_dictionaries(
        {q.key: st.none() | st.floats(q.low, min(q.high, 20)) for q in questions("h")}
    ),
    st.floats(20, 2000),
)
def test_shares_never_add_up_to_more_than_the_whole(
    answers: dict[str, float | None], usage: float
) -> None:
    starts, short = answers["starts"], answers["short"]
    if starts is not None and short is not None:
        answers["short"] = min(starts, short)
    told = implied_shares(answers, "h", usage)
    mix = told.mix
    assert sum(mix.shares.values()) <= 1 + 1e-9
    assert all(0 <= value <= 1 for value in mix.shares.values())
    if told.scale < 1:  # they were brought down to the whole, not below
        assert sum(mix.shares.values()) == pytest.approx(1)


@pytest.mark.parametrize(
    ("answers", "fault"),
    [
        ({"starts": 3, "short": 4}, "4 short trips, but 3 starts"),
        ({"lugging": 11}, "lugging is 11, not 0 to 10"),
        ({"lugging": float("nan")}, "lugging is nan"),
        ({"lug": 1}, "no question lug"),
    ],
)
def test_answers_that_cannot_be_are_refused(answers: dict[str, float], fault: str) -> None:
    with pytest.raises(ValueError, match=fault):
        implied_shares(answers, "km", 10_000)
