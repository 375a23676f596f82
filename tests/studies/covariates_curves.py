"""How close the curves for one engine come to importance sampling. Run by hand:

    python -m tests.studies.covariates_curves [draws]

Printed for each case: how far the mean, the 5 % and the 95 % point of the chance of failure
ahead lie from those of a large sample, in per cent, and how many draws it is worth.
"""

from __future__ import annotations

import sys
from collections.abc import Callable

import numpy as np

from riskmodel.life.covariate_curves import trait_curves
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.covariate_curves_made import chances, covariance, kinds_of, sampled_chances
from tests.life.covariates_made import SHAPE_PRIOR, given_by, mixed_columns, two_levels
from tests.life.made import joined, records


def one_without_failures() -> LifeRecords:
    """Two levels as before, and eight survivors of a third."""
    kept = records(np.linspace(600.0, 2000.0, 8), "running")
    plain = two_levels()
    return given_by(joined(plain, kept), use=(*plain.covariates["use"], *("none",) * 8))


def two_failures() -> LifeRecords:
    """Four parts of either level, of which one each failed."""
    return given_by(
        records(
            [900, 1000, 1500, 700, 1200, 300, 800, 2000],
            ["failed", "running", "running", "running"] * 2,
        ),
        use=tuple("aaaabbbb"),
    )


def one_failure() -> LifeRecords:
    """The same, of which one failed."""
    plain = two_failures()
    return given_by(
        records(plain.age, ["running"] * 4 + ["failed"] + ["running"] * 3), use=tuple("aaaabbbb")
    )


Range = tuple[float, float]

CASES: tuple[
    tuple[Callable[[], LifeRecords], dict[str, float | str], tuple[int, ...], Range | None, Range],
    ...,
] = (
    (two_levels, {"use": "hard"}, (1,), None, (0.0, 1200.0)),
    (two_levels, {}, (1,), None, (0.0, 1200.0)),
    (two_levels, {"use": "hard"}, (1,), None, (500.0, 4000.0)),
    (two_levels, {}, (1,), None, (500.0, 4000.0)),
    (one_without_failures, {"use": "none"}, (2,), None, (0.0, 1200.0)),
    (one_without_failures, {}, (2,), None, (0.0, 1200.0)),
    (mixed_columns, {"use": "hard", "interval": 20.0, "grade": "a"}, (1, 0, 2), None, (0.0, 900.0)),
    (mixed_columns, {"use": "hard", "interval": 40.0, "grade": "a"}, (1, 0, 2), None, (0.0, 900.0)),
    (mixed_columns, {"use": "hard"}, (1, 0, 2), None, (0.0, 900.0)),
    (mixed_columns, {}, (1, 0, 2), None, (0.0, 900.0)),
    (two_failures, {"use": "a"}, (1,), None, (0.0, 900.0)),
    (two_failures, {"use": "a"}, (1,), (1500.0, 1500.01), (0.0, 900.0)),
    (one_failure, {"use": "a"}, (1,), (800.0, 6000.0), (0.0, 900.0)),
    (one_failure, {}, (1,), (800.0, 6000.0), (0.0, 900.0)),
)


def main(draws: int) -> None:
    for make, traits, levels, b50, survived in CASES:
        plain = make()
        prior = None if b50 is None else Quantity(*b50)
        curves = trait_curves(plain, traits, SHAPE_PRIOR, prior, survived)
        aheads = (0.1 * survived[1], 0.5 * survived[1])
        sampled = sampled_chances(
            plain, kinds_of(plain, traits), covariance(*levels), b50, survived, aheads, draws
        )
        for ahead, expected in zip(aheads, sampled, strict=True):
            off = 100 * (chances(curves, survived[1], ahead) / expected - 1)
            print(
                f"{make.__name__} {traits or 'none stated'}, {survived[1]:g} + {ahead:g}: "
                f"mean {off[0]:+.2f} %, 5 % {off[1]:+.2f} %, 95 % {off[2]:+.2f} %"
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300_000)
