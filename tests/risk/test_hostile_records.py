"""Records that break fits: what is said of them is an answer, a reason or a refusal.

Warnings fail these tests, so a storm of them would too.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from riskmodel.decision.sensitivity import life_sensitivity
from riskmodel.decision.weigh import weigh
from riskmodel.life.summary import summarise
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.tables import LifeRecords
from riskmodel.report.as_json import weighing_json
from riskmodel.report.life_json import life_json
from riskmodel.risk.learned import Known, learned
from riskmodel.words import learned as words
from tests.life.made import HOSTILE, records, reference
from tests.risk.cases import case_with
from tests.words.test_wording import NEVER

MORE: dict[str, LifeRecords] = {
    "spanning 1 to 10 million": records(
        np.geomspace(1, 1e7, 12), ["failed", "running"] * 6, entered_at=0.0
    ),
    "steep": records(1000 + np.arange(8.0), "failed"),
    "survivors only": records([90_000.0] * 30, "running"),
    "failures only": records([70_000.0, 90_000, 150_000]),
    "six of 1,703": reference("bearing_cage"),
    "worn only": records([90_000.0, 95_000], "removed_worn"),
    "a million of one": records([90_000.0, 120_000], ["failed", "running"], count=[1, 1e6]),
}
ALL = HOSTILE | MORE
REFUSED = {"failure at age 0"}


def case_of(data: LifeRecords) -> Case:
    """A car of 100,000 km with a belief, and these records."""
    believed = case_with(None, life={"b50_prior": [90_000, 250_000]})
    return replace(believed, records=data)


def numbers(told: Any) -> list[float]:
    """Every number in a JSON value."""
    if isinstance(told, dict):
        return [x for value in told.values() for x in numbers(value)]
    if isinstance(told, list):
        return [x for value in told for x in numbers(value)]
    return [told] if isinstance(told, float) else []


def possible(known: Known) -> bool:
    ends = [x for x in (known.low, known.chance, known.high) if x is not None]
    return all(0 <= x <= 1 for x in ends) and ends == sorted(ends)


@pytest.mark.parametrize("name", ALL)
def test_an_answer_or_a_plain_refusal(name: str) -> None:
    case = case_of(ALL[name])
    if name in REFUSED:  # the only data that even a belief cannot bear
        for ask in (learned, weigh, life_sensitivity):
            with pytest.raises(CannotAnswer, match="age 0"):
                ask(case)
        return
    found, weighing, tried = learned(case), weigh(case), life_sensitivity(case)
    for known in (found.both, found.by_records, found.by_belief):
        assert possible(known)
        assert (known.chance is None) == bool(known.why_not)
    told = weighing_json(weighing, found, tried)
    assert all(math.isfinite(x) for x in numbers(told))
    json.dumps(told, allow_nan=False)
    said = [
        *words.source_sentences(case, found),
        *words.remark_items(found),
        words.choice_sentence(case, found),
        *words.effect_sentences(case, found),
    ]
    assert all(said)
    assert not any(NEVER.search(text) for text in said)


@pytest.mark.parametrize("name", ALL)
def test_the_summary_is_an_answer_or_a_plain_refusal(name: str) -> None:
    if name in REFUSED:
        with pytest.raises(CannotAnswer, match="age 0"):
            summarise(ALL[name])
        return
    found = summarise(ALL[name], [(15.0, 10.0), (120_000.0, 8_000.0)])
    told = life_json(found, "km")
    assert all(math.isfinite(x) for x in numbers(told))
    json.dumps(told, allow_nan=False)
    for asked in found.conditional:
        assert asked.probability is None or 0 <= asked.probability <= 1
    if found.shape.estimate is None:
        assert found.warnings
