"""Where failures are reported more readily and the tool is told so: do its other intervals hold?

    python -m tests.studies.reporting [--sets 1000]

`tests.studies.misfits records` asks it of the chance of an engine of no known trait. Here: 95 %
likelihood-ratio intervals of shape, B10 and a chance ahead; the chance of an engine of one of two
levels of a column (90 % credible), and the likelihood-ratio interval of the harshness between them
(90 %); the rate of failures of other causes (90 %). Each beside the same with every survivor taken
as so many seen. 60 or 200 records, half met late. Prints a Markdown table.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np

from riskmodel.life import weibull
from riskmodel.life.covariate_curves import trait_curves
from riskmodel.life.covariates import fit_covariates, harshness_from
from riskmodel.life.fit import fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.other_causes import other_causes
from riskmodel.life.profile import Estimate
from riskmodel.life.quantile import weighted_quantile
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.tables import LifeRecords
from riskmodel.threads import one_thread
from tests.life.made import records
from tests.studies.coverage import B50_PRIOR, SHAPE_PRIOR, Rng

SEED, AGE, AHEAD = 20_261_141, (60_000.0, 160_000.0), 10_000.0
NAMES = (
    "shape, likelihood ratio, 95 %",
    "B10, likelihood ratio, 95 %",
    "chance ahead, likelihood ratio, 95 %",
    "harshness of a level, likelihood ratio, 90 %",
    "chance of an engine of a level, 90 %",
    "rate of other causes, 90 %",
)


def world(rng: Rng, parts: int, ratio: float) -> tuple[LifeRecords, float, float, float, float]:
    """Records with a column and causes, and the true shape, scale of the soft, harshness, rate."""
    shape, b50 = (float(q.quantile(rng.standard_normal())) for q in (SHAPE_PRIOR, B50_PRIOR))
    scale, harsh = b50 / np.log(2) ** (1 / shape), float(np.exp(0.3 * rng.standard_normal()))
    rate, many = 0.3 / b50, 40 * parts
    hard = rng.uniform(size=many) < 0.4
    life = scale / np.where(hard, harsh, 1.0) * rng.weibull(shape, many)
    other = rng.exponential(1 / rate, many)
    entry = np.where(rng.uniform(size=many) < 0.5, rng.uniform(0, 120_000, many), 0.0)
    end = entry + rng.uniform(20_000, 150_000, many)
    age = np.minimum(np.minimum(life, other), end)
    failed = age < end
    told = (age > entry) & (failed | (rng.uniform(size=many) < 1 / ratio))
    rows = np.flatnonzero(told)[:parts]
    cause = np.where(other < life, "other", "wear")[rows].tolist()
    data = records(
        age[rows],
        np.where(failed, "failed", "running")[rows].tolist(),
        entered_at=entry[rows],
        cause=cause,
    )
    use = tuple(np.where(hard, "hard", "soft")[rows].tolist())
    return replace(data, covariates={"use": use}), shape, scale, harsh, rate


def inside(found: Estimate, truth: float) -> float:
    """1 where the interval holds the truth; an end that does not exist excludes nothing."""
    low, high = found.low, found.high
    return float((low is None or low <= truth) and (high is None or truth <= high))


def one(rng: Rng, parts: int, ratio: float, seen: bool) -> list[float]:
    """Whether each interval holds; nan where there is none. `seen`: survivors taken as seen."""
    data, shape, scale, harsh, rate = world(rng, parts, ratio)
    age, use = float(rng.uniform(*AGE)), "hard" if rng.uniform() < 0.5 else "soft"
    told = ratio
    if seen:
        survived = np.array(data.outcome) == "running"
        data, told = replace(data, count=np.where(survived, ratio, 1.0)), 1.0
    soft = np.array([level == "soft" for level in data.covariates["use"]])
    alike = replace(
        data,
        **{name: getattr(data, name)[soft] for name in ("age", "age_from", "entered_at", "count")},
        outcome=tuple(np.array(data.outcome)[soft]),
        cause=tuple(np.array(data.cause)[soft]),
        why=tuple(np.array(data.why)[soft]),
        covariates={},
    )
    found = fit(Likelihood(alike, reporting_ratio=told))
    ends = [np.nan] * len(NAMES)
    if found.maximum is not None:
        chance = found.conditional(age, AHEAD)
        ends[0] = inside(found.shape, shape)
        ends[1] = inside(found.b10, float(weibull.quantile(0.1, shape, scale)))
        true = float(weibull.conditional_failure(age, AHEAD, shape, scale))
        ends[2] = inside(Estimate(chance.probability, chance.low, chance.high), true)
    effects = fit_covariates(data, reporting_ratio=told)
    base = effects.columns[0].base if effects.columns else None
    if base is not None:
        level, truth = ("hard", harsh) if base == "soft" else ("soft", 1 / harsh)
        try:
            range_ = harshness_from(effects, "use", level)
            ends[3] = float(range_.low <= truth <= range_.high)
        except CannotAnswer:
            pass
    own = scale / (harsh if use == "hard" else 1.0)
    curves = trait_curves(data, {"use": use}, SHAPE_PRIOR, B50_PRIOR, None, reporting_ratio=told)
    chances = weibull.conditional_failure(age, AHEAD, curves.shape, curves.scale)
    low, high = weighted_quantile(chances, curves.weight, [0.05, 0.95])
    ends[4] = float(low <= float(weibull.conditional_failure(age, AHEAD, shape, own)) <= high)
    others = other_causes(data, told)
    ends[5] = float(others.low <= rate <= others.high)
    return ends


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--sets", type=int, default=1000)
    options = parser.parse_args()
    one_thread()
    print("| records, ratio | " + " | ".join(NAMES) + " |")
    print("| --- " * (len(NAMES) + 1) + "|")
    for parts, ratio in ((60, 3.0), (60, 10.0), (200, 3.0), (200, 10.0)):
        for seen in (True, False):
            found = np.array(
                [
                    one(np.random.default_rng([SEED, n]), parts, ratio, seen)
                    for n in range(options.sets)
                ]
            )
            held = [f"{100 * x:.1f}" for x in np.nanmean(found, axis=0)]
            name = "as so many seen" if seen else "as it is"
            print(f"| {parts}, {ratio:g}, {name} | " + " | ".join(held) + " |", flush=True)


if __name__ == "__main__":
    main()
