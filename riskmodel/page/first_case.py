"""From the answers of the first visit to a case. No widgets here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import tomli_w

from riskmodel.page import belief, illustrative
from riskmodel.page.belief import Ends
from riskmodel.page.first_records import records_in
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer, InputError, Problem
from riskmodel.records.files import CASE_FILE, RECORDS_FILE, case_from_files
from riskmodel.records.inputs import Unit
from riskmodel.words import first_visit as words

Source = Literal["belief", "records", "invented"]
TENTH, HALF = 0.1, 0.5
_REQUIRED = ("reading", "year", "planned", "failure", "keep")
_KEYS: Mapping[str, str] = {
    "name": "machine.name",
    "reading": "machine.reading",
    "year": "machine.usage_per_year",
    "part": "part.name",
    "fitted": "part.fitted_at",
    "interval": "oil.interval",
    "currency": "cost.currency",
    "planned": "cost.planned",
    "failure": "cost.failure",
    "keep": "plan.keep_years",
}


@dataclass(frozen=True, slots=True)
class FirstAnswers:
    """What was answered; None or "" where nothing was. Ranges are two ends, of which one may be
    None: the figure is then taken as exact. `records` are pasted lines."""

    unit: Unit
    source: Source
    name: str = ""
    reading: float | None = None
    year: float | None = None
    part: str = ""
    fitted: float | None = None
    interval: float | None = None
    currency: str = ""
    planned: Ends = (None, None)
    failure: Ends = (None, None)
    keep: float | None = None
    tenth: Ends = (None, None)
    half: Ends = (None, None)
    records: str = ""
    symptoms: tuple[str, ...] = ()

    def open(self) -> list[str]:
        """The names of the answers that are still missing, in the order of the questions."""
        asked: tuple[str, ...] = _REQUIRED
        if self.source == "belief":
            asked = (*asked, "tenth", "half")
        elif self.source == "records":
            asked = (*asked, "records")
        return [name for name in asked if not _given(getattr(self, name))]

    @property
    def ages(self) -> dict[float, Ends]:
        """The two answers about the life of such parts, by the share that has failed."""
        return {TENTH: self.tenth, HALF: self.half}


def first_case(answers: FirstAnswers, today: str) -> Case:
    """The case that the answers state, its meter read `today`.

    Raises InputError, whose problems name questions as they stand on the page.
    """
    unit = answers.unit
    missing = [
        Problem("", words.question(name, unit), words.NOTHING, _expected(name))
        for name in answers.open()
    ]
    if missing:
        raise InputError(missing)
    raw: dict[str, Any] = {"format": 1, "machine": {"unit": unit, "date": today}}
    if answers.symptoms:
        raw["machine"]["symptoms"] = list(answers.symptoms)
    for name, key in _KEYS.items():
        value = _stated(getattr(answers, name))
        if value is not None:
            section, _, entry = key.partition(".")
            raw.setdefault(section, {})[entry] = value
    files: dict[str, bytes] = {}
    if answers.source == "belief":
        raw["life"] = _believed(answers)
    else:
        raw["life"] = {"records": RECORDS_FILE}
        files[RECORDS_FILE] = _records(answers)
    files[CASE_FILE] = tomli_w.dumps(raw).encode("utf-8")
    try:
        return case_from_files(files)
    except InputError as error:
        raise InputError([_by_question(each, answers) for each in error.problems]) from None


def _records(answers: FirstAnswers) -> bytes:
    """The records pasted, or the invented ones where these were picked."""
    if answers.source == "invented":
        return illustrative.records(answers.unit)
    try:
        return records_in(answers.records, answers.unit)
    except InputError as error:
        raise InputError(
            [
                Problem("", words.in_records(each.where), each.found, each.expected)
                for each in error.problems
            ]
        ) from None


def _believed(answers: FirstAnswers) -> dict[str, object]:
    try:
        found = belief.answers(answers.ages)
    except CannotAnswer as error:
        asked = words.question("half", answers.unit)
        raise InputError([Problem("", asked, str(error), words.TWO_AGES)]) from None
    return {key.partition(".")[2]: value for key, value in belief.beliefs(found).items()}


def _by_question(problem: Problem, answers: FirstAnswers) -> Problem:
    """A problem of the case file under the question that it is about."""
    place = problem.where.rpartition(", ")[2]
    if place == belief.HALF and answers.source == "records":
        asked = words.question("records", answers.unit)
        return Problem("", asked, words.NO_FAILURE, words.A_FAILURE)
    return Problem(
        "",
        words.question_of(place, answers.unit),
        words.plainly(problem.found),
        words.plainly(problem.expected),
    )


def _given(value: object) -> bool:
    if isinstance(value, tuple):
        return any(end is not None for end in value)
    return value is not None and bool(str(value).strip())


def _stated(value: object) -> object:
    """A value as the case file states it; None where it is left to its default."""
    if isinstance(value, tuple):
        given = [end for end in value if end is not None]
        return given[0] if len(set(given)) == 1 else given
    return value.strip() or None if isinstance(value, str) else value


def _expected(name: str) -> str:
    return words.SOME_RECORDS if name == "records" else words.A_NUMBER
