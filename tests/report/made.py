"""Cases whose report is looked at: the two examples, one with hostile names, one of few figures."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from riskmodel.decision.results import Weighing
from riskmodel.decision.weigh import weigh
from riskmodel.oil.fleet import with_usual
from riskmodel.records.case import Consequence, WhileOpen
from riskmodel.records.files import read_case
from riskmodel.records.quantity import exactly
from riskmodel.report.owner import other_figures
from riskmodel.risk.life_curves import life_curves
from tests.report.told.answer import Answer, answer
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
def example(name: str) -> Answer:
    """An example weighed, with the verdicts for other figures, and without the owner's limit."""
    case = with_usual(read_case(DATA / name))
    curves = life_curves(case)
    return weigh(case, curves), *other_figures(case, curves)


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


def told() -> Answer:
    """A real answer, kept, for the reader's test: no change of the model changes its key."""
    return answer()
