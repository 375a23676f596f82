"""The first visit: a few plain questions from which a first verdict is made."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from riskmodel.records.inputs import BY_KEY, Unit
from riskmodel.words import belief, formats

INTRO = (
    "For an engine with a weak part that wears and gives little warning. You need what the meter "
    "shows and a quote for replacing the part; a guess will do for the rest. Some ten plain "
    "questions give a first verdict, and whatever you add later sharpens it."
)
KEPT = (
    "While you answer, the answers stand in the address of this page, so that loading it anew "
    "loses nothing; with the first verdict they go into one file on this computer, the log. "
    "Nothing is sent anywhere."
)
QUESTIONS = "A first verdict"
MACHINE, MONEY, LIFE = "The machine", "The money", "How long such parts last"
YOURS = "Your machines"
YOURS_ABOUT = "Kept on this computer. Open one to go on where you left it."
OTHERWISE = "Or"
EXAMPLES_ABOUT = "Look at an example first. Its machine, records and prices are invented."
DO = "Show the first verdict"
DO_STOP = "Keep this machine, with what is noticed"
START_ANOTHER = "Start a machine of your own"
MADE = (
    "These answers became {name}. To change a figure, open it: its panel holds them all. Answering "
    "differently here and going on starts another machine."
)
OPEN = "Open {name}"
OPEN_EXAMPLE = "Example: {name}"
UPLOAD = "Open a case that was saved as a file"

LABELS: Mapping[str, str] = {
    "name": "What do you call the machine?",
    "unit": "What does its meter count?",
    "reading": "What does the meter show now, {in_unit}?",
    "year": "How much will it be used in a year, {in_unit}?",
    "part": "Which part is it about?",
    "fitted": "If this part was replaced before: what did the meter show then, {in_unit}?",
    "interval": "How much use is there between two oil changes, {in_unit}?",
    "currency": "In which money are the prices?",
    "planned": "What would replacing it in good time cost: the quote?",
    "failure": "What would a failure cost: another engine, the tow, all told?",
    "keep": "How many more years will you keep the machine?",
    "source": "By what shall the life of such parts be judged?",
    "records": "One line for each part: how long it lasted, then what became of it",
}
"""Each question by the name of its answer."""

HELP: Mapping[str, str] = {
    "name": "Only to know it again.",
    "reading": BY_KEY["machine.reading"].help,
    "year": BY_KEY["machine.usage_per_year"].help,
    "part": BY_KEY["part.name"].help,
    "fitted": "Left empty: it is the part that the machine was built with, as far as you know.",
    "interval": "Plans are made for oil changes, and so are samples.",
    "currency": "Three letters or a sign, to be printed with every price.",
    "planned": "One figure, or two between which the price lies nine times in ten.",
    "failure": "One figure, or two between which it lies nine times in ten: a guess will do.",
    "keep": "Until you sell it, scrap it or hand it on. Months as a part of a year: 1.5.",
}
UNITS: Mapping[Unit, str] = {"km": "kilometres", "mi": "miles", "h": "hours of running"}
IN_UNIT: Mapping[Unit, str] = {"km": "in km", "mi": "in miles", "h": "in hours"}
NAME_HOLDER = "for example: the blue van"
CURRENCY_HOLDER = "EUR, GBP, USD"
FITTED_HOLDER = "not that I know"
FROM, TO = "about, or from", "up to"

SOURCES: Mapping[str, str] = {
    "belief": "By what I, or a mechanic whom I trust, believe",
    "records": "By records of such parts that I have",
    "invented": "By invented records, only to see how it works",
}
SOURCES_HELP: Mapping[str, str] = {
    "belief": "Two ages tell it; ranges are welcome. Records can be added at any time.",
    "records": (
        "Parts that failed, parts taken out early and parts still running all count: without "
        "those that still run, the life would look shorter than it is."
    ),
    "invented": (
        "They come with the examples and tell nothing about a real engine. The verdict will say "
        "so until records of your own, or a belief, take their place."
    ),
}
RECORDS_ABOUT = (
    "For example: “124000 failed”, “98000 running”, “110000 removed worn”. Cells copied from a "
    "spreadsheet, headings and all, can be pasted as well. A larger table is better brought in "
    "afterwards, where each of its columns is asked about: start with a belief then."
)
RECORDS_HOLDER = "124000 failed\n98000 running"
MOST_RECORDS = 6000
"""Characters of records that fit into an address (judgement)."""

STILL_OPEN = "Still to answer:"
NOT_YET = "These answers could not be taken yet."
QUESTION, FOUND, EXPECTED = "Question", "Found", "Expected"
NOTHING = "nothing"
A_NUMBER, TWO_AGES = "a number", "an age for each of the two questions"
SOME_RECORDS = "at least one line, such as “124000 failed”"
A_LINE = "an age and what became of the part, such as “124000 failed”"
A_WORD = (
    "a word for what became of the part: failed, running, removed, removed worn or removed unworn"
)
NO_FAILURE = "none of these parts failed or came out worn"
A_FAILURE = (
    "at least one that did: else start with what you believe, and add these records afterwards"
)
NO_HEADINGS = "a heading for the age and one for what became of the part"
LINE = "Line {number}"

INVENTED = (
    "ILLUSTRATION. {share} of the life records behind this verdict are invented: they were picked "
    "to see how it works and say nothing about this engine. Do not act on it before records of "
    "real parts, or a belief of your own, have taken their place."
)
ON_INVENTED = "This rests on invented records and says nothing about this engine."
_SHORT: Mapping[str, str] = {
    "reading": "the meter",
    "year": "the use in a year",
    "planned": "the quote",
    "failure": "the price of a failure",
    "keep": "how long you keep it",
    "tenth": "when 1 in 10 would have failed",
    "half": "when half would have failed",
    "records": "the records",
}
_KEYS: Mapping[str, str] = {
    "machine.name": "name",
    "machine.reading": "reading",
    "machine.usage_per_year": "year",
    "part.name": "part",
    "part.fitted_at": "fitted",
    "oil.interval": "interval",
    "cost.currency": "currency",
    "cost.planned": "planned",
    "cost.failure": "failure",
    "plan.keep_years": "keep",
    "life.records": "records",
}

_KEY = re.compile(
    "|".join(rf"\b{re.escape(key)}\b" for key in sorted(BY_KEY, key=len, reverse=True))
)
_LONG = re.compile(r"(?<![\w.,“\"-])\d{4,15}(?![\w.])")


def question(name: str, unit: Unit) -> str:
    """A question as it stands on the page: "What does the meter show now, in miles?"."""
    if name in ("tenth", "half"):
        return belief.question({"tenth": 0.1, "half": 0.5}[name], unit)
    return LABELS[name].format(in_unit=IN_UNIT[unit])


def question_of(key: str, unit: Unit) -> str:
    """The question that states an input, by its key; the key's label where none does."""
    if key in _KEYS:
        return question(_KEYS[key], unit)
    entry = BY_KEY.get(key)
    return key if entry is None else entry.label


def in_records(where: str) -> str:
    """A place in the records that were pasted."""
    return f"The records, {where[:1].lower()}{where[1:]}" if where else "The records"


def plainly(text: str) -> str:
    """A message about a case file with labels in the place of its keys, and thousands apart."""
    text = _KEY.sub(lambda match: f"“{BY_KEY[match[0]].label}”", text)
    return _LONG.sub(lambda match: f"{int(match[0]):,}", text)


def interval_holder(unit: Unit) -> str:
    """What the empty box of the oil interval says."""
    usual = BY_KEY["oil.interval"].default_for(unit)
    assert isinstance(usual, float)
    return f"{formats.usage(usual, unit)} if left empty"


def still_open(names: Sequence[str]) -> str:
    """Which answers are missing: "Still to answer: the meter and the quote."."""
    return f"{STILL_OPEN} {formats.listed([_SHORT[name] for name in names])}."


def invented(found: int, of: int) -> str:
    """That a verdict rests on invented records; `found` of `of` records are."""
    return INVENTED.format(share="All" if found >= of else f"{found:,} of {of:,}")
