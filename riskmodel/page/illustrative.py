"""The invented life records of the examples: lent on purpose, and known again in any case.

They are known by what they hold and not by a mark, so that they cannot judge a real engine
unawares by whatever way they came into a case.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import lru_cache

import numpy as np

from riskmodel.decision.results import Weighing
from riskmodel.page.examples import example
from riskmodel.page.first_records import records_of
from riskmodel.records.case import Case
from riskmodel.records.files import case_to_files
from riskmodel.records.inputs import Unit
from riskmodel.records.life_table import read_records
from riskmodel.records.loose_text import read_loose
from riskmodel.records.tables import LifeRecords
from riskmodel.words import first_visit as words

ENOUGH = 0.5
"""From so large a share of them on, records are taken for those of the examples (judgement: a
table of real parts may share a round figure or two with them, never half of all)."""

_FROM: dict[Unit, tuple[str, Unit]] = {
    "km": ("road-car", "km"),
    "mi": ("road-car", "km"),
    "h": ("work-boat", "h"),
}
Row = tuple[int, str, int]


@lru_cache(maxsize=4)
def records(unit: Unit) -> bytes:
    """The invented records as a file in `unit`, without what sets engines apart."""
    folder, own = _FROM[unit]
    case = example(folder)
    text = case_to_files(case)[case.life.records or ""]
    return records_of(read_loose(text, folder), unit, own)


@lru_cache(maxsize=4)
def _known(unit: Unit) -> Counter[Row]:
    return _rows(read_records(records(unit), "records"))


def _rows(held: LifeRecords, ages: frozenset[int] | None = None) -> Counter[Row]:
    """How many parts there are of each kind, to a whole unit of usage; only those of some `ages`
    where these are given: a long table is then soon looked through."""
    whole = np.rint(held.age)
    wanted = range(len(held)) if ages is None else np.flatnonzero(np.isin(whole, list(ages)))
    count = Counter[Row]()
    for i in wanted:
        row = int(whole[i]), held.outcome[i], round(float(held.entered_at[i]))
        count[row] += round(float(held.count[i]))
    return count


def told(case: Case) -> str:
    """That a case's records are invented ones; "" where they are not, or where the whole case
    is told to be an example already."""
    if case.machine.invented or case.records is None:
        return ""
    known = _known(case.machine.unit)
    ages = frozenset(age for age, _, _ in known)
    shared = (_rows(case.records, ages) & known).total()
    if shared < ENOUGH * known.total():
        return ""
    return words.invented(shared, round(float(case.records.count.sum())))


def with_note(w: Weighing) -> Weighing:
    """The answer with the same among its notes, for the report."""
    text = told(w.case)
    return replace(w, notes=(*w.notes, text)) if text else w
