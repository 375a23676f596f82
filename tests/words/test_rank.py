"""The ranking of many machines in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from riskmodel.decision import rank as ranked
from riskmodel.decision.rank import GivenCase, Ranking, Standing, Unread, rank
from riskmodel.decision.results import Weighing
from riskmodel.decision.weigh import weigh
from riskmodel.records.log.fold import LEAST_TO_CHANGE
from riskmodel.words import rank as words
from riskmodel.words.plan_names import advice, lower_first
from tests.decision.sampled_case import sampled_case
from tests.risk.cases import case_with
from tests.words.test_retest import cheaper


def test_an_oil_change_that_is_due_is_called_so_and_no_usage_to_it_is_made_up() -> None:
    """A log holds one that is overdue as due in the least usage that a case can state."""
    case = case_with(
        None,
        machine={"name": "Car", "date": "2026-11-01"},
        life={"shape_prior": 3, "b50_prior": 180_000},
        oil={"next_change_in": LEAST_TO_CHANGE},
    )
    [found] = rank([GivenCase("car", case)], today=date(2026, 11, 1), workers=1).standings
    assert "before the next oil change, which is due" in words.why(found)
    later = replace(found, until=4_000.0)
    assert "before the next oil change in 4,000\u00a0km" in words.why(later)


def test_the_usage_to_a_job_is_no_more_exact_than_it_is_elsewhere() -> None:
    case = case_with(
        None,
        machine={"name": "Car", "date": "2026-11-01"},
        life={"shape_prior": 3, "b50_prior": 180_000},
    )
    [found] = rank([GivenCase("car", case)], today=date(2026, 11, 1), workers=1).standings
    assert words.plan(replace(found, best_at=1101.98, due=None)) == "in 1,100\u00a0km"


def standing(**more: Any) -> Standing:
    """A machine weighed, replaced best in 8,000 km, in March 2027."""
    told = {"until": 4_000.0, "waiting": -70.0, "best_at": 8_000.0, "due": "2027-03-02", **more}
    return Standing("a", "Car", "", "km", "EUR", False, 90_000.0, (), 0, **told)


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({}, "replace in 8,000 km, March 2027"),
        ({"best_at": 0.0}, "replace now"),
        ({"best_at": None, "due": None}, "never replace while you keep it"),
        ({"best_at": None, "sampled": True}, "replace only if a sample alarms"),
        ({"instead": "sale", "due": None}, "sell it today, the buyer told"),
        ({"instead": "inspection"}, "look at the part first, then decide"),
        ({"instead": "retest", "instead_at": 500.0}, "sample again in 500 km, then decide"),
        ({"waiting": None}, ""),
    ],
)
def test_the_advice_in_the_words_of_the_verdict(more: dict[str, Any], told: str) -> None:
    assert words.advice(standing(**more)).replace("\u00a0", " ") == told


def test_with_symptoms_the_advice_is_to_stop() -> None:
    assert words.advice(replace(standing(), symptoms=("knock",), waiting=None)) == "stop"


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"instead": "sale", "instead_saves": 300.0},
         "Sell it today, the buyer told: that costs EUR 300 less than “Replace in 8,000 km”, the "
         "best plan that keeps it."),
        ({"instead": "sale", "instead_saves": -300.0},
         "that costs EUR 300 more than “Replace in 8,000 km”, the best plan that keeps it and "
         "alone keeps to the limit on failures."),
        ({"instead": "inspection", "instead_saves": 40.0, "best_at": 0.0},
         "that costs EUR 40 less than “Replace now”, the best plan without it."),
        ({"unweighed": ("retest",)},
         "A second sample first may be worth it: weigh this one in full."),
        ({"most_risk": 0.1, "failure": 0.2, "limit_costs": 0.0},
         "No plan keeps to the limit of 10 failures of 100: “Replace in 8,000 km, March 2027” is "
         "the cheapest of all."),
        ({"most_risk": 0.1, "failure": 0.08, "limit_costs": 45.0},
         "“Replace in 8,000 km, March 2027” keeps to the limit of 10 failures of 100, for EUR 45 "
         "more than the cheapest plan of all."),
        ({"most_risk": 0.1, "failure": 0.08, "limit_costs": 0.0},
         "less than replacing now."),
        ({"unweighed": ("inspection", "retest")},
         "A look or a second sample first may be worth it: weigh this one in full."),
    ],
)  # fmt: skip
def test_why_tells_what_stands_in_place_of_a_plan_or_may(more: dict[str, Any], told: str) -> None:
    assert words.why(standing(**more)).replace("\u00a0", " ").endswith(told)


def test_the_summary_counts_sales_and_steps_first() -> None:
    found = [
        standing(instead="sale"),
        standing(instead="inspection"),
        standing(instead="retest", waiting=5.0),
        standing(unweighed=("inspection",)),
    ]
    told = words.summary(Ranking(tuple(found)), found)
    assert "For 1 of 4 replacing now is cheaper than waiting." in told
    assert "For 1 of 4 it costs least to sell it today, the buyer told." in told
    assert "For 2 of 4 it costs least to find out more first." in told
    assert not any("costs least" in text for text in words.summary(Ranking(()), found[3:]))


def test_the_summary_tells_of_machines_without_a_place_and_counts_none_of_one_alone() -> None:
    unread = (Unread("b", ("no records",)), Unread("c", ("no records",)))
    assert words.summary(Ranking((standing(),), unread), [standing()]) == [
        words.ALONE,
        "2 machines could not be weighed: why is told below.",
    ]
    assert words.summary(Ranking((), unread[:1]), []) == [
        words.NO_MACHINE,
        "1 machine could not be weighed: why is told below.",
    ]


def test_machines_of_one_name_are_told_apart() -> None:
    found = [standing(), replace(standing(), name="b"), replace(standing(), machine="Van")]
    assert [words.called(each, found) for each in found] == ["Car (a)", "Car (b)", "Van"]
    booked = [replace(each, book_by="2026-11-30") for each in found]
    assert [told.split(":")[0] for told in words.booking(booked, "2026-11")] == [
        "Car (a)",
        "Car (b)",
        "Van",
    ]


def test_the_owners_limit_is_told_as_the_plans_have_it() -> None:
    """Without a limit the plan costs least; with one between the two chances it costs more, and
    with one that none keeps to it costs least again."""
    case = case_with(
        None,
        machine={"name": "Car", "date": "2026-11-01"},
        life={"shape_prior": 3, "b50_prior": 180_000},
        cost={"failure": 3_000},
    )
    limited = [
        replace(case, plan=replace(case.plan, most_risk=most)) for most in (None, 0.1, 0.001)
    ]
    sources = [GivenCase(f"m{i}", each) for i, each in enumerate(limited)]
    found = {s.name: s for s in rank(sources, workers=1).standings}
    free, kept, above = (found[source.name] for source in sources)
    assert free.failure is not None
    assert kept.failure is not None
    assert free.limit_costs == above.limit_costs == 0
    assert free.failure > 0.1 > kept.failure
    assert kept.limit_costs is not None
    assert kept.limit_costs > 0
    assert "keeps to the limit of 10 failures" in words.why(kept)
    assert "No plan keeps to the limit of 0.1 failures" in words.why(above)


@pytest.fixture(scope="module")
def hinted() -> Weighing:
    return cheaper(weigh(sampled_case("road_car_hint"), retest=True))


def test_a_second_sample_that_saves_is_the_advice_as_for_the_machine_alone(
    hinted: Weighing, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`hinted` has it save 250, so that it is the verdict."""
    monkeypatch.setattr(ranked, "weigh", lambda case: hinted)
    source = GivenCase("car", hinted.case)
    [found] = rank([source], today=date(2026, 11, 1), workers=1, full=1).standings
    told = advice(hinted)
    assert told is not None
    assert words.advice(found) == lower_first(told.name)
    assert (found.instead, found.instead_at, told.at) == ("retest", hinted.case.oil.retest_in, None)
    assert hinted.best is not None
    assert found.instead_saves == pytest.approx(hinted.best.cost.value - 2_000)
