"""What is said of other engines and of linings: true, in plain words, and never an all-clear."""

from __future__ import annotations

import re

import pytest

from riskmodel.oil.fleet import Fleet, fleet
from riskmodel.oil.linings import LININGS, lining_of, starting_elements
from riskmodel.oil.mass_balance import wear_rates
from riskmodel.page.examples import example
from riskmodel.records.case import Case
from riskmodel.records.inputs import UNITS, Unit
from riskmodel.words import oil_fleet as words
from riskmodel.words import oil_fleet_limits, oil_linings
from tests.oil.made import element
from tests.oil.test_fleet import ROWS, case_beside, left_out, simulated
from tests.words.test_wording import NEVER

OWN = ["20000,10000,10,5", "30000,10000,60,5", "40000,10000,12,5"]


def told(case: Case) -> Fleet:
    found = fleet(case)
    assert found is not None
    return found


def levels(case: Case) -> str:
    return " ".join(words.level_sentences(case, told(case))).replace("\u00a0", " ")


def limits(case: Case) -> str:
    said = oil_fleet_limits.limit_sentences(case, wear_rates(case), told(case))
    return " ".join(said).replace("\u00a0", " ")


def cases() -> list[Case]:
    return [
        example("work-boat"),
        case_beside(ROWS, own=OWN),
        case_beside(ROWS, elements=left_out("typical", "scatter")),
        case_beside(ROWS[:2], own=OWN),
        case_beside([*ROWS, "z,3000,3000,0,10,2"], break_in=4_000),
    ]


@pytest.mark.parametrize("case", cases(), ids=lambda case: case.machine.name)
def test_nothing_that_is_said_is_a_placeholder_or_an_all_clear(case: Case) -> None:
    rows = words.level_table(case, told(case))
    cells = " ".join(text for row in rows for item in row.items() for text in item)
    said = f"{levels(case)} {limits(case)} {cells} {words.table_note()} {words.table_title(case)}"
    assert not NEVER.search(said)
    assert not re.search(r"[a-z]_[a-z]|\{|\}|None(?! of this)|nan|inf\b|  ", said)
    assert len({tuple(row) for row in rows}) == 1  # the same headings in every row


def test_what_counts_is_said() -> None:
    stated = levels(case_beside(ROWS))
    assert "20 samples of 4 other engines tell what is usual" in stated
    assert "stated in the case are the ones that count" in stated
    assert "does not state" not in stated
    bare = levels(case_beside(ROWS, elements=left_out("typical", "scatter")))
    assert (
        "The case does not state the usual level of lead (Pb) and copper (Cu) and the scatter of "
        "lead (Pb) and copper (Cu): what the other engines tell is taken"
    ) in bare
    assert "the ones that count" not in bare
    mixed = levels(case_beside(ROWS, elements=left_out("typical")))
    assert "What the case does state counts as stated" in mixed


def test_figures_stand_side_by_side() -> None:
    case = case_beside(ROWS, elements=left_out("scatter"))
    row = words.level_table(case, told(case))[0]
    usual = told(case).elements["Pb"].usual
    assert row["Metal"] == "Lead (Pb)"
    assert row["Usual, stated"] == "0.2 to 0.8"
    assert row["Scatter, stated"] == "not stated"
    low, high = (float(end) for end in row["Usual, others"].split(" to "))
    assert (low, high) == pytest.approx((usual.typical.low, usual.typical.high), rel=0.06)
    assert row["Scatter, others"].startswith(f"{usual.scatter:.2f} (")


def test_a_stated_level_that_does_not_fit_is_pointed_out() -> None:
    assert "lies above the range stated" in levels(case_beside(ROWS))  # 0.8 at most, against 1.2
    high = case_beside(ROWS, elements=[element("Pb", typical=[5, 9]), element("Cu")])
    assert "Lead (Pb): the middle of what the other engines show lies below the range" in levels(
        high
    )
    fits = [element("Pb", typical=[0.5, 4]), element("Cu", typical=[1, 9])]
    assert "the range stated" not in levels(case_beside(ROWS, elements=fits))
    odd = [element("Pb", typical=[0.5, 4], scatter=4.0), element("Cu", typical=[1, 9])]
    said = levels(case_beside(ROWS, elements=odd))
    assert "Lead (Pb) and copper (Cu): the scatter stated lies outside" in said


def test_what_little_was_learned_from_is_said() -> None:
    assert "the engines are fewer than 5" in levels(case_beside(ROWS))
    many = case_beside(simulated(6, 3), "engine,reading,oil_age,top_up,Pb")
    assert "fewer than 5" not in levels(many)
    below = [row.rsplit(",", 1)[0] + ",<1" for row in ROWS]
    assert "20 of 20 samples of copper (Cu) show less than the rounding can tell" in levels(
        case_beside(below)
    )
    new = levels(case_beside([*ROWS, "z,3000,3000,0,10,2"], break_in=4_000))
    assert (
        "1 sample of them is left out: most of that oil's life fell within the first 4,000" in new
    )


def test_samples_above_a_limit_are_named_with_the_highest_that_they_lie_above() -> None:
    said = limits(case_beside(ROWS, own=OWN))
    held = told(case_beside(ROWS)).elements["Pb"].drawn
    assert [one.at for one in held] == [0.9, 0.95]
    assert f"of the other engines' samples 90 of 100 below {held[0].limit:.1f} ppm per" in said
    assert "This engine's sample at 30,000 km lies above the limit of 95 of 100." in said
    assert "None of this engine's samples lies above any of them." in said  # copper
    assert "decide nothing" in said
    assert "ASTM D7720" in said
    assert "is no all-clear" in said


def test_without_samples_of_ones_own_only_the_limits() -> None:
    said = limits(case_beside(ROWS))
    assert "below" in said
    assert "This engine's" not in said
    assert "None of this engine's" not in said


def test_too_few_for_a_limit() -> None:
    said = limits(case_beside(ROWS[:2], own=OWN))
    assert said.startswith("For lead (Pb) and copper (Cu) the other engines gave too few samples")


def test_limits_by_standard_deviations_read_as_a_sentence() -> None:
    said = limits(example("work-boat"))
    assert re.search(
        r"Tin \(Sn\): by the other engines' samples the limit of 2 standard deviations is [\d.]+ "
        r"ppm per 1,000 h and that of 3 is [\d.]+\.",
        said,
    )
    assert "(drawn while the part was new)" in said


# --- linings -----------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("lining", LININGS, ids=lambda lining: lining.name)
def test_every_figure_to_start_from_has_its_source_beside_it(lining, unit: Unit) -> None:
    rows = oil_linings.starting_table(lining, unit)
    assert len(rows) == len(starting_elements(lining, unit))
    for row in rows:
        _, _, *figures = row.values()
        for text in figures:
            assert re.fullmatch(r"[\d.,]+( to [\d.,]+)? \(.*(judgement|from memory).*\)", text)
        if unit == "h":
            assert "60 km an hour" in figures[0]


@pytest.mark.parametrize("lining", LININGS, ids=lambda lining: lining.name)
def test_a_lining_without_lead_says_why_lead_is_no_evidence(lining) -> None:
    said = oil_linings.lead_sentence(lining)
    sheds = any(metal.symbol == "Pb" for metal in lining.sheds)
    assert (said == "") == sheds
    assert sheds or "no evidence on the part" in said
    assert not NEVER.search(" ".join(oil_linings.remarks(lining)))


def test_the_table_of_linings_holds_all_of_them() -> None:
    rows = oil_linings.lining_table()
    assert [row["Lining"].lower() for row in rows] == [lining.name for lining in LININGS]
    assert all(row["Source"] for row in rows)
    assert lining_of(rows[1]["Lining"]) is LININGS[1]
