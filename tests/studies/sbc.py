"""Simulation-based calibration: where do truths fall in their posteriors?

    python -m tests.studies.sbc [--sets 1000] [--designs WORDS]

Truths are drawn from the priors that the fit is given, records from each truth. A truth's place is
the level at which the package's own weighted quantile reaches it: over many truths the places are
uniform if, and only if, posterior and quantiles are right at every level, not at 90 % alone (Cook,
Gelman & Rubin 2006, J. Comp. Graph. Stat. 15, 675-692; Talts et al. 2018, arXiv:1804.06788).
Selecting records by what they show ("one to three failed") must not disturb that. Prints Markdown
tables; takes some minutes.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2, kstwo, norm

from riskmodel.life import weibull
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import Curves, posterior
from riskmodel.life.quantile import weighted_quantile
from riskmodel.records.tables import LifeRecords
from riskmodel.threads import one_thread
from tests.life.made import joined, records
from tests.studies.coverage import (
    B50_PRIOR,
    ERROR,
    LEAD,
    SHAPE_PRIOR,
    failures,
    inspected,
    late,
    looked_at,
    outliving,
    watched,
)

Floats = NDArray[np.float64]
Rng = np.random.Generator
SEED = 20_261_128
ENTERED = (0.0, 0.8)
"""This engine's watch began at an age between these shares of its age today."""
AGE, AHEAD = (40_000.0, 160_000.0), 10_000.0
SCORES = np.linspace(-3.6, 3.6, 25)
"""Normal scores at which the posterior's quantiles are read."""
BINS = 20


@dataclass(frozen=True)
class Design:
    """How records come about, and which sets are looked at. With `engine` this engine's own
    survival to its age is evidence; `looks` tells that removed parts were looked at."""

    name: str
    make: Callable[[Rng, float, float], LifeRecords | None]
    kept: Callable[[LifeRecords], bool] = lambda data: True
    engine: bool = True
    looks: bool = False


def counted(rng: Rng, shape: float, scale: float) -> LifeRecords:
    """Groups of equal parts opened at two ages: the failed are counted between them."""
    ages = np.array([0.0, 30_000, 60_000, 100_000, 150_000, 220_000])
    rows: list[LifeRecords] = []
    for parts in rng.integers(3, 12, size=5):
        last = rng.integers(2, len(ages))
        life = scale * rng.weibull(shape, parts)
        found = np.histogram(np.minimum(life, ages[last]), np.append(ages[:last], ages[last]))[0]
        found[-1] -= (life >= ages[last]).sum()
        some = np.flatnonzero(found)
        if len(some):
            since = np.where(some == 0, 0.0, ages[some])
            rows.append(
                records(ages[some + 1], "failed", age_from=since, count=found[some].astype(float))
            )
        lasted = float((life >= ages[last]).sum())
        if lasted:
            rows.append(records([ages[last]], "running", count=lasted))
    return joined(*rows)


def mixed(rng: Rng, shape: float, scale: float) -> LifeRecords:
    """A bit of all: met late, opened at intervals, pulled with a look and without, and failures
    of another cause, which come at a constant rate."""
    plain = looked_at(rng, shape, scale, 8)
    hidden = ["removed" if o.startswith("removed") else o for o in plain.outcome]
    return joined(
        _with_other(rng, late(rng, shape, scale, 10), 1 / 400_000),
        inspected(rng, shape, scale, 8),
        looked_at(rng, shape, scale, 14),
        records(plain.age, hidden),
    )


def _with_other(rng: Rng, data: LifeRecords, rate: float) -> LifeRecords:
    """The same parts, each ended by another cause at a constant `rate` if that comes first."""
    other = data.entered_at + rng.exponential(1 / rate, len(data.age))
    first = other < data.age
    outcome = ["failed" if f else o for f, o in zip(first, data.outcome, strict=True)]
    return records(
        np.where(first, other, data.age),
        outcome,
        entered_at=data.entered_at,
        cause=["other" if f else "wear" for f in first],
    )


DESIGNS = (
    Design("no records, the engine alone", lambda r, b, n: None),
    Design("30 watched from new", lambda r, b, n: watched(r, b, n, 30, (20_000, 250_000))),
    Design("200 watched from new", lambda r, b, n: watched(r, b, n, 200, (20_000, 250_000))),
    Design("30, all met late", lambda r, b, n: late(r, b, n, 30)),
    Design("30 opened every 25,000 (age_from)", lambda r, b, n: inspected(r, b, n, 30)),
    Design("counts of 5 groups between ages", counted),
    Design(
        "15, one to three failed",
        lambda r, b, n: watched(r, b, n, 15, (10_000, 120_000)),
        lambda data: 1 <= failures(data) <= 3,
    ),
    Design(
        "15, none failed",
        lambda r, b, n: watched(r, b, n, 15, (10_000, 120_000)),
        lambda data: failures(data) == 0,
    ),
    Design("40, half pulled and looked at", lambda r, b, n: looked_at(r, b, n, 40), looks=True),
    Design(
        "12, half pulled and looked at, none failed",
        lambda r, b, n: looked_at(r, b, n, 12),
        lambda data: failures(data) == 0,
        looks=True,
    ),
    Design("40 of every kind, other causes too", mixed, looks=True),
)


def places(values: Floats, weight: Floats, truth: float) -> float:
    """The level at which the weighted quantile of positive `values` (K,) reaches `truth`."""
    found = np.log(weighted_quantile(values, weight, norm.cdf(SCORES)))
    rising = np.maximum.accumulate(found) + 1e-12 * np.arange(len(found))
    return float(norm.cdf(np.interp(np.log(truth), rising, SCORES)))


FIGURES = ("shape", "B50", "B10", "chance ahead")


def figures(shape: Floats, scale: Floats, age: float) -> tuple[Floats, ...]:
    """The figures named in `FIGURES` of curves."""
    return (
        np.asarray(shape),
        np.asarray(weibull.quantile(0.5, shape, scale)),
        np.asarray(weibull.quantile(0.1, shape, scale)),
        np.asarray(weibull.conditional_failure(age, AHEAD, shape, scale)),
    )


Fit = Callable[[LifeRecords | None, tuple[float, float] | None], Curves]


def fitted(data: LifeRecords | None, survived: tuple[float, float] | None) -> Curves:
    """The package's posterior under the priors that truths are drawn from."""
    told = None if data is None else Likelihood(data, ERROR, LEAD)
    return posterior(told, SHAPE_PRIOR, B50_PRIOR, survived)


def one(design: Design, number: int, fit: Fit = fitted) -> Floats:
    """The places of one truth's figures, (4,)."""
    rng = np.random.default_rng([SEED, number, *design.name.encode()])
    while True:
        shape, b50 = (float(q.quantile(rng.standard_normal())) for q in (SHAPE_PRIOR, B50_PRIOR))
        scale = float(weibull.scale_of(b50, 0.5, shape))
        age = float(rng.uniform(*AGE))
        entered = age * float(rng.uniform(*ENTERED))
        if design.engine and outliving(rng, np.array([entered]), shape, scale)[0] <= age:
            continue
        data = design.make(rng, shape, scale)
        if data is None or design.kept(data):
            break
    found = fit(data, (entered, age) if design.engine else None)
    truths = figures(np.array([shape]), np.array([scale]), age)
    told = figures(found.shape, found.scale, age)
    pairs = zip(told, truths, strict=True)
    return np.array([places(values, found.weight, float(truth[0])) for values, truth in pairs])


@dataclass(frozen=True)
class Uniform:
    """How far places (sets,) are from uniform. `mean` and `spread` are in standard errors from
    those of a uniform (the spread is that of (u - 1/2)^2); `chi` and `ks` are chances of worse."""

    counts: NDArray[np.int64]
    chi: float
    ks: float
    mean: float
    spread: float
    held: float
    """Share of truths within the central 90 %."""


def uniform(u: Floats) -> Uniform:
    n = len(u)
    counts = np.histogram(u, BINS, (0, 1))[0]
    expected = n / BINS
    square = float(((counts - expected) ** 2 / expected).sum())
    even = np.arange(n + 1) / n
    at = np.sort(u)
    gap = max(float((even[1:] - at).max()), float((at - even[:-1]).max()))
    return Uniform(
        counts,
        float(chi2.sf(square, BINS - 1)),
        float(kstwo.sf(gap, n)),
        float((u.mean() - 0.5) / np.sqrt(1 / 12 / n)),
        float((np.mean((u - 0.5) ** 2) - 1 / 12) / np.sqrt(1 / 180 / n)),
        float(np.mean((u > 0.05) & (u < 0.95))),
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", type=int, default=1000)
    parser.add_argument("--looks", type=int, default=1000, help="sets of slower designs with looks")
    parser.add_argument("--designs", default="", help="only those whose name contains this")
    options = parser.parse_args()
    one_thread()
    print(
        "| records | sets | figure | held by the 90 % interval [%] (s.e.) | "
        f"mean, spread off [s.e.] | chi-square of {BINS} classes: p | Kolmogorov-Smirnov: p | "
        "truths in each tenth |"
    )
    print("|" + " --- |" * 8)
    tests = []
    for design in (d for d in DESIGNS if options.designs in d.name):
        start = time.process_time()
        sets = options.looks if design.looks else options.sets
        found = np.array([one(design, number) for number in range(sets)])
        for k, name in enumerate(FIGURES):
            told = uniform(found[:, k])
            tests.append(told.chi)
            tenths = ", ".join(map(str, told.counts.reshape(-1, BINS // 10).sum(axis=1)))
            error = 100 * np.sqrt(0.09 / sets)
            print(
                f"| {design.name} | {sets} | {name} | {100 * told.held:.1f} ({error:.1f}) | "
                f"{told.mean:+.1f}, {told.spread:+.1f} | {told.chi:.3f} | {told.ks:.3f} | "
                f"{tenths} |"
            )
        print(f"<!-- {time.process_time() - start:.0f} s of processor time -->", flush=True)
    low = sum(p < 0.05 for p in tests)
    print(f"\n{len(tests)} chi-square tests: {low} below 0.05, least p {min(tests):.4f}")


if __name__ == "__main__":
    main()
