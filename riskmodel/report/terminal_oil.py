"""What the oil samples say, as text for a terminal."""

from __future__ import annotations

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from riskmodel import words
from riskmodel.oil.fleet import Fleet
from riskmodel.oil.mass_balance import Rate
from riskmodel.records.case import Case
from riskmodel.report.terminal import console, section
from riskmodel.report.terminal_layout import put
from riskmodel.risk.oil_look import OilLook
from riskmodel.words import formats, oil, oil_fleet, oil_fleet_limits, screen


def print_oil(case: Case, look: OilLook) -> None:
    """Rates, limits, what sampling would catch, how to sample, the cautions."""
    out = console()
    banner = words.example_banner(case)
    if banner:
        out.print(Text(banner, style="bold"))
        out.print()
    if look.rows:
        put(out, _rates(case, look))
    else:
        out.print(screen.NO_SAMPLES)
    section(out, "The samples", oil.rate_sentences(case, look.rows))
    section(out, "Limits for the eye", oil.limit_sentences(case, look.rows, look.limits))
    if look.fleet is not None:
        _fleet(out, case, look.fleet)
        told = oil_fleet_limits.limit_sentences(case, look.rows, look.fleet)
        section(out, oil_fleet_limits.LIMITS, told)
    if look.foresight is not None:
        told = oil.foresight_sentences(case, look.foresight)
        section(out, "What sampling would catch", told)
    section(out, "How to sample well", [oil.SAMPLING_LEAD, *oil.sampling_well()])
    section(out, "Cautions", words.cautions(case))


def _fleet(out: Console, case: Case, fleet: Fleet) -> None:
    """What other engines' samples tell: figures, and what they rest on."""
    rows = oil_fleet.level_table(case, fleet)
    table = Table(
        box=box.SIMPLE_HEAD,
        title=oil_fleet.table_title(case),
        title_justify="left",
        title_style="",
        padding=(0, 0, 0, 1),
        pad_edge=False,
    )
    names = [name for name in rows[0] if name != oil_fleet.FROM] if rows else []
    for name in names:
        table.add_column(name.replace(", ", ",\n").replace("differ by", "\ndiffer by"))
    for symbol, row in zip(oil_fleet.order(case, fleet), rows, strict=True):
        table.add_row(symbol, *(row[name] for name in names[1:]))
    out.print()
    if rows:
        put(out, table)
    section(
        out, oil_fleet.LEVELS, [oil_fleet.table_note(), *oil_fleet.level_sentences(case, fleet)]
    )


def _rate(rate: Rate) -> str:
    return formats.significant(max(rate.point, 0.0), 2)


def _rates(case: Case, look: OilLook) -> Table:
    unit = case.machine.unit
    symbols = list(look.limits)
    own = {element.symbol for element in case.oil.element if element.from_part}
    table = Table(
        box=box.SIMPLE_HEAD,
        title=f"Wear rates in ppm per 1,000 {unit} (the part's own metals marked *)",
        title_justify="left",
        title_style="",
        padding=(0, 0, 0, 1),
        pad_edge=False,
    )
    table.add_column(f"At\n[{unit}]", justify="right", no_wrap=True)
    table.add_column(f"Oil\n[{unit}]", justify="right", no_wrap=True)
    for symbol in symbols:
        table.add_column(f"{symbol}{'*' if symbol in own else ''}", justify="right", no_wrap=True)
    table.add_column("Counts", no_wrap=True)
    for row in look.rows:
        rates = [row.rates.get(symbol) for symbol in symbols]
        table.add_row(
            formats.number(row.age),
            formats.number(row.oil_age),
            *("" if rate is None else _rate(rate) for rate in rates),
            "yes" if row.used else "no",
        )
    return table
