"""How often the intervals hold the truth.

    python -m tests.studies.coverage [--sets 1000] [--workers 1]

Credible: truths drawn from proper priors, the same that the fit is given; a 90 % interval is
then to hold the truth 90 times of 100 on every kind of records, whatever is selected by the
records themselves (such as "no part failed"). Likelihood ratio: fixed truths; the 95 % are
reached only as failures grow many, and what few give is reported as it is. Prints Markdown
tables; takes some minutes.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Callable
from functools import partial
from multiprocessing import Pool

import numpy as np
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.fit import Fit, fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import posterior
from riskmodel.life.quantile import weighted_quantile
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.made import records

Rng = np.random.Generator
Floats = NDArray[np.float64]
Make = Callable[[Rng, float, float], LifeRecords]

SHAPE_PRIOR, B50_PRIOR = Quantity(1.2, 5.0), Quantity(80_000.0, 250_000.0)
LEAD, ERROR = Quantity(3_000.0, 20_000.0), 0.1
AT, AHEAD = 100_000.0, 10_000.0
ENGINE = (60_000.0, 100_000.0)
"""Ages at which the engine itself was bought and is now, where it counts."""


def outliving(rng: Rng, entry: Floats, shape: float, scale: float) -> Floats:
    """Lives of parts that were still in service at `entry`."""
    hazard = (entry / scale) ** shape + rng.exponential(size=entry.shape)
    return np.asarray(scale * hazard ** (1 / shape))


def watched(
    rng: Rng, shape: float, scale: float, parts: int, end: tuple[float, float]
) -> LifeRecords:
    """From new until an age within `end`."""
    life, until = scale * rng.weibull(shape, parts), rng.uniform(*end, parts)
    return records(np.minimum(life, until), np.where(life <= until, "failed", "running").tolist())


def inspected(rng: Rng, shape: float, scale: float, parts: int) -> LifeRecords:
    """Opened every 25,000, until found failed or the records were closed."""
    step = 25_000.0
    life = scale * rng.weibull(shape, parts)
    last = step * rng.integers(1, 11, parts)
    found = step * np.ceil(life / step)
    failed = found <= last
    return records(
        np.where(failed, found, last),
        np.where(failed, "failed", "running").tolist(),
        age_from=np.where(failed, found - step, np.nan),
    )


def late(rng: Rng, shape: float, scale: float, parts: int, share: float = 1.0) -> LifeRecords:
    """Most met first at some age, and watched for some usage from there."""
    entry = np.where(rng.uniform(size=parts) < share, rng.uniform(0, 120_000, parts), 0.0)
    life = outliving(rng, entry, shape, scale)
    until = entry + rng.uniform(10_000, 120_000, parts)
    return records(
        np.minimum(life, until),
        np.where(life <= until, "failed", "running").tolist(),
        entered_at=entry,
    )


def looked_at(rng: Rng, shape: float, scale: float, parts: int) -> LifeRecords:
    """Half with a planned removal and a look, wrong one time in ten."""
    life = scale * rng.weibull(shape, parts)
    until = rng.uniform(20_000, 200_000, parts)
    pulled = np.arange(parts) % 2 == 0
    worn = life <= until + LEAD.quantile(rng.standard_normal(parts))
    worn ^= rng.uniform(size=parts) < ERROR
    outcome = np.where(pulled, np.where(worn, "removed_worn", "removed_unworn"), "running")
    return records(np.minimum(life, until), np.where(life <= until, "failed", outcome).tolist())


def failures(data: LifeRecords) -> int:
    return sum(outcome == "failed" for outcome in data.outcome)


CREDIBLE: dict[str, tuple[Make, Callable[[LifeRecords], bool], bool]] = {
    "30 watched from new": (
        lambda r, b, n: watched(r, b, n, 30, (20_000, 250_000)), lambda d: True, False
    ),
    "200 watched from new": (
        lambda r, b, n: watched(r, b, n, 200, (20_000, 250_000)), lambda d: True, False
    ),
    "30 opened every 25,000": (lambda r, b, n: inspected(r, b, n, 30), lambda d: True, False),
    "30, all met late": (lambda r, b, n: late(r, b, n, 30), lambda d: True, False),
    "40, half pulled and looked at": (
        lambda r, b, n: looked_at(r, b, n, 40), lambda d: True, False
    ),
    "15, one to three failed": (
        lambda r, b, n: watched(r, b, n, 15, (10_000, 120_000)),
        lambda d: 1 <= failures(d) <= 3,
        False,
    ),
    "15, none failed": (
        lambda r, b, n: watched(r, b, n, 15, (10_000, 120_000)),
        lambda d: failures(d) == 0,
        False,
    ),
    "30, half met late, and the engine itself": (
        lambda r, b, n: late(r, b, n, 30, 0.5), lambda d: True, True
    ),
}  # fmt: skip
"""Name: how the records come about, which of them are kept, whether the engine is one more."""


def credible(name: str, seed: int) -> Floats:
    """One set of records: (truth, low, high, stated) of shape, B10 and the chance ahead."""
    make, kept, engine = CREDIBLE[name]
    rng = np.random.default_rng([seed, *name.encode()])
    while True:
        shape, b50 = (float(q.quantile(rng.standard_normal())) for q in (SHAPE_PRIOR, B50_PRIOR))
        scale = float(weibull.scale_of(b50, 0.5, shape))
        data = make(rng, shape, scale)
        survives = outliving(rng, np.array([ENGINE[0]]), shape, scale)[0] > ENGINE[1]
        if kept(data) and (survives or not engine):
            break
    found = posterior(
        Likelihood(data, ERROR, LEAD), SHAPE_PRIOR, B50_PRIOR, ENGINE if engine else None
    )
    told = []
    for truth, values in (
        (shape, found.shape),
        (weibull.quantile(0.1, shape, scale), weibull.quantile(0.1, found.shape, found.scale)),
        (
            weibull.conditional_failure(AT, AHEAD, shape, scale),
            weibull.conditional_failure(AT, AHEAD, found.shape, found.scale),
        ),
    ):
        low, high = weighted_quantile(values, found.weight, [0.05, 0.95])
        told.append([float(truth), low, high, float(found.mean(values))])
    return np.array(told)


SHAPE, SCALE = 2.5, 180_000.0
SIXTH = float(weibull.quantile(1 / 6, SHAPE, SCALE))
FIFTH = float(weibull.quantile(0.2, SHAPE, SCALE))


def first_to_fail(rng: Rng, parts: int, failed: int) -> LifeRecords:
    """All watched from new until `failed` of them had failed."""
    life = np.sort(SCALE * rng.weibull(SHAPE, parts))
    return records(
        np.minimum(life, life[failed - 1]), ["failed"] * failed + ["running"] * (parts - failed)
    )


def met_late(rng: Rng, parts: int, share: float) -> LifeRecords:
    """As `late`, but watched for a short usage: about a sixth to a fifth fail."""
    entry = np.where(rng.uniform(size=parts) < share, rng.uniform(0, 120_000, parts), 0.0)
    life = outliving(rng, entry, SHAPE, SCALE)
    until = entry + rng.uniform(10_000, 80_000, parts)
    return records(
        np.minimum(life, until),
        np.where(life <= until, "failed", "running").tolist(),
        entered_at=entry,
    )


RATIO: dict[str, Callable[[Rng], LifeRecords]] = {
    "30 from new, until 5 failed": lambda r: first_to_fail(r, 30, 5),
    "30 from new, 5 expected to fail": lambda r: watched(r, SHAPE, SCALE, 30, (SIXTH, SIXTH)),
    "200 from new, until 40 failed": lambda r: first_to_fail(r, 200, 40),
    "200 from new, 40 expected to fail": lambda r: watched(r, SHAPE, SCALE, 200, (FIFTH, FIFTH)),
    "200 opened every 25,000": lambda r: inspected(r, SHAPE, SCALE, 200),
    "30, half met late": lambda r: met_late(r, 30, 0.5),
    "30, all met late": lambda r: met_late(r, 30, 1.0),
    "200, half met late": lambda r: met_late(r, 200, 0.5),
    "200, all met late": lambda r: met_late(r, 200, 1.0),
}


def ratio(name: str, seed: int) -> Floats:
    """One set: (estimate, low, high) of shape, B10 and chance; NaN where an end is missing.

    All NaN in the estimates where the likelihood has no maximum.
    """
    rng = np.random.default_rng([seed, *name.encode()])
    found: Fit = fit(RATIO[name](rng))
    chance = found.conditional(AT, AHEAD)
    told = [(x.estimate, x.low, x.high) for x in (found.shape, found.b10)]
    told.append((chance.probability, chance.low, chance.high))
    values = [[math.nan if v is None else v for v in row] for row in told]
    return np.array([[*row, found.failures] for row in values])


def gathered(work: Callable[[int], Floats], sets: int, workers: int) -> Floats:
    if workers <= 1:
        return np.array([work(seed) for seed in range(sets)])
    with Pool(workers) as pool:
        return np.array(pool.map(work, range(sets), chunksize=20))


def error(share: float, sets: int) -> float:
    return 100 * math.sqrt(share * (1 - share) / sets)


def credible_table(sets: int, workers: int) -> None:
    print(
        f"90 % credible intervals, {sets} sets of records a row, truths from the prior. Standard "
        f"error of a coverage {error(0.9, sets):.1f} %. Chance ahead: from {AT:,.0f} over "
        f"{AHEAD:,.0f}.\n"
    )
    print(
        "| records | chance ahead held [%] | truth below, above [%] | B10 held [%] | "
        "shape held [%] | mean chance stated, true [%] |"
    )
    print("|" + " --- |" * 6)
    for name in CREDIBLE:
        start = time.perf_counter()
        found = gathered(partial(credible, name), sets, workers)
        truth, low, high, stated = (found[:, :, i] for i in range(4))
        held = 100 * ((low <= truth) & (truth <= high)).mean(axis=0)
        below, above = (100 * side[:, 2].mean() for side in (truth < low, truth > high))
        means = f"{100 * stated[:, 2].mean():.2f}, {100 * truth[:, 2].mean():.2f}"
        print(
            f"| {name} | {held[2]:.1f} | {below:.1f}, {above:.1f} | {held[1]:.1f} | "
            f"{held[0]:.1f} | {means} | <!-- {time.perf_counter() - start:.0f} s -->",
            flush=True,
        )


def ratio_table(sets: int, workers: int) -> None:
    truths = (
        SHAPE,
        float(weibull.quantile(0.1, SHAPE, SCALE)),
        float(weibull.conditional_failure(AT, AHEAD, SHAPE, SCALE)),
    )
    print(
        f"\n95 % likelihood-ratio intervals, {sets} sets a row, truth shape {SHAPE:g}, scale "
        f"{SCALE:,.0f}. Held [%] with its standard error, of the sets that have a maximum; an end "
        "that does not exist counts as holding on that side, and how often one is missing stands "
        "beside.\n"
    )
    print(
        "| records | failures on average | no maximum [%] | figure | held [%] | "
        "truth below, above [%] | no lower, no upper end [%] | median of estimate / truth |"
    )
    print("|" + " --- |" * 8)
    for name in RATIO:
        start = time.perf_counter()
        found = gathered(partial(ratio, name), sets, workers)
        some = found[~np.isnan(found[:, 0, 0])]
        none = 100 * (1 - len(some) / sets)
        for k, (figure, truth) in enumerate(
            zip(("shape", "B10", "chance ahead"), truths, strict=True)
        ):
            estimate, low, high, _ = some[:, k].T
            below, above = np.mean(truth < low), np.mean(truth > high)
            held = 1 - below - above
            missing = f"{100 * np.isnan(low).mean():.1f}, {100 * np.isnan(high).mean():.1f}"
            print(
                f"| {name} | {found[:, 0, 3].mean():.1f} | {none:.1f} | {figure} | "
                f"{100 * held:.1f} ({error(held, len(some)):.1f}) | {100 * below:.1f}, "
                f"{100 * above:.1f} | {missing} | {np.median(estimate) / truth:.3f} |"
            )
        print(f"<!-- {time.perf_counter() - start:.0f} s -->", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", type=int, default=1000)
    parser.add_argument("--workers", type=int, default=1)
    given = parser.parse_args()
    credible_table(given.sets, given.workers)
    ratio_table(given.sets, given.workers)


if __name__ == "__main__":
    main()
