"""Other assumptions in words."""

from __future__ import annotations

import re

import pytest

from riskmodel.decision.results import Interval
from riskmodel.decision.sensitivity import WhatIf
from riskmodel.words import what_if
from tests.words.life_cases import sensitivity_of
from tests.words.test_wording import NEVER
from tests.words.weighings import weighing

CHANCE = Interval(0.06, 0.04, 0.08)
AS_IT_IS = WhatIf("as_it_stands", "", CHANCE, 5412.0, 5180.0, 5200.0)


def test_a_verdict_that_holds_throughout_is_said_to() -> None:
    other = WhatIf("reporting_ratio", 3.0, CHANCE, 5412.0, 5180.0, 5200.0)
    said = what_if.summary(weighing(), [AS_IT_IS, other])
    assert said == "None of 1 other assumption tried changes the verdict."


def test_what_changes_the_verdict_is_named_with_the_plan_it_leads_to() -> None:
    other = WhatIf("reporting_ratio", 3.0, CHANCE, 5412.0, 5180.0, None, same_verdict=False)
    said = what_if.summary(weighing(), [AS_IT_IS, other])
    assert "3 times as readily as survivors, “Never”" in said


def test_an_assumption_without_an_answer_says_why_and_counts_as_no_change() -> None:
    other = WhatIf("belief", "no_b50", same_verdict=False, why_not="nothing settles the life")
    w = weighing()
    assert "None of" in what_if.summary(w, [AS_IT_IS, other])
    assert what_if.table(w, [AS_IT_IS, other])["Verdict"].iloc[1] == (
        "no answer: nothing settles the life"
    )


@pytest.mark.parametrize("name", ["road car", "working boat"])
def test_every_assumption_that_an_example_calls_for_has_words(name: str) -> None:
    for other in sensitivity_of(name):
        if other.group != what_if.AS_IT_STANDS:
            text = what_if.what_if(other)
            assert not NEVER.search(text)
            assert not re.search(r"[a-z]_[a-z]", text)
