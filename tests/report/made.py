"""Cases whose report is looked at: the two examples, one with hostile names, one of few figures."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

from riskmodel.decision.occasions import Occasion
from riskmodel.decision.results import Interval, Weighing
from riskmodel.decision.weigh import weigh
from riskmodel.decision.what_if_figures import FigureChange, what_if_figures
from riskmodel.oil.fleet import with_usual
from riskmodel.records.case import Consequence, WhileOpen
from riskmodel.records.files import read_case
from riskmodel.records.quantity import exactly
from riskmodel.risk.life_curves import life_curves
from tests.words.weighings import plain_case, weighing, with_values

DATA = Path(__file__).parents[2] / "data"
EXAMPLES = ("road-car", "work-boat")

HOSTILE = (
    "<script>alert(1)</script><b>&amp; \"quotes\" 'single' `ticks`",
    '=HYPERLINK("http://example.org","click") +1 @SUM(A1) -2',
    "#panic() #let x = [*bold*] $x^2$ \\ // @ref <label> _under_ ~",
    "‮evil‬ שלום עולם‏ العربية 1234",
    "A" * 10_000,
    "🏎️👨‍👩‍👧 😀 中文 ठ \ue000 \x07\x1b[31m",
    "line one\nline two\ttabbed http://example.org/picture.png",
)


@cache
def example(name: str) -> tuple[Weighing, tuple[FigureChange, ...]]:
    """An example weighed, with the verdicts for other figures."""
    case = with_usual(read_case(DATA / name))
    curves = life_curves(case)
    return weigh(case, curves), what_if_figures(case, curves)


def on_case(name: str) -> Weighing:
    """An answer made by hand for the case of an example: quick, where its figures do not matter."""
    return weighing(read_case(DATA / name))


def hostile() -> Weighing:
    """An answer in which every name is meant to do harm, or to break a line or a table."""
    harm = HOSTILE
    case = plain_case()
    case = with_values(case, "machine", name=harm[0], date="2026-11-01", invented=True)
    case = with_values(
        case, "part", name=harm[3], code=harm[1], lining=harm[4], traits={harm[2]: harm[5]}
    )
    lines = tuple(WhileOpen(text, exactly(10), exactly(90), 0.2, True) for text in harm)
    ends = tuple(Consequence(text, exactly(100)) for text in harm)
    return weighing(
        with_values(
            case,
            "cost",
            currency="€<b>" + harm[1],
            while_open=lines,
            consequence=ends,
        )
    )


def knocking() -> Weighing:
    """The road car with symptoms: its figures are there, and must not be told."""
    case = read_case(DATA / "road-car")
    return weighing(with_values(case, "machine", symptoms=("knock", "metal in the filter")))


def told() -> tuple[Weighing, tuple[FigureChange, ...]]:
    """An answer made by hand, for the reader's test: no change of the model changes its key."""
    case = with_values(plain_case(), "machine", date="2026-11-01", name="Test car")
    case = with_values(case, "plan", most_risk=0.15)
    tow = Consequence("tow home", exactly(300))
    w = weighing(with_values(case, "cost", consequence=(tow,)))
    year = replace(
        w.plans[2],
        at=11_500.0,
        service=None,
        failure=Interval(0.12, 0.08, 0.17),
        cost=Interval(5300.0, 3900.0, 7100.0),
        bad_case=16_000.0,
        occasion=Occasion("year", 11_500.0),
    )
    changes = (
        FigureChange("as_it_stands", 5200.0, 1, None, 5180.0, 5180.0),
        FigureChange("job_double", 13_200.0, 2, None, 7610.0, 7900.0),
        FigureChange("failure_half", None, None, None, 3900.0, 4420.0),
        FigureChange("failure_double", 0.0, 0, None, 5900.0, 6330.0),
        FigureChange("keep_half", 5200.0, 1, None, 3600.0, 3600.0),
        FigureChange("keep_double", 5200.0, 1, None, 9100.0, 9100.0),
    )
    return replace(w, plans=(*w.plans[:2], year, *w.plans[2:])), changes
