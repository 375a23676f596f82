"""How far does the tool mislead where the world is honestly not as it assumes?

    python -m tests.studies.misfits records [--sets 1000] [--parts 60]
    python -m tests.studies.misfits use [--sets 1000]
    python -m tests.studies.misfits oil [--sets 4000]

`records` (`misfits_records.py`): 60 life records and an engine that lasts today, whose chance of
failing within 10,000 is stated; with all known, the true chance is known too. `use`
(`misfits_use.py`): how hard its use is on the part is misjudged. `oil` (`misfits_oil.py`): the life
curve is known and the oil tells more. Scores are of stated chances against what comes true: Brier
(0 best) and the logarithmic score gained on an answer without the records, told use or samples in
question (below 0: they mislead more than they tell). Prints Markdown tables.
"""

from __future__ import annotations

import argparse

import numpy as np
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import Curves, posterior
from riskmodel.life.quantile import weighted_quantile
from riskmodel.threads import one_thread
from tests.studies.coverage import B50_PRIOR, ERROR, LEAD, SHAPE_PRIOR
from tests.studies.misfits_oil import oil_tables
from tests.studies.misfits_records import MISFITS, Lives, Misfit, reports
from tests.studies.misfits_scores import HEAD, TENTHS, Told, scores, tenths
from tests.studies.misfits_use import use_table

Floats = NDArray[np.float64]
SEED = 20_261_130
AGE, AHEAD = (60_000.0, 160_000.0), 10_000.0


def stated(curves: Curves, age: float) -> tuple[float, float, float]:
    """Mean chance within `AHEAD` from `age`, and the ends of its 90 % interval."""
    chance = weibull.conditional_failure(age, AHEAD, curves.shape, curves.scale)
    low, high = weighted_quantile(chance, curves.weight, [0.05, 0.95])
    return float(chance @ curves.weight), float(low), float(high)


def one(misfit: Misfit, number: int, parts: int) -> list[float]:
    """stated, low, high, without records, true of such engines, true of this one."""
    rng = np.random.default_rng([SEED, number])
    while True:
        shape, b50 = (float(q.quantile(rng.standard_normal())) for q in (SHAPE_PRIOR, B50_PRIOR))
        lives, age = Lives(shape, b50, misfit), float(rng.uniform(*AGE))
        life, z = (float(x[0]) for x in lives.draw(rng, 1))
        if life > misfit.harder * age:
            break
    lived, then = misfit.harder * age, misfit.harder * (age + AHEAD)
    true = 1 - lives.population(then) / lives.population(lived)
    own = 1 - float(lives.survival(then, z) / lives.survival(lived, z))
    data = reports(rng, lives, parts)
    told = Likelihood(data, ERROR, LEAD, misfit.told)
    found = posterior(told, SHAPE_PRIOR, B50_PRIOR, (0.0, age))
    without = posterior(None, SHAPE_PRIOR, B50_PRIOR, (0.0, age))
    return [*stated(found, age), stated(without, age)[0], true, own]


def records_table(sets: int, parts: int, words: str) -> None:
    print(HEAD.format("no records"))
    more = []
    for misfit in (m for m in MISFITS if words in m.name):
        found = np.array([one(misfit, number, parts) for number in range(sets)])
        told = Told(*found.T[:5])
        more.append(tenths(misfit.name, told))
        print(scores(misfit.name, told), flush=True)
        if misfit.frailty:
            own = Told(*found.T[:4], found[:, 5])
            print(scores(misfit.name + ": against each engine's own chance", own), flush=True)
    print("\n".join(["", TENTHS, *more]))


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("what", choices=["records", "use", "oil"])
    parser.add_argument("--sets", type=int, default=1000)
    parser.add_argument("--parts", type=int, default=60)
    parser.add_argument("--worlds", default="", help="only those whose name contains this")
    options = parser.parse_args()
    one_thread()
    if options.what == "records":
        records_table(options.sets, options.parts, options.worlds)
    elif options.what == "use":
        use_table(options.sets)
    else:
        oil_tables(options.sets, options.worlds)


if __name__ == "__main__":
    main()
