"""Speed of the life fits beside lifelines and scipy, in one run on one machine.

    python -m tests.benchmarks.life_speed

Prints medians of processor time and ratios. "Estimates" is the maximum alone; "with intervals"
adds the likelihood-ratio intervals of shape, scale and B10 (the others give Wald intervals, and
scipy none). A file of records in memory is the common start; nothing is reused between rounds.
"""

from __future__ import annotations

import resource
import time
import warnings

import numpy as np

from riskmodel.life.fit import Fit, fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import posterior
from riskmodel.life.quantile import weighted_quantile
from riskmodel.life.weibull import conditional_failure
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from riskmodel.threads import one_thread
from tests.benchmarks.measure import timed
from tests.life.made import records

SHAPE, SCALE = 2.5, 150_000.0


def watched(rng: np.random.Generator, n: int) -> LifeRecords:
    """Exact failures and survivors, about half and half, every age its own."""
    life = SCALE * rng.weibull(SHAPE, n)
    end = rng.uniform(20_000.0, 250_000.0, n)
    return records(np.minimum(life, end), np.where(life <= end, "failed", "running").tolist())


def inspected(rng: np.random.Generator, n: int) -> LifeRecords:
    """Failures between two ages and survivors, half of the parts met later than new."""
    life = SCALE * rng.weibull(SHAPE, 4 * n)
    entry = np.where(rng.uniform(size=4 * n) < 0.5, rng.uniform(0.0, 100_000.0, 4 * n), 0.0)
    end = entry + rng.uniform(20_000.0, 200_000.0, 4 * n)
    some = np.flatnonzero(life > entry)[:n]
    life, entry, end = life[some], entry[some], end[some]
    failed = life <= end
    since = np.maximum(entry, life - rng.uniform(1_000.0, 20_000.0, n))
    until = life + rng.uniform(1_000.0, 20_000.0, n)
    return records(
        np.where(failed, until, end),
        np.where(failed, "failed", "running").tolist(),
        age_from=np.where(failed, since, np.nan),
        entered_at=entry,
    )


def with_intervals(data: LifeRecords) -> Fit:
    found = fit(data)
    _ = found.shape, found.scale, found.b10
    return found


def line(label: str, ours: float, full: float, theirs: dict[str, float]) -> None:
    others = "  ".join(
        f"{name} {1e3 * t:9.2f} ms ({t / ours:6.0f}x, {t / full:5.1f}x)"
        for name, t in theirs.items()
    )
    print(f"{label:32} {1e3 * ours:9.3f} ms  {1e3 * full:9.3f} ms   {others}", flush=True)


def main() -> None:
    one_thread()
    from lifelines import WeibullFitter
    from scipy import stats

    warnings.simplefilter("ignore")  # lifelines' and scipy's, on their way to a maximum
    rng = np.random.default_rng(1)
    print(f"{'':32} {'estimates':>12}  {'with intervals':>12}   others (ratio to either)")
    for n in (40, 2_000, 100_000):
        data = watched(rng, n)
        failed = np.array([o == "failed" for o in data.outcome])
        censored = stats.CensoredData(uncensored=data.age[failed], right=data.age[~failed])
        line(
            f"exact and survivors, n = {n:,}",
            timed(lambda data=data: fit(data)),  # type: ignore[misc]
            timed(lambda data=data: with_intervals(data)),  # type: ignore[misc]
            {
                "lifelines": timed(
                    lambda d=data, f=failed: WeibullFitter().fit(d.age, f)  # type: ignore[misc]
                ),
                "scipy": timed(
                    lambda c=censored: stats.weibull_min.fit(c, floc=0)  # type: ignore[misc]
                ),
            },
        )
    for n in (40, 2_000, 100_000):
        data = inspected(rng, n)
        failed = np.array([o == "failed" for o in data.outcome])
        lower = np.where(failed, data.age_from, data.age)
        upper = np.where(failed, data.age, np.inf)
        censored = stats.CensoredData(
            interval=np.column_stack((lower[failed], upper[failed])), right=data.age[~failed]
        )
        line(
            f"between ages and late, n = {n:,}",
            timed(lambda data=data: fit(data)),  # type: ignore[misc]
            timed(lambda data=data: with_intervals(data)),  # type: ignore[misc]
            {
                "lifelines": timed(
                    lambda lo=lower, up=upper, d=data: WeibullFitter().fit_interval_censoring(  # type: ignore[misc]
                        lo, up, entry=d.entered_at
                    )
                ),
                "scipy without entry": timed(
                    lambda c=censored: stats.weibull_min.fit(c, floc=0)  # type: ignore[misc]
                ),
            },
        )
    prior = Quantity(1.2, 5.0)
    for n in (40, 200, 2_000):
        for label, data in (("exact", watched(rng, n)), ("between ages", inspected(rng, n))):
            likelihood = Likelihood(data)
            spent = timed(lambda k=likelihood: posterior(k, prior, None))  # type: ignore[misc]
            print(f"posterior, {label}, n = {n:,}: {1e3 * spent:.1f} ms")
    ages = rng.uniform(40_000.0, 180_000.0, 40)
    looks = rng.choice(["removed_worn", "removed_unworn"], 40).tolist()
    looked = Likelihood(
        records([*ages, 90_000.0, 120_000.0], [*looks, "failed", "failed"]),
        0.1,
        Quantity(10_000.0, 60_000.0),
    )
    print(f"posterior, 40 looks: {1e3 * timed(lambda: posterior(looked, prior, None)):.1f} ms")
    curves = posterior(looked, prior, None)
    chance = conditional_failure(120_000.0, 10_000.0, curves.shape, curves.scale)
    spent = timed(lambda: weighted_quantile(chance, curves.weight, [0.05, 0.5, 0.95]))
    print(f"three quantiles of {len(curves)} curves: {1e3 * spent:.2f} ms")
    data = watched(rng, 1_000_000)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start = time.process_time()
    found = fit(data)
    middle = time.process_time()
    with_intervals(data)
    end = time.process_time()
    likelihood = Likelihood(data)
    posterior(likelihood, prior, None)
    last = time.process_time()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(
        f"a million distinct ages: estimates {middle - start:.2f} s, with intervals "
        f"{end - middle:.2f} s, posterior {last - end:.2f} s, peak memory {peak / 1024:.0f} MB "
        f"({before / 1024:.0f} MB with the records alone), shape {found.shape.estimate:.4f}"
    )


if __name__ == "__main__":
    main()
