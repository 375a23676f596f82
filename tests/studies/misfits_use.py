"""Use that is misjudged: the part of `misfits` where harshness, a stretch or habits are wrong."""

from __future__ import annotations

import numpy as np

from riskmodel.life.weibull import conditional_failure
from riskmodel.risk.driven import driven
from riskmodel.risk.forecast import chance_ahead
from riskmodel.risk.life_curves import life_curves
from tests.studies.intervals_coverage_worlds import Wrong, draw_world
from tests.studies.misfits_scores import HEAD, TENTHS, Told, scores, tenths

SEED = 20_261_131
PARTS, AHEAD = 60, np.array([10_000.0])
WORLDS = {
    "as told: hard use counts 0.8 to 2 (90 %)": Wrong(),
    "hard use counts 3": Wrong(harshness=3.0),
    "hard use counts 0.5": Wrong(harshness=0.5),
    "the untold stretch was twice as hard": Wrong(untold=2.0),
    "from now on driven 1.5 times as hard as told": Wrong(ahead=1.5),
    "all of it: 3, twice, 1.5 times": Wrong(3.0, 2.0, 1.5),
}


def one(wrong: Wrong, number: int) -> list[float]:
    """stated, low, high, in plain ages, true."""
    world = draw_world(np.random.default_rng([SEED, number]), PARTS, wrong)
    curves = life_curves(world.case)
    found = driven(world.case, curves)
    mean, low, high = (float(x[0]) for x in chance_ahead(found.curves, found.aged.age, AHEAD))
    plain = float(chance_ahead(curves, world.case.age, AHEAD)[0][0])
    truth = world.truth
    true = float(conditional_failure(truth.age, AHEAD[0], truth.shape, truth.scale))
    return [mean, low, high, plain, true]


def use_table(sets: int) -> None:
    print(HEAD.format("use not told"))
    more = []
    for name, wrong in WORLDS.items():
        told = Told(*np.array([one(wrong, number) for number in range(sets)]).T)
        more.append(tenths(name, told))
        print(scores(name, told), flush=True)
    print("\n".join(["", TENTHS, *more]))
