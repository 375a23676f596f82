"""Do chances stated with oil samples come true as often as stated?

    python -m tests.studies.oil_calibration [--histories 3000] [--ahead 10000]

Histories are drawn from the model of oil samples by a simulator of its own (nothing shared with
the package but the case's dataclasses): engines of four ages and three oil intervals that last
today, some of them in distress. The life curve is known, what else is not known is drawn anew for
each engine. Then the world is made different from the model, which is not told. Prints Markdown
tables; takes some minutes.
"""

from __future__ import annotations

import argparse
import math
import time
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.weibull import conditional_failure, conditional_survival, hazard
from riskmodel.oil.history import FINE, History, history, many_factors
from riskmodel.records.case import Case
from riskmodel.records.tables import OilSample, OilSamples, Reading
from tests.oil.made import case_with_oil

Floats = NDArray[np.float64]
Rng = np.random.Generator

SHAPE, B50 = 2.5, 130_000.0
SCALE = B50 / math.log(2) ** (1 / SHAPE)
AGES = (60_000.0, 100_000.0, 140_000.0, 180_000.0)
INTERVALS = (5_000.0, 10_000.0, 15_000.0)
SAMPLES = 8
CARRY_OVER, MISLEADING, SUMP = 0.1, 0.02, 6.0
SHARED = 0.5
LEAD, LEAD_FACTOR, SILENT = (4_000.0, 30_000.0), (0.5, 2.0), (0.1, 0.5)
Z90 = 1.6448536269514722


@dataclass(frozen=True)
class Metal:
    """Central 90 % ranges of the usual rate [ppm per 1,000] and the rise; scatter and noise."""

    symbol: str
    typical: tuple[float, float]
    scatter: float
    rise: tuple[float, float]
    noise: float


METALS = (
    Metal("Pb", (0.15, 0.9), 1.3, (4.0, 20.0), 0.8),
    Metal("Cu", (0.25, 1.2), 1.3, (2.0, 10.0), 0.3),
    Metal("Sn", (0.06, 0.35), 1.35, (2.0, 8.0), 0.6),
)


@dataclass(frozen=True)
class World:
    """What is true, where it differs from the model."""

    name: str
    lead: float = 1.0  # times
    silent: float = 1.0  # times
    scatter: float = 1.0  # times, of the scatter's logarithm
    shared: float = SHARED  # of ln scatter's variance, common to the elements of a sample
    noise_too: bool = False  # the laboratory's noise is common to them as well
    burns: float = 0.0  # sumps of unrecorded top-up in a fill, reached evenly by 180,000


WORLDS = (
    World("as the model"),
    World("lead half as long", lead=0.5),
    World("twice the silent share", silent=2.0),
    World("scatter 1.5 times", scatter=1.5),
    World("nothing shared by the elements of a sample", shared=0.0),
    World("the whole scatter shared", shared=1.0),
    World("scatter and laboratory noise shared", shared=1.0, noise_too=True),
    World("oil consumption rising unrecorded", burns=0.5),
)


def ranged(rng: Rng, ends: tuple[float, float], size: int | None = None) -> Floats:
    low, high = math.log(ends[0]), math.log(ends[1])
    return np.exp((low + high) / 2 + (high - low) / 2 / Z90 * rng.standard_normal(size))


def a_share(rng: Rng, ends: tuple[float, float]) -> float:
    low, high = (math.log(v / (1 - v)) for v in ends)
    return float(1 / (1 + math.exp(-(low + high) / 2 - (high - low) / 2 / Z90 * rng.normal())))


def engine(rng: Rng, world: World) -> tuple[float, float, OilSamples]:
    """One engine that lasts today: its age, the age at failure, its samples."""
    today, interval = rng.choice(AGES), rng.choice(INTERVALS)
    failure = SCALE * ((today / SCALE) ** SHAPE + rng.exponential()) ** (1 / SHAPE)
    lead = float(ranged(rng, LEAD) * ranged(rng, LEAD_FACTOR)) * world.lead
    silent = rng.random() < min(a_share(rng, SILENT) * world.silent, 1.0)
    onset = math.inf if silent else max(failure - lead, 0.0)
    rise = rng.standard_normal()
    level = {m.symbol: math.log(float(ranged(rng, m.typical))) for m in METALS}
    last = today - rng.uniform(0.0, 1.0) * interval
    at = [last - interval * (SAMPLES - 1 - i) for i in range(SAMPLES)]
    at = [a for a in at if a - interval >= 0]
    n = len(at)
    none, each = (1 - MISLEADING) ** n, MISLEADING * (1 - MISLEADING) ** (n - 1)
    odds = np.array([none, *[each] * n])
    misled = rng.choice(n + 1, p=odds / odds.sum()) - 1
    before: dict[str, float] = {}
    rows = []
    for i, age in enumerate(at):
        common = rng.standard_t(4)
        readings = {}
        for metal in METALS:
            symbol = metal.symbol
            centre = (math.log(metal.typical[0]) + math.log(metal.typical[1])) / 2
            spread = math.log(metal.typical[1] / metal.typical[0]) / 2 / Z90
            usual = math.exp(centre) * interval / 1000
            sigma = math.log(metal.scatter) * world.scatter
            joint = math.sqrt(world.shared) * sigma
            own = math.hypot(math.sqrt(1 - world.shared) * sigma, metal.noise / usual)
            if world.noise_too:
                joint, own = math.hypot(sigma, metal.noise / usual), 0.0
            if i == misled:
                log_rate = centre + math.hypot(spread, 1.5) * rng.standard_normal()
            else:
                middle = (math.log(metal.rise[0]) + math.log(metal.rise[1])) / 2
                log_rise = middle + math.log(metal.rise[1] / metal.rise[0]) / 2 / Z90 * rise
                s = age - interval * (np.arange(200) + 0.5) / 200
                way = np.clip((s - onset) / max(failure - onset, 1e-9), 0, 1) if not silent else 0
                lift = math.log(float(np.mean(np.exp(log_rise * way))))
                noise = joint * common + own * rng.standard_t(4)
                log_rate = level[symbol] + lift + noise
            gained = math.exp(log_rate) * interval / 1000
            thin = world.burns * age / 180_000
            kept = (1 - math.exp(-thin)) / thin if thin > 0 else 1.0
            gained *= kept
            left = math.exp(-thin)
            if symbol in before:
                end = CARRY_OVER * before[symbol] * left + gained
            else:
                end = gained / (1 - CARRY_OVER * left)
            printed = float(np.floor(end + 0.5))
            readings[symbol] = Reading(1.0, below=True) if printed < 1 else Reading(printed)
            before[symbol] = 0.5 if printed < 1 else printed
        rows.append(OilSample(None, age, interval, None, 0.0, "", readings))
    return float(today), float(failure), OilSamples(tuple(rows), ("age", "oil_age"))


def base_case(shared: float = SHARED) -> Case:
    elements = [
        {
            "symbol": m.symbol,
            "typical": list(m.typical),
            "scatter": m.scatter,
            "rise": list(m.rise),
            "noise": m.noise,
            "from_part": True,
        }
        for m in METALS
    ]
    return case_with_oil(
        None,
        elements=elements,
        life={"shape_prior": SHAPE, "b50_prior": B50},
        warning={"lead": list(LEAD), "lead_factor": list(LEAD_FACTOR), "silent": list(SILENT)},
        misleading=MISLEADING,
        shared_scatter=shared,
        carry_over=CARRY_OVER,
        sump_litres=SUMP,
        reading=max(AGES),
    )


def draw(
    world: World, count: int, seed: int, shared: float = SHARED
) -> tuple[Floats, Floats, list[History]]:
    """Ages today and at failure (count,), and the samples as the package reads them."""
    rng = np.random.default_rng(seed)
    case = base_case(shared)
    today, failure, known = np.empty(count), np.empty(count), []
    for i in range(count):
        today[i], failure[i], samples = engine(rng, world)
        machine = replace(case.machine, reading=float(today[i]))
        found = history(replace(case, machine=machine, samples=samples))
        assert found is not None
        known.append(found)
    return today, failure, known


def panels(ahead: float) -> tuple[Floats, Floats, int]:
    """Usages from today with weights, and how many of them lie within `ahead`."""
    x, w = np.polynomial.legendre.leggauss(3)
    breaks = np.array([0.0, ahead / 3, ahead, 2 * ahead + 10_000, 120_000.0, 400_000.0])
    width = np.diff(breaks)
    nodes = breaks[:-1, None] + width[:, None] * (x + 1) / 2
    return nodes.ravel(), (width[:, None] * w / 2).ravel(), 2 * len(x)


def stated(today: Floats, known: list[History], ahead: float, fine: bool = False) -> Floats:
    """The chance of failing within `ahead`, with the samples; (engines,)."""
    since, weight, within = panels(ahead)
    ages = today[:, None] + since
    told = many_factors(known, ages, FINE) if fine else many_factors(known, ages)
    lived = conditional_survival(today[:, None], since, SHAPE, SCALE)
    mass = hazard(ages, SHAPE, SCALE) * lived * told * weight
    return np.asarray(mass[:, :within].sum(axis=1) / mass.sum(axis=1))


def table(chance: Floats, happened: Floats) -> str:
    """Ten bins of the stated chance, as many engines in each."""
    lines = [
        "| stated | engines | mean stated | came true | standard error |",
        "|---|---|---|---|---|",
    ]
    for some in np.array_split(np.argsort(chance, kind="stable"), 10):
        p, hit = chance[some].mean(), happened[some].mean()
        error = math.sqrt(np.mean(chance[some] * (1 - chance[some])) / len(some))
        lines.append(
            f"| {chance[some].min():.4f} to {chance[some].max():.4f} | {len(some)} "
            f"| {p:.4f} | {hit:.4f} | {error:.4f} |"
        )
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--histories", type=int, default=3000)
    parser.add_argument("--ahead", type=float, default=10_000.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--shared", type=float, default=SHARED, help="share that is assumed")
    parser.add_argument("--worlds", default="", help="only those whose name contains this")
    options = parser.parse_args()
    rows = []
    for world in (w for w in WORLDS if options.worlds in w.name):
        start = time.perf_counter()
        today, failure, known = draw(world, options.histories, options.seed, options.shared)
        happened = (failure <= today + options.ahead).astype(float)
        chance = stated(today, known, options.ahead)
        plain = conditional_failure(today, options.ahead, SHAPE, SCALE)
        rows.append(summary(world, chance, np.asarray(plain), happened))
        print(f"\n{world.name} ({time.perf_counter() - start:.0f} s)\n\n{table(chance, happened)}")
    print("\n" + "\n".join([*HEAD, *rows]))


HEAD = (
    "| world | Brier, samples | Brier, none | mean stated | came true (s.e.) | least tenth: stated "
    "| came true | most tenth: stated | came true | log score gained |",
    "|" + "---|" * 10,
)


def summary(world: World, chance: Floats, plain: Floats, happened: Floats) -> str:
    """One line of the last table. The log score is in nats for each engine, against no samples."""
    order = np.array_split(np.argsort(chance, kind="stable"), 10)
    gained = np.where(happened == 1, np.log(chance / plain), np.log((1 - chance) / (1 - plain)))
    error = math.sqrt(np.mean(chance * (1 - chance)) / len(chance))
    cells = [
        world.name,
        f"{np.mean((chance - happened) ** 2):.4f}",
        f"{np.mean((plain - happened) ** 2):.4f}",
        f"{chance.mean():.4f}",
        f"{happened.mean():.4f} ({error:.4f})",
        *(f"{v[some].mean():.4f}" for some in (order[0], order[-1]) for v in (chance, happened)),
        f"{gained.mean():+.4f}",
    ]
    return "| " + " | ".join(cells) + " |"


if __name__ == "__main__":
    main()
