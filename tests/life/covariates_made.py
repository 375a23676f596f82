"""Records with covariates for the tests: small invented ones, and what is asked of their fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.covariate_design import design
from riskmodel.life.covariates import CovariateFit, Term
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.made import joined, observed, records
from tests.studies import covariates_reference as brute

Floats = NDArray[np.float64]

SHAPE_PRIOR = Quantity(1.2, 5.0)
LEAD = Quantity(100.0, 600.0)


def given_by(plain: LifeRecords, **covariates: Sequence[float | str]) -> LifeRecords:
    return replace(plain, covariates={name: tuple(column) for name, column in covariates.items()})


def term(fitted: CovariateFit, column: str, level: str | None = None) -> Term:
    return next(t for t in fitted.terms if (t.column, t.level) == (column, level))


def two_levels(seed: int = 5) -> LifeRecords:
    """40 parts under soft and hard use: exact, interval and censored, some met late."""
    rng = np.random.default_rng(seed)
    kinds = {"censor": 0.8, "enter": 0.3, "between": 0.2}
    soft = observed(rng, 25, 2.5, 2000.0, **kinds)
    hard = observed(rng, 15, 2.5, 1300.0, **kinds)
    return given_by(joined(soft, hard), use=("soft",) * 25 + ("hard",) * 15)


def mixed_columns(seed: int = 5) -> LifeRecords:
    """The same parts with a number and a second column of words that do nothing."""
    rng = np.random.default_rng(seed + 1)
    plain = two_levels(seed)
    return given_by(
        plain,
        use=plain.covariates["use"],
        interval=[float(v) for v in rng.choice([5.0, 10.0, 15.0, 20.0], 40)],
        grade=[str(v) for v in rng.choice(["a", "b", "c"], 40)],
    )


def looked_at() -> LifeRecords:
    """A few parts of every outcome, among them removed ones that were looked at."""
    return given_by(
        records(
            [900, 1000, 1500, 700, 1200, 300, 800, 2000, 1000, 1100, 1500, 700, 950],
            [
                *("failed", "running", "running", "removed", "failed", "running", "running"),
                *("running", "removed_worn", "removed_unworn", "removed_unworn"),
                *("removed_worn", "failed"),
            ],
            age_from=[np.nan] * 12 + [600],
            entered_at=[0, 200, 0, 0, 300, 0, 100, 0, 0, 0, 500, 0, 0],
            count=[1, 2, 1, 1, 1, 3, 1, 1, 1, 1, 2, 1, 1],
        ),
        use=tuple("aaaabbbbabaab"),
    )


def parts_of(plain: LifeRecords, **design_options: Any) -> brute.Parts:
    coded = design(plain, **design_options)
    return brute.Parts(
        plain.age,
        plain.outcome,
        plain.age_from,
        plain.entered_at,
        coded.weight,
        coded.patterns[coded.pattern_of],
    )


NONE_FAILED = given_by(records([1000.0, 700.0, 900.0], "running"), use=tuple("aba"))
