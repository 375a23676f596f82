"""What is said of a weighing: the right plan, the right numbers, the right cautions."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from riskmodel import words
from riskmodel.charts import tables
from riskmodel.decision.occasions import Occasion
from riskmodel.decision.results import Interval, OtherCauses
from riskmodel.records.case import Case, Consequence
from riskmodel.records.inputs import BY_KEY, INPUTS, TYPED
from riskmodel.records.quantity import exactly
from riskmodel.words import (
    captions,
    data_tables,
    fields,
    formats,
    inputs_told,
    report_plans,
    report_sure,
)
from tests.words.weighings import plain_case, weighing, with_values


def plain(text: str) -> str:
    return text.replace(formats.NBSP, " ")


def with_symptom(case: Case) -> Case:
    return with_values(case, "machine", symptoms=("knock", "low oil pressure"))


def with_limit(case: Case, limit: float) -> Case:
    return with_values(case, "plan", most_risk=limit)


# --- plans -----------------------------------------------------------------------------------


def test_plan_names_say_when_by_the_meter_and_by_the_calendar() -> None:
    w = weighing()
    names = [plain(words.plan_name(w, i)) for i in range(len(w.plans))]
    assert names[0] == "Replace now"
    assert names[1] == "Replace at the next oil change (in 5,200 km, about 5 months)"
    assert names[3] == "Replace at the 3rd oil change (in 21,200 km, about 22 months)"
    assert names[-1] == "Never replace while you keep it"


def test_short_names_tell_the_plans_apart() -> None:
    w = weighing()
    short = [words.plan_short(w, i) for i in range(len(w.plans))]
    assert short[:2] == ["Now", "Next oil change"]
    assert short[2:] == ["2nd oil change", "3rd oil change", "4th oil change", "Never"]


def test_the_verdict_names_the_cheapest_plan_and_its_cost() -> None:
    text = plain(words.verdict(weighing()))
    assert "to replace at the next oil change" in text
    assert "EUR 5,180" in text
    assert "the 3 years you keep it" in text


@pytest.mark.parametrize(
    ("costs", "phrase"),
    [
        ((4000.0, 5000.0, 6000.0), "to replace now"),
        ((5000.0, 4000.0, 6000.0), "to replace at the next oil change"),
        ((5000.0, 6000.0, 4000.0), "never to replace it"),
    ],
)
def test_every_kind_of_plan_has_a_verdict(costs: tuple[float, ...], phrase: str) -> None:
    w = weighing(costs=costs, failures=(0.04, 0.1, 0.3))
    assert phrase in words.verdict(w)
    assert words.headline(w).startswith("Cheapest: ")
    assert all(words.reasons(w))
    assert all(words.next_steps(w))


def test_a_limit_that_the_cheapest_plan_keeps_changes_nothing() -> None:
    w = weighing(with_limit(plain_case(), 0.2))
    assert w.recommended == 1
    assert words.ceiling_sentences(w)[0].startswith("It keeps to your limit of 20 failures of 100:")


def test_a_limit_within_the_interval_is_kept_by_the_middle_figure_only() -> None:
    w = weighing(with_limit(plain_case(), 0.105))
    assert w.recommended == 1
    assert w.plans[1].failure.value < 0.105 < w.plans[1].failure.high
    said = words.ceiling_sentences(w)[0]
    assert said.startswith("By its middle figure it keeps to your limit of 10.5 failures of 100")


def test_a_limit_that_no_plan_keeps_by_a_hair_is_not_said_to_be_kept() -> None:
    """Page, report and tables: where a limit of 10 is missed by 0.2, no line of it says 10."""
    w = weighing(with_limit(plain_case(), 0.1), failures=(0.102, 0.2, 0.22, 0.25, 0.28, 0.3))
    said = plain(words.ceiling_sentences(w)[0])
    assert "No plan keeps to that" in said
    assert "just over 10 of 100 (between" in said
    assert "just over 10 of 100 (between" in plain(report_sure.limit(w))
    assert plain(tables.plans(w)["Failures of 100"][0]).startswith("over 10 (")
    cells = report_plans.cells(report_plans.choice(w, 0), w.case.plan.most_risk)
    assert plain(cells[3]).startswith("over 10 (")


def test_a_limit_moves_the_verdict_to_the_cheapest_plan_that_keeps_it_and_says_the_price() -> None:
    w = weighing(with_limit(plain_case(), 0.05))
    assert w.recommended == 0
    assert words.headline(w) == "Cheapest within your limit: replace now"
    said = plain(words.ceiling_sentences(w)[0])
    assert "EUR 230 more than the cheapest plan of all" in said
    assert "4 would see a failure" in said
    assert "instead of 9" in said
    assert any(text.startswith("Your limit of 5") for text in words.what_would_change(w))


def test_a_limit_that_no_plan_keeps_is_said_to_be_out_of_reach() -> None:
    w = weighing(with_limit(plain_case(), 0.01))
    assert w.recommended == 1
    assert "No plan keeps to that" in words.ceiling_sentences(w)[0]


def test_a_limit_that_only_a_plan_keeps_that_cannot_be_had_is_out_of_reach() -> None:
    """The workshop is booked for longer: replacing now would keep to it, and is not to be had."""
    w = weighing(with_values(with_limit(plain_case(), 0.05), "plan", booking_weeks=5.0))
    assert w.plans[0].failure.value < 0.05 < w.plans[1].failure.value
    assert list(w.open_plans) == [1, 2, 3, 4, 5]
    said = plain(words.ceiling_sentences(w)[0])
    assert "No plan keeps to that" in said
    assert "The lowest chance comes with “Replace at the next oil change" in said
    assert "more" not in said  # it is the cheapest as well


def test_a_saving_is_the_difference_of_the_costs_that_the_reader_sees() -> None:
    w = weighing(costs=(5414.0, 5355.0, 6000.0), failures=(0.04, 0.1, 0.3))
    assert "EUR 50 less than replacing now" in plain(words.reasons(w)[0])  # 5,410 and 5,360


def test_a_narrow_win_is_called_nearly_a_tie() -> None:
    near = weighing(costs=(5200.0, 5180.0, 6500.0), failures=(0.04, 0.1, 0.3))
    clear = weighing(costs=(6200.0, 5180.0, 6500.0), failures=(0.04, 0.1, 0.3))
    assert "nearly a tie" in " ".join(words.reasons(near))
    assert "nearly a tie" not in " ".join(words.reasons(clear))


def test_neighbouring_services_that_hardly_differ_are_named_together() -> None:
    w = weighing(
        costs=(7000.0, 5300.0, 5200.0, 5250.0, 6500.0), failures=(0.04, 0.1, 0.15, 0.2, 0.3)
    )
    assert "from the 1st to the 3rd are nearly a tie" in " ".join(words.reasons(w))


def test_what_would_change_it_names_both_thresholds() -> None:
    w = weighing()
    assert w.trade_off is not None
    assert w.trade_off.break_even_chance is not None
    said = plain(" ".join(words.what_would_change(w)))
    assert formats.of_100(w.trade_off.break_even_chance) in said
    assert "EUR 17,600" in said  # 17,650 to three figures, half to even


def test_without_a_crossing_it_says_that_nothing_tips_the_choice() -> None:
    said = " ".join(words.what_would_change(weighing(crosses=False)))
    assert "would tip the choice" in said
    assert "do not cross" in captions.trade_off(weighing(crosses=False))


def test_a_chance_that_counts_other_causes_says_so_where_it_reads_otherwise() -> None:
    w = weighing()
    assert w.trade_off is not None
    told = next(each.chance for each in w.risk if each.what == "next_oil_change")
    others = OtherCauses(3, Interval(1e-7, 5e-8, 2e-7), Interval(0.01, 0.005, 0.02))
    alike = replace(w, other_causes=others, trade_off=replace(w.trade_off, chance=told))
    more = Interval(told.value + 0.01, told.low + 0.01, told.high + 0.01)
    higher = replace(alike, trade_off=replace(w.trade_off, chance=more))
    said = "failures of other causes counted"
    assert said not in captions.trade_off(alike)
    assert f"{formats.chance(more)}, {said}; the band" in captions.trade_off(higher)
    assert f"{formats.chance(more)}, {said}. Waiting" in " ".join(words.what_would_change(higher))
    assert said not in captions.trade_off(replace(higher, other_causes=None))


# --- chances ---------------------------------------------------------------------------------


def test_the_chance_sentence_reads_as_agreed() -> None:
    w = weighing(chance=0.06)
    assert plain(words.chance_headline(w)) == (
        "Of 100 engines like this one driven on to the next oil change (5,200 km from now), "
        "about 6 would fail; between 4 and 9."
    )


def test_engines_counted_in_hours_are_run_not_driven() -> None:
    assert "run on to the next oil change" in words.chance_headline(weighing(plain_case("h")))


def test_the_reference_class_names_the_part_the_age_and_the_records() -> None:
    text = plain(words.reference_class(weighing(records=(214, 61))))
    assert "big-end bearings" in text
    assert "124,000 km" in text
    assert "214 records with 61 failures" in text


def test_invented_records_are_called_invented() -> None:
    case = with_values(plain_case(), "machine", invented=True)
    assert "214 invented records" in words.reference_class(weighing(case))


def test_without_records_the_belief_is_named_as_what_the_chance_rests_on() -> None:
    w = weighing(records=(0, 0))
    assert "beliefs alone" in words.reference_class(w)
    said = plain(words.main_assumption(w))
    assert "half of such parts fail between 120,000 km and 300,000 km" in said


def test_records_without_a_failure_lean_on_the_belief() -> None:
    assert "no failure" in words.main_assumption(weighing(records=(40, 0))).lower()


def test_a_reporting_ratio_is_part_of_the_assumption() -> None:
    case = with_values(plain_case(), "life", reporting_ratio=3.0)
    assert "3 times as readily" in words.main_assumption(weighing(case))


def test_a_part_that_is_itself_a_later_one_is_said_to_be() -> None:
    first = plain_case()
    later = with_values(first, "part", fitted_at=20_000.0)
    said = plain(words.main_assumption(weighing(later)))
    assert "This is a later part, fitted at 20,000 km: it is taken to last 0.6 to 1.1 times" in said
    for case in (first, later):
        assert "0.6 to 1.1 times as long as the first" in words.plans_assumption(weighing(case))
    assert "later part" not in words.main_assumption(weighing(first))
    alike = with_values(later, "plan", new_part_life=exactly(1.0))
    assert "later part" not in words.main_assumption(weighing(alike))


def every_sentence(case: Case) -> list[str]:
    """All that is said of a case anywhere."""
    w = weighing(case)
    return [
        words.headline(w),
        words.verdict(w),
        words.cost_sentence(w),
        *words.ceiling_sentences(w),
        *words.chance_sentences(w),
        words.plans_assumption(w),
        *words.reasons(w),
        *words.what_would_change(w),
        *words.next_steps(w),
        *words.questions(case),
        *words.notes(w),
        *words.cautions(case),
        words.stop_heading(case),
        *words.stop_text(case),
        words.example_banner(case) or "",
        captions.trade_off(w),
        captions.plans(w),
        captions.ahead(w),
    ]


def test_the_hint_of_a_figure_not_stated_says_what_holds_and_never_the_same_twice() -> None:
    case = plain_case()
    for entry in INPUTS:
        text = fields.hint(entry, case)
        assert "assumed: none assumed" not in text, entry.key
        assert TYPED not in text, entry.key
        assert "assumed: judgement" not in text, entry.key
    assert "Not stated in this case; none assumed." in fields.hint(BY_KEY["cost.found_worn"], case)
    assert "stated in this case" not in fields.hint(BY_KEY["cost.failure"], case)


def test_a_fault_of_a_figure_names_others_by_their_labels() -> None:
    said = inputs_told.with_labels("a day not before machine.date, 2031-01-01")
    assert said == "a day not before “Date of the reading”, 2031-01-01"
    assert inputs_told.with_labels("at least 2,740 h") == "at least 2,740 h"


def test_one_year_is_no_row_of_years() -> None:
    year = with_values(plain_case(), "plan", keep_years=1.0)
    assert words.cost_sentence(weighing(year)).count("over the year you keep it") == 1
    assert "the 3 years you keep it" in plain(words.cost_sentence(weighing()))


def test_the_plans_said_to_be_least_can_be_had() -> None:
    """The workshop is booked, so “Now” stands beside the others only to compare with."""
    booked = with_values(plain_case(), "plan", booking_weeks=4.0)
    w = weighing(booked, costs=(4000.0, 5180.0, 5250.0, 5900.0), failures=(0.01, 0.02, 0.1, 0.3))
    said = captions.plans(w)
    assert "“Now”" not in said
    assert "Lowest chance of a failure of those that can be had: the same plan." in said


def test_every_estimated_chance_in_a_sentence_carries_its_interval() -> None:
    """A chance reads "about n of 100"; its interval follows, but for thresholds and for the
    count of ways that unknowns could turn out, which are no estimates of a chance."""
    for text in every_sentence(plain_case()):
        for match in re.finditer(r"about \d+ of 100(?P<after>.{0,12})", text):
            threshold = re.search(r"(cross at|below|from|In) $", text[: match.start()])
            assert threshold or match["after"].startswith(" ("), text


def test_failures_of_other_causes_are_told_apart() -> None:
    other = OtherCauses(3.0, Interval(1e-7, 3e-8, 2e-7), Interval(0.03, 0.01, 0.06))
    said = " ".join(words.chance_sentences(replace(weighing(), other_causes=other)))
    assert "other causes come on top: about 3 of 100 (between 1 and 6)" in said
    assert "other causes" not in " ".join(words.chance_sentences(weighing()))


# --- cautions and stop -----------------------------------------------------------------------


def test_symptoms_replace_every_verdict() -> None:
    case = with_symptom(plain_case())
    w = weighing(case)
    assert words.verdict(w).startswith("Stop")
    assert words.headline(w).startswith("Stop")
    for said in (
        words.reasons(w),
        words.what_would_change(w),
        words.next_steps(w),
        words.ceiling_sentences(w),
        words.notes(w),
    ):
        assert said == []
    text = " ".join(words.stop_text(case))
    assert "a knock and low oil pressure" in text
    assert "towed" in text
    assert "Do not start it" in text
    assert "qualified mechanic" in text
    assert not re.search(r"\d", text), "no figure stands beside a symptom"


def test_without_symptoms_there_is_no_stop_text() -> None:
    assert words.stop_text(plain_case()) == []


@pytest.mark.parametrize("unit", ["km", "mi", "h"])
def test_the_cautions_say_all_that_they_must(unit: str) -> None:
    said = " ".join(words.cautions(plain_case(unit)))
    for phrase in (
        "inspects nothing",
        "Stop at once",
        "oil pressure drops",
        "knocks",
        "maker's procedures",
        "rules where you are",
        "qualified mechanic",
        "no all-clear",
        "is a danger in itself",
    ):
        assert phrase in said
    assert ("at sea" in said) == (unit == "h")


def test_only_invented_cases_carry_the_example_banner() -> None:
    assert words.example_banner(plain_case()) is None
    banner = words.example_banner(with_values(plain_case(), "machine", invented=True))
    assert banner is not None
    assert banner.startswith("EXAMPLE")


# --- notes -----------------------------------------------------------------------------------


def test_plans_are_said_to_commit_in_advance() -> None:
    assert "waiting is priced slightly too dear" in " ".join(words.notes(weighing()))


def test_a_long_horizon_is_pointed_out() -> None:
    far = with_values(plain_case(), "plan", keep_years=12.0)
    assert "12 years" in plain(" ".join(words.notes(weighing(far))))
    assert "guesses" not in " ".join(words.notes(weighing()))


def test_the_notes_of_the_weighing_itself_are_passed_on() -> None:
    w = replace(weighing(), notes=("One more thing.",))
    assert words.notes(w)[-1] == "One more thing."


def test_going_beyond_the_oldest_record_is_pointed_out() -> None:
    records = b"age,outcome\n90000,failed\n130000,running\n"
    case = plain_case(extra={"records.csv": records}, more='records = "records.csv"\n')
    said = plain(" ".join(words.notes(weighing(case))))
    assert "reached 130,000 km" in said
    assert "158,500 km" in said  # 124,000 + 3 years of 11,500


# --- next steps ------------------------------------------------------------------------------


def test_a_booking_time_is_told_in_usage() -> None:
    case = with_values(plain_case(), "plan", booking_weeks=5.0)
    now = weighing(case, costs=(4000.0, 5000.0, 6000.0), failures=(0.04, 0.1, 0.3))
    slot = replace(now.plans[0], at=1102.0, service=None, occasion=Occasion("booking", 1102.0))
    now = replace(now, plans=(now.plans[0], slot, *now.plans[1:]), recommended=1)
    assert "as soon as the workshop can take it" in plain(words.headline(now))
    assert "booked 5 weeks ahead" in plain(" ".join(words.next_steps(now)))
    assert "1,100 km more" in plain(" ".join(words.next_steps(now)))  # 11,500 x 5 / 52.18


def test_the_meter_reading_of_the_planned_job_is_told() -> None:
    said = plain(" ".join(words.next_steps(weighing())))
    assert "129,200 km on the meter" in said  # 124,000 + 5,200


def test_consequences_and_prices_are_shown_as_entered() -> None:
    case = with_values(plain_case(), "cost", consequence=(Consequence("tow home", exactly(300.0)),))
    frame = data_tables.lists(case)["Consequences of a failure"]
    assert plain(str(frame.iloc[0, 1])) == "EUR 300"
