"""Harshness learned from the records: does its interval hold, and does the chance built on it?

    python -m tests.studies.intervals_coverage_learned [--worlds 1000]

Two kinds of use, 40 or 150 life records with a column that tells them; the true harshness of hard
use is drawn from the range that the tool takes where nothing is known. An engine driven hard for a
share of its use, which no trait of it tells, is asked about. The learned range is an interval by
likelihood ratio, which needs no prior; the fit of the average part beside it is of a mixture of two
kinds, which the model takes for one Weibull curve. Prints a Markdown table.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from functools import lru_cache

import numpy as np
import tomli_w

from riskmodel.life.weibull import conditional_failure
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.files import case_from_files
from riskmodel.risk.driven import driven, own_curves
from riskmodel.risk.forecast import chance_ahead
from riskmodel.threads import one_thread
from riskmodel.use.learned import learned_harshness
from tests.life.made import records
from tests.studies.coverage import B50_PRIOR, SHAPE_PRIOR, Rng
from tests.studies.intervals_coverage_tables import HEAD, held
from tests.studies.intervals_coverage_worlds import HARSHNESS

SEED = 20_261_134
HARD, AHEAD, AGE = 0.35, 10_000.0, (50_000.0, 150_000.0)
"""Share of parts on record that were driven hard; usage ahead; ages of the engine."""


@lru_cache(maxsize=1)
def _read() -> Case:
    told = {
        "format": 1,
        "machine": {"unit": "km", "reading": 1_000.0, "usage_per_year": 10_000.0},
        "life": {
            "shape_prior": [SHAPE_PRIOR.low, SHAPE_PRIOR.high],
            "b50_prior": [B50_PRIOR.low, B50_PRIOR.high],
        },
        "use": {
            "kinds": [
                {"name": "mixed", "harshness": 1.0, "population_share": 1 - HARD},
                {"name": "town", "population_share": HARD},
            ],
            "stretches": [{"until": 1_000.0, "shares": {"mixed": 1.0}}],
            "ahead": {"mixed": 1.0},
        },
        "oil": {"interval": 10_000.0},
        "cost": {"planned": 1.0, "failure": 1.0},
        "plan": {"keep_usage": 10_000.0},
    }
    return case_from_files({"case.toml": tomli_w.dumps(told).encode()})


def one(rng: Rng, parts: int) -> list[list[float]] | None:
    """[stated, low, high, truth] of the harshness and of the chance; None where the records set no
    end to the harshness."""
    while True:
        shape, b50 = (float(q.quantile(rng.standard_normal())) for q in (SHAPE_PRIOR, B50_PRIOR))
        harsh, share = float(HARSHNESS.quantile(rng.standard_normal())), float(rng.uniform())
        average = 1 + HARD * (harsh - 1)
        scale = average * b50 / np.log(2) ** (1 / shape)  # of parts of mixed use
        age, pace = float(rng.uniform(*AGE)), 1 + share * (harsh - 1)
        if rng.exponential() > (pace * age / scale) ** shape:
            break
    hard = rng.uniform(size=parts) < HARD
    life = scale / np.where(hard, harsh, 1.0) * rng.weibull(shape, parts)
    end = rng.uniform(30_000, 250_000, parts)
    outcome = np.where(life <= end, "failed", "running").tolist()
    data = replace(
        records(np.minimum(life, end), outcome),
        covariates={"use": tuple("town" if h else "mixed" for h in hard)},
    )
    case, mix = _read(), {"town": share, "mixed": 1 - share}
    stretch = replace(case.use.stretches[0], until=age, shares=mix)
    case = replace(
        case,
        machine=replace(case.machine, reading=age),
        use=replace(case.use, stretches=(stretch,), ahead=mix),
        records=data,
    )
    try:
        learned = learned_harshness(case)
    except CannotAnswer:
        return None
    if learned is None or "town" in learned.open or "mixed" in learned.open:
        return None
    told, truth = learned.harshness["town"], harsh
    if learned.base == "town":
        told, truth = learned.harshness["mixed"], 1 / harsh
    found = driven(case, own_curves(case))
    chance = [float(x[0]) for x in chance_ahead(found.curves, found.aged.age, np.array([AHEAD]))]
    true = float(conditional_failure(pace * age, pace * AHEAD, shape, scale))
    return [[told.median, told.low, told.high, truth], [*chance, true]]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--worlds", type=int, default=1000)
    options = parser.parse_args()
    one_thread()
    print(HEAD)
    for parts in (40, 150):
        rng = np.random.default_rng([SEED, parts])
        every = [one(rng, parts) for _ in range(options.worlds)]
        found = np.array([each for each in every if each is not None])
        for k, name in enumerate(("learned harshness", "chance within 10,000")):
            told = f"{parts} records, {name} ({len(found)} of {len(every)} worlds)"
            print(f"| {told} | {held(found[:, k])} |", flush=True)


if __name__ == "__main__":
    main()
