"""What is said of sampling again soon."""

from __future__ import annotations

from dataclasses import replace

import pytest

from riskmodel.decision.results import Interval, Weighing
from riskmodel.decision.weigh import weigh
from riskmodel.report.as_json import weighing_json
from riskmodel.words import captions, cost_sentence, headline, next_steps, reasons, verdict, what_if
from riskmodel.words.retest import retest_sentences
from tests.decision.sampled_case import sampled_case


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ")


@pytest.fixture(scope="module")
def weighed() -> Weighing:
    return weigh(sampled_case("road_car_hint"), retest=True)


def cheaper(w: Weighing) -> Weighing:
    assert w.retest is not None
    cost = Interval(2_000.0, 1_500.0, 2_500.0)
    return replace(w, retest=replace(w.retest, saves=Interval(250.0, -90.0, 600.0), cost=cost))


def test_both_results_are_told_with_their_chances_and_what_then_costs_least(
    weighed: Weighing,
) -> None:
    told = [plain(text) for text in retest_sentences(weighed)]
    assert told[0].startswith("Sample again in 500 km, then decide: about ")
    assert "would show a surge" in told[1]
    assert "ppm" in told[1]
    assert "would show no surge" in told[2]
    assert "does not rule it out" in told[-1]
    assert all("between" in text or "at most" in text for text in told[1:4])


def test_a_job_at_short_notice_is_called_one(weighed: Weighing) -> None:
    assert weighed.retest is not None
    for hurried in (False, True):
        surge = replace(weighed.retest.if_surge, at=1_000.0, at_once=True, hurried=hurried)
        w = replace(weighed, retest=replace(weighed.retest, if_surge=surge))
        assert "to replace it at once" in retest_sentences(w)[1]
        assert ("at once, at short notice" in retest_sentences(w)[1]) == hurried
        assert weighing_json(w)["retest"]["if_surge"]["at_short_notice"] == hurried


def test_where_it_costs_least_it_is_the_verdict(weighed: Weighing) -> None:
    w = cheaper(weighed)
    assert plain(headline(w)) == "Cheapest: sample again in 500 km, then decide"
    assert "sample again in 500 km, then decide: about 2,000" in plain(verdict(w))
    assert plain(cost_sentence(w)).startswith("About 2,000")
    assert any("second sample in 500 km" in plain(step) for step in next_steps(w))
    assert "without a second sample" in reasons(w)[0]
    assert captions.plans(w).startswith("Lowest average cost without a second sample: “")
    assert "Each verdict is the one without a second sample." in what_if.summary(w, [])
    assert plain(weighing_json(w)["recommended"]) == "Sample again in 500 km, then decide"


def test_where_it_costs_more_the_plan_stands(weighed: Weighing) -> None:
    assert weighed.retest is not None
    assert weighed.retest.saves.value < 0
    assert "sample again" not in headline(weighed).lower()
    told = weighing_json(weighed)["retest"]
    assert told["saves"]["amount"] == weighed.retest.saves.value
    assert set(told["if_surge"]) == set(told["if_clear"])


def test_a_ceiling_that_it_breaks_keeps_it_from_the_verdict(weighed: Weighing) -> None:
    w = cheaper(weighed)
    assert w.best is not None
    strict = replace(w.case, plan=replace(w.case.plan, most_risk=w.best.failure.value))
    assert not replace(w, case=strict).retest_first


def test_nothing_is_said_where_none_was_weighed(weighed: Weighing) -> None:
    assert retest_sentences(replace(weighed, retest=None)) == []
    assert weighing_json(replace(weighed, retest=None))["retest"] is None
