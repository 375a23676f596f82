"""The choices in the owner's report: plans side by side, and if a figure turns out otherwise."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape

from riskmodel.decision.occasions import Occasion
from riskmodel.decision.results import (
    AfterLook,
    Information,
    Inspection,
    Interval,
    PlanResult,
    Retest,
    RetestBranch,
    Sale,
    Weighing,
)
from riskmodel.report import owner
from riskmodel.report.owner import choices
from riskmodel.report.owner.document import (
    Picture,
    Table,
)
from riskmodel.words import (
    report_options,
    report_plans,
    report_what_if,
)
from tests.report import made, printed
from tests.report.printed import blocks
from tests.words.weighings import plain_case, weighing, with_values


def test_all_plans_are_told_in_the_same_columns_with_their_intervals() -> None:
    w, *_ = made.told()
    table = plan_table(w)
    assert table.marked is not None
    assert table.rows[table.marked][0] == "Next oil change"
    for row in table.rows:
        for cell in row[2:4]:
            assert re.search(r"\(.*to.*\)", cell), row
    by_name = {row[0]: row for row in table.rows}
    assert printed.plain(by_name["Now"][3]) == "10 (4 to 20)"
    assert by_name["Now"][1] == "–"
    # A limit of 15 of 100: every plan above it says so in words, and no other.
    over = [name for name in by_name if "(over your limit)" in name]
    assert over == [name for name, row in by_name.items() if int(row[3].split("\xa0")[0]) > 15]
    assert by_name["Never (over your limit)"][4] == "17,100"
    # Of all plans the last within it stands there as well: the 2nd oil change, 13 of 100.
    assert "2nd oil change" in by_name


def plan_table(w: Weighing) -> Table:
    tables = [b for b in blocks(owner.owner_document(w)) if isinstance(b, Table)]
    return next(table for table in tables if table.columns == report_plans.columns(w))


def test_what_to_find_out_first_stands_among_the_choices_as_the_verdict() -> None:
    """A look that saves 600 is the verdict: in bold, with its own cost and chance; the rest as
    without it, and only what can be had."""
    w, *_ = made.told()
    after = AfterLook(Interval(0.17, 0.1, 0.25), 0.0, Interval(0.25, 0.17, 0.28))
    cost, failure = Interval(4580.0, 3300.0, 6100.0), Interval(0.07, 0.04, 0.12)
    saves = Interval(600.0, -190.0, 1350.0)
    look = Inspection(after, after, failure, cost, 609.0, 1209.0, saves)
    w = replace(w, information=Information(900.0, 1900.0, look))
    w = replace(w, case=with_values(w.case, "plan", booking_weeks=5.0))
    table = plan_table(w)
    assert table.marked == 0
    row = [printed.plain(cell) for cell in table.rows[0]]
    assert row[0] == "Look first, then decide"
    assert row[2:] == ["4,580 (3,300 to 6,100)", "7 (4 to 12)", "–"]
    assert table.rows[1][0] == "Next oil change"
    said = printed.plain(unescape(owner.report_html(w)))
    assert "It costs EUR 600 less than “Next oil change”, the best plan without it" in said
    assert "between −EUR 190 (a loss) and EUR 1,350" in said
    assert "Ask the workshop for the look now." in said
    shown = [b.title for b in blocks(owner.owner_document(w)) if isinstance(b, Picture)]
    assert shown[1] == "Look first"


def test_a_bad_case_below_the_average_is_explained_on_paper() -> None:
    w, *_ = made.told()
    why = "It lies below the average where fewer than that see a failure."
    assert why not in printed.plain(unescape(owner.report_html(w)))
    at = w.open_plans[0]
    low = replace(w.plans[at], bad_case=0.9 * w.plans[at].cost.value)
    w = replace(w, plans=tuple(low if i == at else plan for i, plan in enumerate(w.plans)))
    assert why in printed.plain(unescape(owner.report_html(w)))


def test_selling_where_it_is_the_verdict_stands_among_the_choices() -> None:
    """Sold for more than life without it costs: below 0, and none of its failures is yours."""
    w, changes, free = made.told()
    sold = PlanResult(
        at=0.0,
        service=None,
        failure=Interval(0.0, 0.0, 0.0),
        present_failure=Interval(0.0, 0.0, 0.0),
        alarm=Interval(0.0, 0.0, 0.0),
        cost=Interval(-1200.0, -2500.0, 900.0),
        bad_case=900.0,
        chance_cheapest=0.97,
        occasion=Occasion("sale", 0.0),
    )
    w = replace(w, sale=Sale(9000.0, 5000.0, 1500.0, sold))
    table = plan_table(w)
    assert table.marked == len(table.rows) - 1
    row = [printed.plain(cell) for cell in table.rows[-1]]
    assert row[:2] == ["Sell it today", "–"]
    assert row[2:4] == ["−1,200 (−2,500 to 900)", "0"]
    said = printed.plain(unescape(owner.report_html(w, changes, free)))
    assert "Below 0, money is left over." in said
    assert "Ask for offers now." in said
    assert "If a figure turns out otherwise and you keep it" in said
    assert "Quite. In about 97 of 100 ways" in said
    pictures = [b for b in blocks(owner.owner_document(w)) if isinstance(b, Picture)]
    assert "Sell it today" not in [picture.title for picture in pictures]


def test_to_sample_again_first_is_told_with_both_outcomes_and_by_when() -> None:
    w, *_ = made.told()
    soon = Interval(0.2, 0.1, 0.3)
    branch = RetestBranch(Interval(0.3, 0.2, 0.4), 5200.0, False, soon)
    zero = Interval(0.01, 0.005, 0.02)
    found = Retest(
        at=500.0,
        acts_at=1000.0,
        oil_age=500.0,
        limits={"Pb": 7.0},
        false_alarm=0.02,
        first=zero,
        if_surge=branch,
        if_clear=replace(branch, chance=Interval(0.7, 0.6, 0.8)),
        failure=Interval(0.08, 0.05, 0.12),
        present_failure=zero,
        alarm=zero,
        cost=Interval(4900.0, 3500.0, 6500.0),
        saves=Interval(280.0, -100.0, 700.0),
    )
    w = replace(w, retest=found)
    said = printed.plain(unescape(owner.report_html(w)))
    assert "Draw the second sample at about 124,500 km on the meter." in said
    assert "about 30 of 100 (between 20 and 40) would show a surge" in said.lower()
    assert "about 70 of 100 (between 60 and 80) would show no surge" in said.lower()
    assert (
        "Within the 5 years you keep it about 8 of 100 engines like this one (between 5 and 12)"
        in said
    )
    assert plan_table(w).rows[0][0] == "Sample again, then decide"
    assert plan_table(w).marked == 0


def test_the_table_shows_the_plans_an_owner_asks_for_and_no_other_that_costs_less() -> None:
    for example in made.EXAMPLES:
        w = made.on_case(example)
        shown = choices.shown(w)
        assert shown[0] == w.open_plans[0]
        assert len(w.plans) - 1 in shown
        assert w.recommended in shown
        assert len(shown) <= choices.MOST + 2
        cheapest = min(plan.cost.value for plan in w.plans[w.open_plans[0] :])
        assert min(w.plans[i].cost.value for i in shown) == cheapest


def test_a_limit_that_none_keeps_is_said() -> None:
    w = weighing(with_values(plain_case(), "plan", most_risk=0.01))
    said = printed.plain(owner.report_html(w))
    assert "No plan keeps to the limit you entered, 1 failures of 100" in said
    assert "“Now”: about 4 of 100 (between 2 and 6)" in said


def test_a_figure_that_changes_names_the_plan_and_what_keeping_costs() -> None:
    w, changes, free = made.told()
    tables = [b for b in blocks(owner.owner_document(w, changes, free)) if isinstance(b, Table)]
    columns = (*report_what_if.COLUMNS, report_what_if.CHEAPER)
    table = next(table for table in tables if table.columns == columns)
    rows = [[printed.plain(cell) for cell in row] for row in table.rows]
    assert rows[0][1:] == ["next oil change", "5,110", "–", "–", "–"]
    assert rows[1][1:] == [
        "the same",
        "7,630",
        "2,520 more",
        "stays, by your limit",
        "never: 5,910",
    ]
    assert rows[3][1:] == ["now", "6,600", "1,490 more", "40 more: nearly a tie", "–"]
    # At the 3rd oil change 16 of 100 fail within 5 years: within 10, no plan keeps to 15.
    kept = ["9,270", "4,160 more", "60 more: nearly a tie", "no plan keeps to it"]
    assert rows[5][1:] == ["3rd oil change", *kept]


def test_a_cheaper_plan_above_the_limit_is_named_where_there_is_one_and_explained() -> None:
    """Without the limit the quote doubled makes “never” the cheapest of the kept answer; the prices
    in the last column are those of the plans then free to be chosen."""
    w, changes, free = made.told()
    by_name = {each.changed: each for each in free}
    assert by_name["job_double"].at is None
    assert by_name["job_double"].cost < changes[1].cost
    told = [row[-1] for row in report_what_if.rows(w, changes, free)]
    assert [text for text in told if ":" in text] == [
        "never: 5,910",
        "never: 3,540",
        "never: 2,790",
    ]
    assert report_what_if.CHEAPER in report_what_if.columns(changes, free)
    assert "rules out the last column" in report_what_if.note(w, changes, free)
    without = report_what_if.rows(w, changes)
    assert report_what_if.columns(changes) == report_what_if.COLUMNS
    assert without[-1][1] == "3rd oil change (over your limit)"
    assert "left out" in report_what_if.note(w, changes)


def test_a_machine_kept_for_less_than_the_workshop_is_booked_has_one_choice() -> None:
    """Nothing is said of a replacement that cannot be had, and never stands there once."""
    w = weighing(with_values(plain_case(), "plan", booking_weeks=520.0))
    last = len(w.plans) - 1
    assert choices.shown(w) == [last]
    assert [each.name for each in choices.pictured(w)] == ["Never"]
    assert [row[0] for row in report_options.rows(w)] == ["Never"]
    assert "can no longer fail" not in unescape(owner.report_html(w))
