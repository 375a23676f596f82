"""No figure on the terminal is cut off or parted from its unit, however many digits it needs."""

from __future__ import annotations

from dataclasses import replace
from io import StringIO

import pytest
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table

from riskmodel.decision.intervals import IntervalStudy, interval_study
from riskmodel.decision.results import Weighing
from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
from riskmodel.records.files import read_case
from riskmodel.records.quantity import scaled
from riskmodel.report.intervals_report import print_intervals
from riskmodel.report.terminal import print_weighing
from riskmodel.report.terminal_layout import put, wrapped
from riskmodel.words.formats import NBSP, money, money_range
from tests.report.made import DATA

WIDTHS = ["40", "80", "200"]
CUT = "…"


def dear(case: Case) -> Case:
    """The case in a currency of which one buys little: a hundred and sixty to a euro."""
    cost = case.cost
    priced = {
        name: scaled(getattr(cost, name), 160)
        for name in ("planned", "urgent", "failure", "found_worn", "oil_change")
    }
    return replace(case, cost=replace(cost, currency="JPY", **priced))


@pytest.fixture(scope="module")
def wide() -> Case:
    return dear(read_case(DATA / "road-car"))


@pytest.fixture(scope="module")
def weighing(wide: Case) -> Weighing:
    return weigh(wide)


@pytest.fixture(scope="module")
def study(wide: Case) -> IntervalStudy:
    return interval_study(wide, [5000.0])


@pytest.mark.parametrize("width", WIDTHS)
def test_every_figure_of_the_plans_is_told_in_full(
    weighing: Weighing,
    width: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("COLUMNS", width)
    print_weighing(weighing)
    told = capsys.readouterr().out
    assert CUT not in told
    for plan in weighing.all_plans:
        assert money(plan.cost.value, "") in told
        assert money(plan.bad_case, "") in told
        assert f"–{money_range(plan.cost.low, plan.cost.high, '').split()[-1]})" in told


@pytest.mark.parametrize("width", WIDTHS)
def test_every_figure_of_the_interval_study_is_told_in_full(
    wide: Case,
    study: IntervalStudy,
    width: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("COLUMNS", width)
    print_intervals(wide, study)
    assert CUT not in capsys.readouterr().out


@pytest.mark.parametrize("width", [20, 60])
def test_a_table_too_wide_runs_on_and_its_words_are_folded(width: int) -> None:
    out = Console(width=width, file=StringIO())
    table = Table("Some words")
    table.add_column("One\nheading", no_wrap=True)
    table.add_row("one two three", "1,234,567 (1,000,000–2,000,000)")
    put(out, table)
    assert out.width == width
    file = out.file
    assert isinstance(file, StringIO)
    told = file.getvalue()
    assert "1,234,567 (1,000,000–2,000,000)" in told
    assert CUT not in told
    assert ("one two three" in told) == (width == 60)


def test_the_narrow_form_stands_in_where_the_table_does_not_fit() -> None:
    def of(width: int) -> str:
        out = Console(width=width, file=StringIO())
        broad, narrow = Table(), Table()
        broad.add_column("broad " * 5, no_wrap=True)
        narrow.add_column("narrow", no_wrap=True)
        put(out, broad, narrow)
        assert isinstance(out.file, StringIO)
        return out.file.getvalue()

    assert "narrow" in of(20)
    assert "broad" not in of(20)
    assert "broad" in of(60)
    assert "narrow" not in of(60)


@pytest.mark.parametrize("width", range(20, 50))
def test_no_line_ends_between_a_currency_and_its_amount(width: int) -> None:
    out = Console(width=width, file=StringIO())
    text = f"It costs about EUR{NBSP}2,960 in all, a well-kept engine{NBSP}included; so be it."
    out.print(wrapped(out, text))
    assert isinstance(out.file, StringIO)
    lines = out.file.getvalue().splitlines()
    assert max(map(len, lines)) <= width
    assert " ".join(lines) == text
    assert any(f"EUR{NBSP}2,960" in line for line in lines)


def test_letters_two_columns_wide_fit_as_well() -> None:
    out = Console(width=20, file=StringIO())
    out.print(wrapped(out, "\u8eca" * 30))
    assert isinstance(out.file, StringIO)
    told = out.file.getvalue()
    assert max(map(cell_len, told.splitlines())) <= 20
    assert told.count("\u8eca") == 30
