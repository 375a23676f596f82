"""What is said of oil samples: with its interval, its assumption, and never as an all-clear."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from scipy.stats import norm

from riskmodel.decision.results import Interval, OilTold, Weighing
from riskmodel.oil.limits import own_limits
from riskmodel.oil.mass_balance import wear_rates
from riskmodel.oil.seen import Foresight, Share
from riskmodel.records.case import Case
from riskmodel.records.inputs import BY_KEY
from riskmodel.words import oil as words
from riskmodel.words import report_chance
from riskmodel.words.oil_times import times_as_likely
from tests.oil.made import case_with_oil, element
from tests.words.test_wording import NEVER
from tests.words.test_words import with_symptom
from tests.words.weighings import weighing, with_values

ROWS = ["60000,10000,4,5", "70000,10000,5,6", "80000,10000,4,7", "90000,10000,5,5"]


def made(**more: object) -> Case:
    return case_with_oil(ROWS, **more)  # type: ignore[arg-type]


def with_oil(
    case: Case, factor: float = 1.32, told: tuple[float, ...] = (0.062, 0.034, 0.097)
) -> Weighing:
    """A weighing by hand in which the samples matter so much."""
    w = weighing(case)
    without = Interval(0.047, 0.027, 0.072)
    risk = tuple(
        replace(c, chance=Interval(*told), without_oil=without, oil_factor=factor) for c in w.risk
    )
    return replace(w, risk=risk, oil=OilTold(len(ROWS), len(ROWS), 0.268, 0.451))


def plain(texts: list[str]) -> str:
    return " ".join(texts).replace("\u00a0", " ")


def of_limits(case: Case) -> list[str]:
    rows = wear_rates(case)
    return words.limit_sentences(case, rows, own_limits(rows, case.oil.false_alarm))


def of_report(case: Case) -> str:
    return plain(report_chance.sentences(with_oil(case)))


FORESIGHT = Foresight(
    10_000,
    Share(0.2276, 0.0661, 0.4529),
    Share(0.3574, 0.1431, 0.5994),
    Share(0.5983, 0.2952, 0.8863),
)


def every_sentence(case: Case) -> list[str]:
    rows = wear_rates(case)
    w = with_oil(case)
    alarmed = replace(w, plans=tuple(replace(p, alarm=Interval(0.03, 0.01, 0.08)) for p in w.plans))
    return [
        *words.factor_sentences(w),
        *words.rate_sentences(case, rows),
        *of_limits(case),
        *words.foresight_sentences(case, FORESIGHT),
        words.SAMPLING_LEAD,
        *words.sampling_well(),
        *(words.plan_alarm_sentence(alarmed, i) for i in range(len(w.plans))),
    ]


BREAK_IN = case_with_oil(
    ["2000,2000,40,50,9", *(f"{row},{i}" for i, row in enumerate(ROWS, start=7))],
    "reading,oil_age,Pb,Cu,Fe",
    break_in=5000,
)


# --- the factor ------------------------------------------------------------------------------


def test_the_factor_stands_with_both_chances_and_their_intervals() -> None:
    said = words.factor_sentences(with_oil(made()))[0]
    assert said == (
        "These samples make failure before the next oil change about 1.3 times as likely as "
        "without: with them about 6 of 100 (between 3 and 10), without about 5 of 100 (between 2 "
        "and 8)."
    )


@pytest.mark.parametrize(
    ("factor", "said"),
    [
        (0.034, "about 0.03 times as likely"),
        (0.72, "about 0.7 times as likely"),
        (0.96, "about as likely"),
        (1.04, "about as likely"),
        (1.32, "about 1.3 times as likely"),
        (14.2, "about 14 times as likely"),
        (236.0, "about 240 times as likely"),
    ],
)
def test_a_factor_has_no_more_than_two_figures(factor: float, said: str) -> None:
    assert times_as_likely(factor) == said


def test_a_factor_near_one_is_called_hardly_a_change() -> None:
    said = words.factor_sentences(with_oil(made(), 1.02))[0]
    assert "hardly change the chance of failure before the next oil change" in said
    assert "1.0" not in said


def test_what_samples_cannot_rule_out_is_said_with_the_ranges_stated() -> None:
    warning = {"lead": [4000, 30000], "lead_factor": [0.5, 2], "silent": [0.1, 0.5]}
    case = made(warning=warning)
    said = plain(words.factor_sentences(with_oil(case)))
    assert "They cannot rule it out: about 27 of 100 failures (between 10 and 50)" in said
    # the lead is lognormal with these as its central 90 %; its middle is half or twice that
    ends = math.log(4000), math.log(30000)
    middle, spread = sum(ends) / 2, (ends[1] - ends[0]) / (2 * norm.ppf(0.95))
    few, many = (norm.cdf((math.log(10_000 / f) - middle) / spread) for f in (2, 0.5))
    low, high = re.search(r"of the others \(between (\d+) and (\d+)\)", said).groups()  # type: ignore[union-attr]
    assert 0 <= 100 * few - int(low) < 1
    assert 0 <= int(high) - 100 * many < 1


def test_the_four_judgements_are_named_and_a_clean_history_is_no_all_clear() -> None:
    said = plain(words.factor_sentences(with_oil(made(), 0.5)))
    assert "Main assumption" in said
    for judgement in ("how long distress lasts", "stay silent", "wear rises", "samples mislead"):
        assert judgement in said
    assert "no all-clear" in said


def test_nothing_is_said_without_samples_or_beside_a_stop() -> None:
    assert words.factor_sentences(weighing(case_with_oil(None))) == []
    assert words.factor_sentences(with_oil(with_symptom(made()))) == []


@pytest.mark.parametrize(
    ("case", "why"),
    [
        (case_with_oil(["2000,2000,4,5"], break_in=90_000), "while the part was new"),
        (
            case_with_oil(["60000,9000,8"], "reading,oil_age,Fe", elements=[element("Fe")]),
            "nothing that is marked as shed by the part",
        ),
    ],
)
def test_samples_that_are_no_evidence_are_said_to_say_nothing(case: Case, why: str) -> None:
    said = plain(words.factor_sentences(weighing(case)))
    assert "say nothing about the part" in said or "says nothing" in said
    assert why in said
    assert "no all-clear" in said


# --- what was made of the samples --------------------------------------------------------------


def test_a_sample_of_the_break_in_is_named_with_its_reason() -> None:
    said = plain(words.rate_sentences(BREAK_IN, wear_rates(BREAK_IN)))
    assert "5 samples; 4 of them count" in said
    assert "The sample at 2,000 km is drawn, but does not count" in said
    assert "within the first 5,000 km" in said


def test_metals_from_elsewhere_are_told_apart() -> None:
    said = plain(words.rate_sentences(BREAK_IN, wear_rates(BREAK_IN)))
    assert "Iron (Fe) is drawn, but no evidence on the part" in said
    assert "copper (Cu) is" not in said


def test_a_change_of_laboratory_is_told_but_not_a_laboratory_left_out() -> None:
    labs = ["A", "", "A", "B"]
    case = case_with_oil(
        [f"{r},{lab}" for r, lab in zip(ROWS, labs, strict=True)], "reading,oil_age,Pb,Cu,lab"
    )
    said = plain(words.rate_sentences(case, wear_rates(case)))
    assert "The laboratory changed: at 90,000 km, from A to B." in said
    assert "against a usual level of their own" in said
    assert "another laboratory than the one before it" in plain(
        words.factor_sentences(with_oil(case))
    )
    assert "laboratory" not in plain(words.factor_sentences(with_oil(made())))
    limits = plain(of_limits(case))
    assert "The laboratory changed: at 90,000 km, from A to B." in limits
    assert "these limits know nothing of that" in limits
    assert "laboratory" not in plain(of_limits(made()))
    assert ", read by 2 laboratories, each judged by its own level, are counted" in of_report(case)
    assert case.samples is not None
    named = replace(case, samples=replace(case.samples, rows=case.samples.rows[:3]))
    assert "laborator" not in of_report(named)  # one, however often it is named
    assert "laborator" not in of_report(made())


def test_a_rate_below_nothing_is_no_error() -> None:
    case = case_with_oil(["60000,10000,40,5", "62000,2000,<1,2"])
    said = plain(words.rate_sentences(case, wear_rates(case)))
    assert "Lead (Pb) at 62,000 km" in said
    assert "less than the rounding of the readings can tell" in said


def test_two_samples_of_one_oil_are_told() -> None:
    case = case_with_oil(["60000,4000,2,3", "66000,10000,5,6"])
    said = plain(words.rate_sentences(case, wear_rates(case)))
    assert "The sample at 66,000 km is of the same oil as the one before" in said


def test_samples_are_named_by_the_meter_and_where_it_differs_from_the_age_that_is_said() -> None:
    case = case_with_oil(["62000,2000,40,50", *ROWS[1:]], fitted_at=60_000, break_in=5_000)
    assert "62,000 km on the meter" in plain(words.rate_sentences(case, wear_rates(case)))


def test_the_lining_is_held_against_the_metals() -> None:
    case = with_values(made(), "part", lining="aluminium-tin")
    said = plain(words.rate_sentences(case, wear_rates(case)))
    assert "Lead (Pb) is marked as shed by the part, but aluminium-tin does not contain it" in said


# --- limits ------------------------------------------------------------------------------------


def test_a_surge_is_named_and_called_a_thing_to_look_at_not_the_decision() -> None:
    case = case_with_oil([*ROWS, "100000,10000,60,6"])
    said = plain(of_limits(case))
    assert "Lead (Pb): the sample at 100,000 km lies above the limit" in said
    assert "Copper (Cu)" not in said
    assert "decide nothing" in said
    assert "That is the latest sample: cut the filter open and draw a second sample now" in said
    assert "stop, do not start the engine" in said
    older = plain(of_limits(case_with_oil([*ROWS[:3], "90000,10000,60,6", "100000,10000,4,5"])))
    assert "lies above the limit" in older
    assert "latest sample" not in older


def test_no_sample_above_its_limit_is_no_all_clear() -> None:
    said = of_limits(made())
    assert said[0].startswith("No sample lies above")
    assert "no all-clear" in said[0]


def test_several_metals_alarm_oftener_together() -> None:
    """1 - 0.98^2 is 3.96 of 100, 1 - 0.98^3 5.9 of 100."""
    assert "with 2 of them up to 4 of 100" in plain(of_limits(made()))
    assert "with 3 of them up to 6 of 100" in plain(of_limits(BREAK_IN))


def test_too_few_samples_for_a_level_of_its_own() -> None:
    said = plain(of_limits(case_with_oil(ROWS[:2])))
    assert "copper (Cu) there are fewer than 3 samples" in said
    assert "decide nothing" not in said, "there is no limit to speak of"


# --- what sampling could catch, plans ----------------------------------------------------------


def test_foresight_is_told_at_this_interval_and_at_half_of_it() -> None:
    said = plain(words.foresight_sentences(made(), FORESIGHT))
    assert "every oil change (10,000 km), about 23 of 100 failures (between 6 and 46)" in said
    assert "every 5,000 km, about 36 of 100 failures (between 14 and 60)" in said
    assert "About 60 of 100 failures (between 29 and 89) give less warning" in said


def test_a_case_without_samples_to_come_is_told_what_they_would_do() -> None:
    said = words.foresight_sentences(with_values(made(), "plan", sample=False), FORESIGHT)
    assert said[0].startswith("No samples are planned")


def test_an_alarm_is_told_of_plans_with_samples_before_their_replacement() -> None:
    w = with_oil(made())
    plans = [replace(plan, alarm=Interval(0.03, 0.004, 0.08)) for plan in w.plans]
    w = replace(w, plans=tuple(plans))
    said = [words.plan_alarm_sentence(w, i) for i in range(len(plans))]
    assert said[:2] == ["", ""], "now, and at the next oil change"
    assert "about 3 of 100 (at most 8) would have the part replaced at short notice" in said[2]
    assert "while you keep it" in said[-1]
    unsampled = with_values(made(), "plan", sample=False)
    assert words.plan_alarm_sentence(replace(w, case=unsampled), 2) == ""


# --- how to sample ------------------------------------------------------------------------------


def test_metal_in_the_filter_stops_everything() -> None:
    said = [text for text in words.sampling_well() if "filter open" in text]
    assert len(said) == 1
    assert "stop, do not start the engine, have it towed" in said[0]
    surprising = next(text for text in words.sampling_well() if "second sample" in text)
    assert "Not so with a knock, low oil pressure or metal in the filter" in surprising
    assert "common practice" in words.SAMPLING_LEAD
    assert "no one source" in words.SAMPLING_LEAD


# --- all of it ----------------------------------------------------------------------------------


@pytest.mark.parametrize("case", [made(), BREAK_IN], ids=["clean", "break-in"])
def test_no_sentence_calls_an_engine_what_nobody_can_know_or_shows_a_key(case: Case) -> None:
    said = every_sentence(case)
    assert len(said) > 20
    for text in said:
        assert not NEVER.search(text), text
    joined = " ".join(said)
    assert not re.search(r"[a-z]_[a-z]|\{|\}|None|\bnan\b|\binf\b", joined)
    assert not [key for key in BY_KEY if key in joined]


def test_every_estimated_chance_carries_its_interval() -> None:
    for text in every_sentence(BREAK_IN):
        for match in re.finditer(r"about \d+ of 100(?P<after>.{0,20})", text):
            assert re.match(r"( failures| of the others)? \(", match["after"]), text


def test_what_the_samples_say_of_the_whole_time_it_is_kept() -> None:
    said = plain(words.factor_sentences(with_oil(made())))
    assert "For the 3 years you keep it, with the part left in: with the samples about 6" in said
