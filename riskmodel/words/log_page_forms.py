"""Labels of the short forms with which something is entered in the log, and what they answer."""

from __future__ import annotations

from collections.abc import Mapping

from riskmodel.decision.results import Weighing
from riskmodel.words.cautions import cautions
from riskmodel.words.chances import chance_sentences
from riskmodel.words.plans import ceiling_sentences, reasons, verdict

THE_LOG = "The log of this machine"
ABOUT = (
    "What has happened since: one line each. The figures and the answer above follow, and nothing "
    "that was entered is ever lost: a wrong entry is undone in the history."
)
ASK = "What happened?"
FORMS: Mapping[str, str] = {
    "reading": "Meter read",
    "oil": "Oil changed",
    "taken": "Oil sample taken",
    "sent": "Oil sample sent",
    "back": "Oil sample back",
    "told": "Owner told of a sample",
    "quote": "Price quoted",
    "decision": "Something was decided",
    "job": "Work on the part",
    "finding": "What was found, shell by shell",
    "retired": "Machine given up",
}
ENTER = "Enter"
ENTERED = "Entered:"
BY = "Who is entering (for the history)"
BY_HELP = "A name or a sign. It stays in the address of this page and in what you enter."

READING, DATE, NOTE = "Meter, {unit}", "Day", "Note"
OIL_AGE, TOP_UP, BOTTLE, LAB = (
    "Usage on that oil, {unit}",
    "Topped up, litres",
    "Bottle",
    "Laboratory",
)
DRAINED = "The oil was changed with it"
SAMPLE, ELEMENT = "Which sample", "{symbol}, ppm"
ELEMENT_HELP = (
    "As the laboratory printed it; “<2” means less than 2. Leave it empty if not measured."
)
PRICE, LOW, HIGH, OFFERED_BY, UNTIL = "Price of", "From", "To", "Offered by", "Valid until"
CHOSEN, DECLINED, DECIDED_BY = "What was decided", "The advice was declined", "Decided by"
NOTHING_CHOSEN = "Nothing yet"
ADVISED = "as advised: {plan}"
FIRST = "first"
"""Stands for finding out more first, among the plans that may be chosen."""
DONE, WHY, PAID = "What was done", "What led to it", "Price paid"
SYMPTOMS_LEFT, NEW_CODE, NEW_LINING = (
    "Still noticed afterwards",
    "Code of the new part",
    "Its lining",
)
NEW_PART_HELP = "Leave empty if it is of the same kind as the one before."
WHOLE_AT = "Last known whole at, {unit}"
WHOLE_AT_HELP = "Only for a failure whose moment is not known: the meter when it still ran well."
CAUSE = "If it failed: of what"
JOB, POSITION, LOOK = "At which work", "Which shell", "How it looked"
CLEARANCE, PHOTO = "Clearance, mm", "Photo (path of the file)"
POSITION_HOLDER = "rod 2, upper"
DONES: Mapping[str, str] = {
    "replaced": "Replaced before it failed",
    "failed_replaced": "It failed and was replaced",
    "failed": "It failed, nothing fitted yet",
    "fitted": "Another part fitted after a failure",
    "looked": "Looked at or other work, part left in",
    "looked_oil": "Looked at, part left in, fresh oil",
}
WHYS: Mapping[str, str] = {"scheduled": "It was planned", "suspected": "It was suspected"}
CAUSES: Mapping[str, str] = {"wear": "wear", "other": "another cause", "unknown": "not known"}

NO_SAMPLE = "No sample is at that step."
NO_JOB = "Enter the work on the part first; what was found belongs to it."
NO_ELEMENTS = "This case does not say which metals the laboratory measures, so none can be entered."
NO_ANSWER = "There is no answer to decide on at present."
NOT_A_NUMBER = "a number, or < and a number"

SAMPLES_HEADING = "Its oil samples"
HISTORY = "History"
DECISIONS, SHOWN_THEN = "Decisions, with the answer of that day", "The answer of that day"
UNDO_WHICH, UNDO_WHY, UNDO_DO = "Which entry", "Why", "Undo this entry"
UNDO_ABOUT = (
    "An entry that is undone stays in the history and no longer counts. Undoing the undo brings it "
    "back. Undoing the first entry takes the machine out of the log."
)
UNDO_NONE = "Choose an entry"
UNDONE = "undone"
UNDOES = "entry {seq}"
JOBS = "Work on the part"
SAMPLE_COLUMN, STATE_COLUMN, SINCE_COLUMN, OVERDUE_COLUMN = "Sample", "State", "Since", "Overdue by"


def days(amount: int) -> str:
    return "" if amount == 0 else f"{amount:,} day{'' if amount == 1 else 's'}"


def version(program: str) -> str:
    """Which program showed an answer."""
    return f"Shown by version {program} of this program:"


def record_made(outcome: str, age: str) -> str:
    """What a part that came out has become."""
    return f"The part that came out counts as a life record: {outcome} at {age}."


OUTCOMES: Mapping[str, str] = {
    "failed": "failed",
    "removed": "taken out, not looked at",
    "removed_worn": "taken out worn",
    "removed_unworn": "taken out not worn",
    "running": "still running",
}


FIELDS: Mapping[str, str] = {
    "reading": "Meter",
    "date": DATE,
    "note": NOTE,
    "oil_age": "Usage on that oil",
    "top_up": "Topped up",
    "bottle": BOTTLE,
    "lab": LAB,
    "sample": SAMPLE,
    "elements": "Results",
    "low": LOW,
    "prices": "Price",
    "until": UNTIL,
    "by": OFFERED_BY,
    "whole_at": "Last known whole at",
    "new_code": NEW_CODE,
    "new_lining": NEW_LINING,
    "replaced": DONE,
    "price": PAID,
    "position": POSITION,
    "clearance": CLEARANCE,
    "photo": PHOTO,
    "job": JOB,
    "symptoms": SYMPTOMS_LEFT,
}
"""Fields as a form calls them, for what is wrong with one."""


def shown(w: Weighing) -> str:
    """The answer in words, as it is kept with a decision and printed again."""
    told = [
        verdict(w),
        *ceiling_sentences(w),
        *chance_sentences(w),
        *reasons(w),
        *cautions(w.case),
    ]
    return "\n".join(told)
