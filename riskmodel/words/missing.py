"""What is still missing from a case and would sharpen its answer most, with where to enter it."""

from __future__ import annotations

from dataclasses import dataclass

from riskmodel.decision.results import Weighing
from riskmodel.records.case import Case
from riskmodel.words import formats, oil_linings, screen, use_questions
from riskmodel.words.inputs_told import label

FEW = 5
"""Failures on record below which more records are asked for (judgement)."""
MOST = 5
"""So many are named at once."""
WHERE = "Under"
ORDER = (
    "In the order in which they usually matter (judgement). What each figure does in this case is "
    f"told by “{screen.TRY_OTHERS}”, further down."
)


@dataclass(frozen=True, slots=True)
class Missing:
    """One thing to add: what, and the title of the section or the label of the figure where it is
    entered; `on_the_panel` of figures, or in the page itself."""

    text: str
    section: str
    on_the_panel: bool = False


def heading(many: int) -> str:
    """ "What would sharpen this most (4 things)"."""
    return f"What would sharpen this most ({formats.plural(many, 'thing')})"


def on_the_panel(name: str) -> str:
    """Where a figure of the panel stands."""
    return f"“{name}”, among “{screen.FIGURES}”"


def missing(w: Weighing, case: Case | None = None, *, invented: bool = False) -> list[Missing]:
    """What is missing, what usually matters most first; `case` is the one weighed as it was
    entered, `invented` tells that the records are invented ones. The order does not rest on the
    figures of the case."""
    case = case or w.case
    found = [
        *_records(w, invented),
        *_samples(case),
        *_use(case),
        *_figures(case),
    ]
    return found[:MOST]


def _records(w: Weighing, invented: bool) -> list[Missing]:
    if invented:
        text = "Records of real parts in the place of the invented ones: they judge nothing real."
        return [Missing(text, screen.RECORDS)]
    if not w.records_used:
        text = (
            "Life records of such parts: the verdict rests on a belief alone. Parts still running "
            "count as well as failed ones; even a handful narrows the range."
        )
        return [Missing(text, screen.RECORDS)]
    if w.failures_used < FEW:
        held = formats.plural(w.failures_used, "failure") if w.failures_used else "no failure"
        text = f"More life records: there {_is(w.failures_used)} {held} among {w.records_used:,}."
        return [Missing(text, screen.RECORDS)]
    return []


def _is(many: int) -> str:
    return "are" if many > 1 else "is"


def _samples(case: Case) -> list[Missing]:
    """Samples of the oil; first of all which metals the part sheds."""
    if case.samples is not None and len(case.samples):
        return []
    text = (
        "Used-oil samples of this engine: they can tell distress that has begun, and with one at "
        "each oil change plans can wait for an alarm."
    )
    if not any(element.from_part for element in case.oil.element):
        text = f"{text} Say first what the part is lined with, for the metals that it sheds."
        return [Missing(text, oil_linings.TITLE)]
    return [Missing(text, screen.SAMPLES)]


def _use(case: Case) -> list[Missing]:
    if case.use.stretches:
        return []
    text = "How it was driven: hard use ages a part faster than the meter tells."
    return [Missing(text, use_questions.TITLE)]


def _figures(case: Case) -> list[Missing]:
    """Figures of the panel that stand at what is assumed where nobody states them."""
    found = []
    if "oil.next_change_in" not in case.stated:
        ahead = formats.usage(case.next_change_in, case.machine.unit)
        text = f"When the next oil change is due: {ahead} from now is assumed."
        found.append(_panel(text, "oil.next_change_in"))
    if case.cost.failure.exact:
        text = "A range for the price of a failure: one figure is taken as known to the last coin."
        found.append(_panel(text, "cost.failure"))
    if "part.entered_at" not in case.stated and case.age > 0:
        text = "If you bought it used: how old the part was then. Until then nobody was watching."
        found.append(_panel(text, "part.entered_at"))
    if "plan.booking_weeks" not in case.stated:
        text = "How long the workshop is booked ahead: nothing before its first date can be had."
        found.append(_panel(text, "plan.booking_weeks"))
    return found


def _panel(text: str, key: str) -> Missing:
    return Missing(text, label(key), on_the_panel=True)
