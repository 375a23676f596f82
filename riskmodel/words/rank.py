"""The ranking of many machines in words."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from riskmodel.decision.rank import Ranking, Standing
from riskmodel.records.inputs import Unit
from riskmodel.records.log.fold import LEAST_TO_CHANGE
from riskmodel.words import formats
from riskmodel.words.oil_times import times_as_likely

HEADING = "What waiting until the next oil change costs"
MEANING = (
    "Waiting costs: the expected cost of the cheapest plan that does not replace the part before "
    "the next oil change, less that of replacing it now. Below 0 waiting is the cheaper."
)
QUICK = (
    "Machines are weighed by a quick form of the model, close to the full one but not the same; "
    "weigh a machine on its own before deciding about it."
)
CAUTION = (
    "This estimates; it inspects nothing. A low place in the list is no all-clear. Stop at once if "
    "oil pressure drops, if it knocks, or if there is metal in the filter. The procedures of "
    "the maker, local rules and a qualified mechanic come first."
)
STOP = "Stop: do not start it; have it towed. With symptoms nothing is weighed."
NO_MACHINE = "No machine to rank."


def why(s: Standing) -> str:
    """Why a machine stands where it does, in a few sentences."""
    if s.symptoms:
        return f"{formats.sentence(formats.listed(list(s.symptoms)))}. {STOP}"
    found = []
    if s.overdue_days:
        found.append(
            f"A sample is overdue by {formats.plural(s.overdue_days, 'day')}: ask for the result "
            "before anything else."
        )
    if s.chance is not None and s.until is not None:
        found.append(
            f"{formats.sentence(formats.chance(s.chance))} would fail before the next oil change"
            f"{_next_change(s.until, s.unit)}{_oil(s)}."
        )
    found.append(_cost(s))
    return " ".join(text for text in found if text)


def _next_change(until: float, unit: Unit) -> str:
    if until <= LEAST_TO_CHANGE:
        return ", which is due"
    return f" in {formats.usage(until, unit)}"


def _oil(s: Standing) -> str:
    if s.oil_factor is None:
        return ""
    return f"; its samples make that {times_as_likely(s.oil_factor)}"


def _cost(s: Standing) -> str:
    if s.waiting is None:
        return ""
    amount = formats.money(abs(s.waiting), s.currency)
    if s.waiting > 0:
        return f"Waiting until then costs {amount} more than replacing now."
    return f"Waiting until then costs {amount} less than replacing now."


def plan(s: Standing) -> str:
    """The recommended plan: "now", "in 8,000 km (about March 2027)", "not while you keep it"."""
    if s.symptoms:
        return "stop"
    if s.best_at is None:
        return "not while you keep it"
    if s.best_at == 0:
        return "now"
    text = f"in {formats.usage(float(f'{s.best_at:.3g}'), s.unit)}"
    return text if s.due is None else f"{text}, {month(s.due[:7])}"


def month(told: str) -> str:
    """ "December 2026" from "2026-12"."""
    year, number = told.split("-")
    return f"{datetime.date(int(year), int(number), 1):%B %Y}"


def summary(ranking: Ranking, shown: Sequence[Standing]) -> list[str]:
    """How many machines there are, and how many want what."""
    many = len(shown)
    if not many:
        return [NO_MACHINE]
    stop = sum(bool(s.symptoms) for s in shown)
    late = sum(bool(s.overdue_days) for s in shown)
    dear = sum(s.waiting is not None and s.waiting > 0 for s in shown)
    found = [f"{formats.plural(many, 'machine')}, the most urgent first."]
    if stop:
        towed = "it" if stop == 1 else "them"
        found.append(
            f"{formats.plural(stop, 'machine')} with symptoms: stop, and have {towed} towed."
        )
    if late:
        found.append(f"{formats.plural(late, 'machine')} with an overdue sample.")
    found.append(f"For {dear} of {many} replacing now is cheaper than waiting.")
    if len(ranking.currencies) > 1:
        told = formats.listed([name or "no currency" for name in ranking.currencies])
        found.append(
            f"Amounts are in {told}: they are compared as plain numbers, so rank each currency on "
            "its own."
        )
    full = sum(s.full for s in shown)
    if full:
        found.append(f"{formats.plural(full, 'machine')} at the top weighed fully (marked *).")
    return found


def booking(found: Sequence[Standing], told: str) -> list[str]:
    """What is to be booked by the end of a month, a sentence a machine."""
    if not found:
        return [f"Nothing to book by the end of {month(told)}, as the plans stand."]
    return [
        f"{s.machine}: replace {plan(s)}"
        + (f"; book by {formats.day(s.book_by)}" if s.book_by is not None else "")
        + "."
        for s in found
    ]
