"""Plain questions about an ordinary week or year, and the shares of use that the answers imply.

Nobody knows shares of usage, but people know how many cold starts a week has. "Don't know" is an
answer: the kinds of use that hang on it are then not told, and shared out as in the population
with more spread. How far a short trip or a warm-up is are judgements, told beside the share.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from riskmodel.records.errors import one_of
from riskmodel.records.inputs import Unit
from riskmodel.use.kinds import (
    COLD,
    FULL_LOAD,
    HEAVY,
    LOW_OIL,
    LUGGING,
    OLD_OIL,
    TOWING,
    UNWARMED,
    WRONG_OIL,
    Machine,
    machine_of,
    standard_kinds,
)
from riskmodel.use.mix import Mix

WEEKS = 52.0
SHORT_TRIP: Final[Mapping[Unit, float]] = {"km": 8.0, "mi": 5.0, "h": 0.5}
"""A trip is short below this: the oil is hardly warm by its end (judgement)."""
MEAN_SHORT_TRIP = 0.6
"""Mean length of short trips as a share of that limit: judgement."""
WARM_UP = SHORT_TRIP
"""Usage until the oil is warm on a longer trip: judgement."""

Answers = Mapping[str, float | None]
"""By the question's key; None, or no entry, is "don't know"."""


@dataclass(frozen=True, slots=True)
class Question:
    """`text` is what is asked, with the case's unit in it; answers lie from `low` to `high`."""

    key: str
    text: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class ImpliedShare:
    """The share of usage that answers imply for a standard kind; None where they do not tell.

    `asked` are the questions it hangs on.
    """

    kind: str
    name: str
    share: float | None
    asked: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Implied:
    """All shares, in the order of the standard kinds. `scale` is below 1 where hard uses added up
    to more than the whole (they can coincide) and all were reduced in proportion."""

    shares: tuple[ImpliedShare, ...]
    scale: float

    @property
    def mix(self) -> Mix:
        """As a mix of the standard kinds, by name: what was not answered is not told."""
        known = {each.name: each.share for each in self.shares if each.share is not None}
        return Mix(known, unknown=len(known) < len(self.shares))


def questions(unit: Unit) -> tuple[Question, ...]:
    """The questions for a machine counted in `unit`."""
    machine, short = machine_of(unit), f"{SHORT_TRIP[unit]:g} {_units(unit)}"
    car = machine == "car"
    asked = [
        Question("starts", "In an ordinary week, how many starts from cold?", 0, 200),
        Question("short", f"How many of them are {_trips(machine)} under {short}?", 0, 200),
        Question(
            "unwarmed",
            "Of ten longer trips, on how many is it driven hard before the oil is warm?"
            if car
            else "Of ten longer runs, on how many is full power used before the oil is warm?",
            0,
            10,
        ),
        Question(
            "hard_days",
            "How many days a year at full load for long, or in competition?",
            0,
            366,
        ),
        Question("hard_usage", f"How many {_units(unit)} on such a day?", 0, 5000),
        Question(
            "book_interval",
            f"After how many {_units(unit)} does the maker ask for an oil change?",
            1,
            100_000,
        ),
        Question(
            "own_interval", f"After how many {_units(unit)} was it changed, as a rule?", 1, 100_000
        ),
        Question(
            "wrong_fills",
            "Of ten fills of oil, how many were thinner or of another grade than the maker asks "
            "for?",
            0,
            10,
        ),
        Question(
            "low_checks",
            "Of ten looks at the dipstick, how many find the level below the lower mark?",
            0,
            10,
        ),
        Question(
            "lugging",
            f"Of ten {_units(unit)}, how many pulling hard at low engine speed?"
            if car
            else "Of ten hours, how many with the propeller holding the engine below its speed?",
            0,
            10,
        ),
        Question("towing", f"Of ten {_units(unit)}, how many with something in tow?", 0, 10),
    ]
    if not car:
        asked.append(Question("heavy", "Of ten hours, how many with the hull loaded deep?", 0, 10))
    return tuple(asked)


def implied_shares(answers: Answers, unit: Unit, usage_per_year: float) -> Implied:
    """The shares of use that the answers imply.

    `usage_per_year` is in the case's unit. Raises ValueError for an unknown question or an answer
    out of its range, and where more starts are short trips than there are starts.
    """
    _require(answers, unit)
    week = usage_per_year / WEEKS
    found = []
    for kind in standard_kinds(unit):
        asked, share = _RULES[kind.key]
        told = [answers.get(key) for key in asked]
        known = [value for value in told if value is not None]
        value = None
        if len(known) == len(told):
            value = min(1.0, max(0.0, share(known, unit, week)))
        found.append(ImpliedShare(kind.key, kind.name, value, asked))
    total = sum(each.share for each in found if each.share is not None)
    scale = min(1.0, 1.0 / total) if total > 0 else 1.0
    shares = tuple(
        ImpliedShare(
            each.kind, each.name, None if each.share is None else each.share * scale, each.asked
        )
        for each in found
    )
    return Implied(shares, scale)


def _require(answers: Answers, unit: Unit) -> None:
    asked = {question.key: question for question in questions(unit)}
    for key, value in answers.items():
        if key not in asked:
            raise ValueError(f"no question {key}; there is {one_of(list(asked))}")
        question = asked[key]
        if value is not None and not question.low <= value <= question.high:
            raise ValueError(f"{key} is {value:g}, not {question.low:g} to {question.high:g}")
    starts, short = answers.get("starts"), answers.get("short")
    if starts is not None and short is not None and short > starts:
        raise ValueError(f"{short:g} short trips, but {starts:g} starts from cold")


def _short(told: Sequence[float], unit: Unit, week: float) -> float:
    return told[1] * MEAN_SHORT_TRIP * SHORT_TRIP[unit] / week


def _unwarmed(told: Sequence[float], unit: Unit, week: float) -> float:
    starts, short, often = told
    return (starts - short) * often / 10 * WARM_UP[unit] / week


def _hard(told: Sequence[float], unit: Unit, week: float) -> float:
    return told[0] * told[1] / (week * WEEKS)


def _old_oil(told: Sequence[float], unit: Unit, week: float) -> float:
    book, own = told
    return 1 - book / own


def _of_ten(told: Sequence[float], unit: Unit, week: float) -> float:
    return told[0] / 10


_RULES: Final[
    Mapping[str, tuple[tuple[str, ...], Callable[[Sequence[float], Unit, float], float]]]
] = {
    COLD: (("starts", "short"), _short),
    UNWARMED: (("starts", "short", "unwarmed"), _unwarmed),
    FULL_LOAD: (("hard_days", "hard_usage"), _hard),
    OLD_OIL: (("book_interval", "own_interval"), _old_oil),
    WRONG_OIL: (("wrong_fills",), _of_ten),
    LOW_OIL: (("low_checks",), _of_ten),
    LUGGING: (("lugging",), _of_ten),
    TOWING: (("towing",), _of_ten),
    HEAVY: (("heavy",), _of_ten),
}


def _units(unit: Unit) -> str:
    return {"km": "km", "mi": "miles", "h": "hours"}[unit]


def _trips(machine: Machine) -> str:
    return "trips" if machine == "car" else "runs"
