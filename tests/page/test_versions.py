"""Two versions of a case side by side on the page, and in words."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from riskmodel.decision.results import Interval
from riskmodel.decision.versions import ChancePair, Pair, compared
from riskmodel.decision.weigh import weigh
from riskmodel.page import address, kept, log_file, state
from riskmodel.records.log.bridge import export_case, import_case
from riskmodel.records.log.entries import InputsChanged, Job
from riskmodel.words import headline, inputs_told
from riskmodel.words import versions as words
from tests.page.conftest import Page
from tests.risk.cases import case_with


@pytest.fixture(autouse=True)
def _same_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "today", lambda: "2026-12-01")


def car(**sections: Any) -> Any:
    """A car of 100,000 km with a part of exactly known life."""
    given: dict[str, Any] = {
        "machine": {"name": "My car", "date": "2026-11-01"},
        "life": {"shape_prior": 3, "b50_prior": 180_000},
        "oil": {"interval": 10_000, "next_change_in": 4_000},
        "cost": {"currency": "EUR", "failure": 12_000},
    }
    for section, entries in sections.items():
        given[section] = given.get(section, {}) | entries
    return case_with(None, **given)


def opened() -> Page:
    import_case(log_file.made(), car(), author="Ann")
    return Page(machine="my-car")


def press(page: Page, label: str) -> None:
    next(one for one in page.app.button if one.label == label).click()
    page.run()


def labels(page: Page) -> set[str]:
    return {one.label for one in page.app.button}


# --- on the page -------------------------------------------------------------------------------


def test_a_change_stands_beside_what_was_kept_and_both_are_there_after_a_reload() -> None:
    page = opened()
    assert words.HEADING not in page.headers
    press(page, words.OFFER)
    assert words.HEADING in page.headers
    assert words.NOTHING_YET in page.text
    assert words.OFFER not in labels(page)
    page.type("Failure, EUR, to", 60_000.0)
    page.type("Keep for, years", 5.0)
    assert words.NOTHING_YET not in page.text
    assert "12,000 to 60,000 EUR" in page.text
    assert '<td data-label="A, as kept">3 years</td>' in page.text
    assert '<td data-label="B, as it is now">5 years</td>' in page.text
    a, b = (weigh(case) for case in (car(), export_case(log_file.made(), "my-car")))
    for told in words.sentences(compared(a, b)):
        assert told.replace("\u00a0", " ") in page.text
    [against] = page.app.query_params[address.AGAINST]
    again = Page(machine="my-car", against=str(against))
    assert words.HEADING in again.headers
    assert '<td data-label="A, as kept">3 years</td>' in again.text


def test_going_back_restores_the_figures_in_page_and_log() -> None:
    page = opened()
    before = page.part("verdict")
    press(page, words.OFFER)
    page.type("Failure, EUR, to", 60_000.0)
    press(page, words.BACK)
    assert page.part("verdict") == before
    assert words.HEADING not in page.headers
    assert export_case(log_file.made(), "my-car") == car()
    kinds = [type(entry.payload) for entry in log_file.made().history("my-car")]
    assert kinds[1:] == [InputsChanged, InputsChanged]  # the change, and the way back


def test_ending_the_comparison_keeps_version_b() -> None:
    page = opened()
    press(page, words.OFFER)
    page.type("Keep for, years", 5.0)
    press(page, words.STOP)
    assert words.HEADING not in page.headers
    assert address.AGAINST not in page.app.query_params
    assert export_case(log_file.made(), "my-car").plan.keep_years == 5


def test_a_symptom_meanwhile_is_told_and_no_figure_stands_beside_it() -> None:
    page = opened()
    press(page, words.OFFER)
    page.tick("A knock")
    assert page.part("stop")
    assert "There is a symptom in version B." in page.text
    assert "EUR" not in page.text.split(words.IF_STOP)[1].split("</table>")[0]


def test_a_part_replaced_meanwhile_is_not_put_back() -> None:
    page = opened()
    press(page, words.OFFER)
    job = Job(100_500.0, "2026-12-01", replaced=True, failed=False)
    log_file.made().add(job, machine="my-car", author="Bert")
    page.run()
    assert words.OTHER_PART in page.text
    assert words.BACK not in labels(page)


@pytest.mark.parametrize("against", ["99999", "-1", "x", "0"])
def test_an_address_that_names_no_entry_is_no_fault(against: str) -> None:
    opened()
    page = Page(machine="my-car", against=against)
    assert page.part("verdict")


def test_an_example_is_compared_for_the_visit_and_says_so() -> None:
    page = Page()
    press(page, words.OFFER)
    assert words.KEPT_EXAMPLE in page.text
    page.type("Keep for, years", 2.0)
    assert '<td data-label="A, as kept">3 years</td>' in page.text
    press(page, words.BACK)
    assert page.app.session_state[state.GOOD].plan.keep_years == 3


def test_another_machine_is_not_compared_with_this_one() -> None:
    import_case(log_file.made(), car(machine={"name": "Other car"}), author="Ann")
    page = opened()
    press(page, words.OFFER)
    box = next(box for box in page.app.selectbox if box.key and box.key.startswith("machines"))
    box.set_value("other-car")
    page.run()
    assert "Other car" in page.text
    assert words.HEADING not in page.headers


# --- in words ----------------------------------------------------------------------------------


def test_the_last_change_says_what_it_did() -> None:
    a, b = car(), car(cost={"failure": 60_000})
    said = " ".join(words.last_change(compared(weigh(a), weigh(b)))).replace("\u00a0", " ")
    assert said.startswith("Last change: Failure: 60,000 EUR instead of 12,000 EUR.")
    assert f"Before it the verdict was “{headline(weigh(a))}”." in said
    assert "of 100" in said.split("with the part left in, is ")[1]
    assert "as before" in said


def pair(before: tuple[float, float], after: tuple[float, float], ahead: float = 1.0) -> ChancePair:
    first, second = (Interval(sum(ends) / 2, *ends) for ends in (before, after))
    return ChancePair("next_oil_change", (1.0, ahead), Pair(first, second))


def test_a_range_narrows_or_widens_only_over_the_same_usage() -> None:
    said = words.range_of(pair((0.02, 0.12), (0.04, 0.08)))
    assert said == "Its range narrowed: 4 of 100 wide instead of 10."
    said = words.range_of(pair((0.04, 0.08), (0.02, 0.12)))
    assert said == "Its range widened: 10 of 100 wide instead of 4."
    said = words.range_of(pair((0.0149, 0.0651), (0.1251, 0.4151)))  # told: 1 to 7, 12 to 42
    assert said == "Its range widened: 30 of 100 wide instead of 6."
    assert words.range_of(pair((0.02, 0.12), (0.02, 0.1199))) == ""
    assert words.range_of(pair((0.02, 0.12), (0.01, 0.06), ahead=0.5)) == ""


def test_records_narrow_what_a_wide_belief_left_open() -> None:
    """The posterior after forty parts is narrower than a belief over a factor of four: the
    sentence says so with the widths of the answers themselves."""
    rows = [f"{age},failed" for age in range(120_000, 220_000, 5_000)]
    rows += ["150000,running"] * 20
    wide = {"shape_prior": [1.2, 5], "b50_prior": [90_000, 360_000]}
    before, after = weigh(car(life=wide)), weigh(
        case_with(rows, machine={"date": "2026-11-01"}, life=wide,
                  oil={"interval": 10_000, "next_change_in": 4_000}, cost={"currency": "EUR"})
    )  # fmt: skip
    widths = [w.risk[0].chance.high - w.risk[0].chance.low for w in (before, after)]
    assert widths[1] < widths[0]
    said = " ".join(words.last_change(compared(before, after)))
    assert "Life records: 40 parts instead of none" in said
    assert "Its range narrowed" in said


def test_inputs_are_told_by_their_plain_names() -> None:
    other = car(
        cost={"consequence": [{"name": "tow", "amount": [200, 400]}]}, plan={"most_risk": 0.1}
    )
    v = compared(weigh(car()), weigh(other))
    table = words.inputs_table(v.inputs, v.entered).to_dict("records")
    told = {row[words.INPUTS]: (row[words.A], row[words.B].replace("\u00a0", " ")) for row in table}
    assert told["Consequences of a failure"] == ("none", "tow EUR 200 to 400")
    assert told["Most risk you will bear"] == ("not stated", "10 of 100")


def test_a_list_changed_within_says_so() -> None:
    lists = [{"consequence": [{"name": "tow", "amount": 300}], "while_open": [job]} for job in (
        {"job": "oil pump", "now": 100, "alone": 400}, {"job": "oil pump", "now": 200, "alone": 400}
    )]  # fmt: skip
    v = compared(*(weigh(car(cost=each)) for each in lists))
    [row] = words.inputs_table(v.inputs, v.entered).to_dict("records")
    assert (row[words.A], row[words.B]) == ("oil pump", "oil pump (changed)")


def test_differences_can_be_checked_against_the_figures_beside_them() -> None:
    v = compared(weigh(car()), weigh(car(cost={"planned": 2_345, "failure": 15_000})))
    rows = {row[words.FIGURE]: row for row in words.figures_table(v).to_dict("records")}
    row = rows[words.ON_AVERAGE]
    amounts = [
        int(row[name].replace("\u00a0", " ").split(" (")[0].split()[1].replace(",", ""))
        for name in (words.A, words.B)
    ]
    gap = amounts[1] - amounts[0]
    assert row[words.DIFFERENCE].replace("\u00a0", " ") == f"EUR {gap:,} more"


def test_another_money_is_never_subtracted() -> None:
    a, b = weigh(car()), weigh(car(cost={"currency": "GBP"}))
    table = words.figures_table(compared(a, b))
    assert set(table[table[words.FIGURE] == words.ON_AVERAGE][words.DIFFERENCE]) == {
        words.OTHER_MONEY
    }


def test_where_one_walks_away_it_is_said() -> None:
    a, b = weigh(car()), weigh(car())
    said = words.sentences(compared(a, replace(b, walks_away=True)))
    assert "In B a failure is cheaper to walk away from than to repair." in said


@pytest.mark.parametrize(
    ("key", "value", "told"),
    [
        ("cost.discount_rate", 0.03, "3 %"),
        ("plan.after_failure", "stop", "given up"),
        ("machine.date", "2026-11-01", "1 November 2026"),
        ("part.in_records", True, "yes"),
        ("use.ahead", {"town": 0.25}, "town 25 of 100"),
        ("use.stretches", (1, 2), "2 stretches"),
        ("use.stretches", (), "none"),
        ("part.traits", {"oil_interval": "long", "n": 3.0}, "oil interval long, n 3"),
        ("machine.symptoms", ("knock",), "knock"),
        ("oil.samples", 1, "1 sample"),
        ("oil.next_change_in", None, "not stated"),
        ("part.code", "", "none"),
    ],
)
def test_any_kind_of_value_reads_plainly(key: str, value: object, told: str) -> None:
    assert inputs_told.told(key, value, car()).replace("\u00a0", " ") == told
