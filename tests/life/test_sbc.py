"""Truths fall evenly over the posterior: ranks over truths drawn from the prior are uniform (Cook,
Gelman & Rubin 2006, J. Comp. Graph. Stat. 15, 675-692).

The places of 200 truths have mean 1/2 and mean square deviation 1/12 from it, with standard errors
(12 x 200)^-1/2 and (180 x 200)^-1/2. `tests/studies/sbc.py` has the long form.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.life.posterior import Curves
from riskmodel.records.tables import LifeRecords
from tests.studies.coverage import late
from tests.studies.sbc import FIGURES, Design, Fit, fitted, one, uniform

SETS, LIMIT = 200, 4.0
Survived = tuple[float, float] | None
LATE = Design("20, all met late, and the engine itself", lambda r, b, n: late(r, b, n, 20))


def worst(fit: Fit) -> float:
    """The farthest that mean or spread of any figure's places is off, in standard errors."""
    found = np.array([one(LATE, number, fit) for number in range(SETS)])
    told = [uniform(found[:, k]) for k in range(len(FIGURES))]
    return max(max(abs(each.mean), abs(each.spread)) for each in told)


def test_truths_fall_evenly_over_the_posterior() -> None:
    assert worst(fitted) < LIMIT


def forgets_entry(data: LifeRecords | None, survived: Survived) -> Curves:
    """As if every part had been watched from new."""
    assert data is not None
    return fitted(replace(data, entered_at=np.zeros(len(data.age))), survived)


def squared(data: LifeRecords | None, survived: Survived) -> Curves:
    """Twice as sure as the records are."""
    found = fitted(data, survived)
    weight = found.weight**2
    return replace(found, weight=weight / weight.sum())


@pytest.mark.parametrize("wrong", [squared, pytest.param(forgets_entry, marks=pytest.mark.slow)])
def test_a_wrong_weight_is_noticed(wrong: Fit) -> None:
    assert worst(wrong) > LIMIT
