"""How it was driven, in words: ages, stretches, what they rest on, habits, the bar."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import altair as alt
import pytest

from riskmodel.charts.use_ages import use_ages
from riskmodel.charts.use_parts import use_parts
from riskmodel.decision.habits import Habit
from riskmodel.decision.results import Interval, Weighing
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.use.ahead import AS_NOW, HALF_USAGE, NO_COMPETITION
from riskmodel.use.effective_age import use_of
from riskmodel.use.learned import Learned
from riskmodel.use.mix import UNKNOWN, Mix
from riskmodel.use.parts_of_spread import HARSHNESS, HISTORY, LEAD, OIL, RECORDS, SpreadParts
from riskmodel.use.questions import implied_shares
from riskmodel.use.told import use_told
from riskmodel.words import use, use_habits, use_questions
from riskmodel.words.report_entered import entered
from tests.page.test_charts import layers, rows
from tests.risk.cases import case_with
from tests.words.test_wording import NEVER
from tests.words.weighings import weighing

KINDS = [
    {"name": "town", "population_share": 0.3},
    {"name": "track days", "harshness": [1.5, 4.0], "population_share": 0.1},
]
STRETCHES = [
    {"until": 40_000, "unknown": True},
    {"until": 100_000, "shares": {"town": 0.4, "track days": 0.1}},
]
RECORDS_OF_USE = ["90000,failed,town", "120000,running,track days", "80000,failed,track days"]


def told(**more: Any) -> Weighing:
    use = {"kinds": KINDS, "stretches": STRETCHES}
    part = {"entered_at": 40_000}
    life = {"b50_prior": [1e5, 3e5]}
    return as_driven(case_with(None, **{"use": use, "part": part, "life": life, **more}))


def as_driven(case: Case) -> Weighing:
    return replace(weighing(case), use=use_told(use_of(case)))


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def said(w: Weighing) -> str:
    return plain(" ".join([*use.lead(w), *use.stretches(w), *use.details(w)]))


def test_effective_age_stands_against_plain_age_with_its_interval() -> None:
    w = told()
    lead = plain(use.lead(w)[0])
    assert "has done 100,000 km" in lead
    match = re.search(
        r"about ([\d,]+) km of average use; .* between ([\d,]+) and ([\d,]+) km", lead
    )
    assert match is not None
    middle, low, high = (float(each.replace(",", "")) for each in match.groups())
    age = w.effective_age
    assert age is not None
    assert middle == pytest.approx(age.median, rel=0.005)
    # rounding never makes the interval look narrower than it is
    assert low <= age.low < middle < age.high <= high
    assert high - age.high < 0.01 * high


def test_every_stretch_says_what_it_contributes() -> None:
    first, second = (plain(text) for text in use.stretches(told()))
    assert first.startswith("From new to 40,000 km on the meter, before it was yours: not known.")
    assert second.startswith(
        "From 40,000 to 100,000 km on the meter: town 40 of 100, track days 10 of 100 and the rest "
        "ordinary use. These 60,000 km count like about "
    )


def test_use_that_no_stretch_tells_up_to_today_is_said_to_be_unknown() -> None:
    w = told(use={"kinds": KINDS, "stretches": STRETCHES[:1]})
    wanted = (
        "What is told of its use ends at 40,000 km on the meter: the 60,000 km since then count as "
        "not known, which widens the interval until they are told."
    )
    assert wanted in plain(" ".join(use.lead(w)))
    printed = plain(dict(entered(w.case))["Use:"])
    assert "past use told for 1 stretch, up to 40,000 km, not known since" in printed
    assert "ends at" not in plain(" ".join(use.lead(told())))
    assert "not known since" not in plain(dict(entered(told().case))["Use:"])
    assert use.not_covered(case_with(None, life={"b50_prior": [1e5, 3e5]})) == []


def test_ages_of_a_part_that_was_fitted_later_are_told_by_the_meter() -> None:
    part = {"fitted_at": 30_000}
    assert plain(use.stretches(told(part=part))[1]).startswith("From 40,000 to 100,000 km on")


def test_usage_that_is_exactly_known_has_no_interval() -> None:
    kinds = [{"name": "hard", "harshness": 2.0}]
    shares = {"kinds": kinds, "stretches": [{"until": 100_000, "shares": {"hard": 0.5}}]}
    w = told(use=shares, part={})
    # 100,000 km half of which count twice
    assert "count like 150,000 km of average use" in said(w)
    assert "1,000 km age it like 1,500 km of average use: hard 50 of 100" in said(w)
    assert "between" not in said(w)
    assert "As this case states it: hard 2." in said(w)


def test_who_tells_nothing_is_told_that_the_answer_is_less_sure() -> None:
    w = as_driven(case_with(None, life={"b50_prior": [1e5, 3e5]}))
    assert use.lead(w)[0].startswith("Nothing is told of how it was driven.")
    assert "much less sure" in said(w)
    assert "how it will be driven is not known" in said(w)
    assert "widens the interval; it never narrows it" in said(w)
    assert "0.8 to 2 for every kind: a judgement" in said(w)


def test_judgements_and_stated_figures_are_told_apart() -> None:
    text = use.harshness_sentence(told().case, told().use)  # type: ignore[arg-type]
    assert "Town is taken as 0.8 to 2: a judgement" in text
    assert "None of it is claimed as fact" in text
    assert "As this case states it: track days 1.5 to 4." in text
    nothing = as_driven(case_with(None, use={"stretches": [{"until": 100_000, "shares": {}}]}
                                  , life={"b50_prior": [1e5, 3e5]}))  # fmt: skip
    assert "No use in this case is taken as harder" in said(nothing)


@pytest.mark.parametrize(
    ("columns", "traits", "wanted"),
    [
        ("age,outcome", {}, "do not tell how each part was used"),
        ("age,outcome,use", {}, "the curve is that of average use on record"),
        ("age,outcome,use", {"use": "town"}, "its use would count twice"),
    ],
)
def test_whether_the_records_have_use_in_them(
    columns: str, traits: dict[str, str], wanted: str
) -> None:
    lines = [line if "use" in columns else line.rpartition(",")[0] for line in RECORDS_OF_USE]
    w = as_driven(
        case_with(lines, columns, use={"kinds": KINDS, "stretches": STRETCHES},
                  part={"traits": traits} if traits else {})
    )  # fmt: skip
    assert wanted in use.records_sentence(w.case)
    assert "There are no life records" in use.records_sentence(told().case)


def test_harshness_on_record_stands_beside_what_the_case_states() -> None:
    found = Learned(
        "use", "mixed", {"mixed": exactly(1.0), "town": Quantity(0.5, 2.0)}, {}, None, ()  # type: ignore[arg-type]
    )  # fmt: skip
    (text,) = use.learned_sentences(found)
    assert "against mixed: town 1.0 (0.50 to 2.0)" in text
    assert "mixed 1" not in text
    assert use.learned_sentences(None) == []


@pytest.mark.parametrize(
    ("mix", "wanted"),
    [
        (UNKNOWN, "not known"),
        (Mix({"town": 0.4}, unknown=True), "town 40 of 100, the rest not known"),
        (Mix({"town": 0.4, "track": 0.6}), "town 40 of 100 and track 60 of 100"),
        (Mix({"town": 0.4}), "town 40 of 100 and the rest ordinary use"),
        (Mix({"town": 0.0}), "nothing but ordinary use"),
    ],
)
def test_a_mix_in_words(mix: Mix, wanted: str) -> None:
    assert use.mix_phrase(mix) == wanted


# --- habits ----------------------------------------------------------------------------------


def habit(key: str, **more: Any) -> Habit:
    values: dict[str, Any] = {
        "key": key,
        "usage": 10_000.0,
        "chance": Interval(0.06, 0.03, 0.1),
        "less": Interval(0.0, 0.0, 0.0),
        "at": 8_000.0,
        "service": 1,
        "occasion": None,
        "failure": 0.1,
        "cost": Interval(5_000.0, 4_000.0, 7_000.0),
        "gained": Interval(0.0, 0.0, 0.0),
    }
    return Habit(**{**values, **more})


NOW = habit(AS_NOW)
GENTLER = habit(
    NO_COMPETITION,
    less=Interval(0.0042, -0.0005, 0.0091),
    gained=Interval(120.0, -30.0, 400.0),
)
LESS = habit(
    HALF_USAGE,
    usage=5_000.0,
    less=Interval(0.03, 0.0102, 0.05),
    at=None,
    service=None,
    gained=Interval(-250.0, -900.0, 100.0),
)


def test_each_habit_tells_chance_difference_plan_and_money() -> None:
    gentler, less, note = map(plain, use_habits.sentences(told().case, [NOW, GENTLER, LESS]))
    assert gentler.startswith("No more competition days: about 6 of 100 (between 3 and 10)")
    # 4.2 of 1,000 fewer; the ends −0.5 and 9.1 rounded outwards
    assert "about 4 fewer of 1,000 than as now (between 1 more and 10 fewer)" in gentler
    assert "still to replace it in 8,000 km, at the 1st oil change" in gentler
    assert "saves about 120 (−" in gentler
    assert "about 30 fewer of 1,000 than as now (between 10 and 50)" in less
    assert "then to leave it in" in less
    assert "costs about 250 more" in less
    assert "over the same years" in note
    assert "same years" not in use_habits.note([NOW, GENTLER])


def test_the_table_has_a_row_for_each_habit() -> None:
    table = use_habits.table(told().case, [NOW, GENTLER, LESS])
    assert table["From now on"].iloc[0] == "As now"
    assert [plain(text) for text in table["Fewer of 1,000 than as now"]] == [
        "", "4 (−1 to 10)", "30 (10 to 50)",
    ]  # fmt: skip


def test_nothing_to_compare_is_said() -> None:
    assert use_habits.sentences(told().case, [NOW]) == [use_habits.NOTHING_ELSE]
    assert use_habits.sentences(told().case, []) == []


# --- where the interval comes from -----------------------------------------------------------

PARTS = SpreadParts(
    (RECORDS, HARSHNESS, HISTORY, LEAD, OIL), (0.5, 0.2, 0.15, 0.1, 0.002), 0.048, 1
)


def test_the_bar_says_what_its_sentence_and_table_say() -> None:
    case = told().case
    spec = use_parts(case, PARTS)
    assert spec is not None
    alt.LayerChart.from_dict(spec, validate=True)
    bars = rows(next(layers(spec, "bar")))
    assert [row["share"] for row in bars] == pytest.approx([50, 20, 15, 10, 0.2, 4.8])
    assert [row["text"] for row in bars] == list(
        use_habits.parts_table(case, PARTS)["Share of 100"]
    )
    text = use_habits.parts_sentence(case, PARTS)
    assert "what is believed of its life (50), how harsh hard use is (20)" in text
    assert "Most would be gained by life records" in text
    assert "oil shows" not in text  # a fifth of a part of 100
    assert text == spec["description"]


def test_an_answer_that_leaves_nothing_open_has_no_bar() -> None:
    nothing = SpreadParts((RECORDS,), (0.0,), 0.0, 0.0)
    assert use_parts(told().case, nothing) is None
    assert "left open" in use_habits.parts_sentence(told().case, nothing)


def test_the_picture_of_ages_is_valid_and_says_what_the_table_says() -> None:
    w = told()
    spec = use_ages(w)
    assert spec is not None
    alt.LayerChart.from_dict(spec, validate=True)
    band = rows(next(layers(spec, "area")))
    assert band[-2]["low"] == w.effective_age.low  # type: ignore[union-attr]
    assert len(use.table(w)) == len(band) - 1
    new = as_driven(case_with(None, part={"fitted_at": 100_000}, life={"b50_prior": [1e5, 3e5]}))
    assert use_ages(new) is None
    assert "The part is new" in use.lead(new)[0]


# --- questions -------------------------------------------------------------------------------


def test_shares_by_the_answers_stand_beside_those_at_large() -> None:
    implied = implied_shares({"towing": 3, "starts": 5}, "km", 10_000)
    table = use_questions.shares_table(implied, "km").set_index("Kind of use")
    assert table.loc["Towing", "Of 100 by your answers"] == "30"
    assert table.loc["Towing", "In such engines at large"] == "2"
    assert table.loc["Lugging", "Of 100 by your answers"] == "not told"


@pytest.mark.parametrize("unit", ["km", "mi", "h"])
def test_no_text_says_what_nobody_can_know(unit: str) -> None:
    machine = {"unit": unit, "reading": 100_000, "usage_per_year": 10_000}
    w = told(machine=machine)
    texts: list[Callable[[Weighing], list[str]]] = [use.lead, use.stretches, use.details]
    found = [text for each in texts for text in each(w)]
    found += use_habits.sentences(w.case, [NOW, GENTLER, LESS])
    assert not [text for text in found if NEVER.search(text) or "_" in text]
