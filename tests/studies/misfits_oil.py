"""Oil samples that differ honestly from the model: the part of `misfits` where oil tells more.

As `oil_calibration`, whose case, metals and reading of chances it shares, but for the worlds: lives
correlated with leads, engines that differ, swapped bottles, a laboratory's bias, levels that drift.
Simulated from the model's text; sizes of misfits are judgement.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from riskmodel.life.weibull import conditional_failure
from riskmodel.oil.history import History, history
from riskmodel.records.tables import OilSample, OilSamples, Reading
from tests.studies.misfits_scores import HEAD, TENTHS, Told, scores, tenths
from tests.studies.oil_calibration import (
    AGES,
    CARRY_OVER,
    INTERVALS,
    LEAD,
    LEAD_FACTOR,
    METALS,
    MISLEADING,
    SAMPLES,
    SCALE,
    SHAPE,
    SHARED,
    SILENT,
    Z90,
    a_share,
    base_case,
    ranged,
    stated,
)

Floats = NDArray[np.float64]
Rng = np.random.Generator
SEED, AHEAD = 20_261_132, 10_000.0
FILL = (np.arange(100) + 0.5) / 100
"""Places within a fill at which the wear rate is taken."""
NEAR = 1e-9


@dataclass(frozen=True)
class World:
    """How a world differs: `correlated` ln lead with the normal score of life, engines' ln life by
    `frailty`, a share of bottles `swapped` with those of like engines, readings `bias` times as
    high from the middle of the history on or `always`, levels `drift` times as high after 100,000,
    a share of `dirty` bottles besides those that the model has, recorded oil ages off by a spread
    `oil_age` of their logarithm, distress that `begins` to show only in the last share of the lead,
    rises `rise` times (in ln), a share of the scatter's variance `shared` by a sample's metals."""

    name: str
    correlated: float = 0.0
    frailty: float = 0.0
    swapped: float = 0.0
    bias: float = 1.0
    named: bool = False
    always: float = 1.0
    drift: float = 1.0
    dirty: float = 0.0
    oil_age: float = 0.0
    begins: float = 1.0
    rise: float = 1.0
    shared: float = SHARED


WORLDS = (
    World("as the model"),
    World("lead and life correlated -0.5", correlated=-0.5),
    World("lead and life correlated +0.5", correlated=0.5),
    World("engines differ, ln life by 0.35", frailty=0.35),
    World("one bottle in ten swapped", swapped=0.1),
    World("one bottle in four swapped", swapped=0.25),
    World("one bottle in ten dirty", dirty=0.1),
    World("the laboratory reads 1.4 times, throughout", always=1.4),
    World("another laboratory, 1.4 times, for the later half", bias=1.4),
    World("another laboratory, 0.7 times, for the later half", bias=0.7),
    World("another laboratory, named, 1.4 times, for the later half", bias=1.4, named=True),
    World("another laboratory, named, 0.7 times, for the later half", bias=0.7, named=True),
    World("another laboratory, named, that reads alike, for the later half", named=True),
    World("levels drift, 1.5 times in 100,000", drift=1.5),
    World("recorded oil ages off by 0.3 (ln)", oil_age=0.3),
    World("distress shows only in the last third of the lead", begins=1 / 3),
    World("metals rise half as far (ln)", rise=0.5),
)


@dataclass(frozen=True)
class Engine:
    """One that lasts today: ages today and at failure, samples, and what the tool has to guess."""

    today: float
    failure: float
    samples: OilSamples
    factor: float
    silent: float


def life_of(rng: Rng, today: float, world: World, shape: float, scale: float) -> float:
    """An age at failure beyond `today`; without frailty the population's curve is Weibull."""
    while world.frailty:
        own = scale * math.exp(world.frailty * rng.standard_normal())
        life = float(own * rng.exponential() ** (1 / shape))
        if life > today:
            return life
    return float(scale * ((today / scale) ** shape + rng.exponential()) ** (1 / shape))


def draw_engine(
    rng: Rng,
    world: World,
    today: float | None = None,
    interval: float | None = None,
    shape: float = SHAPE,
    scale: float = SCALE,
) -> Engine:
    """An engine of `world` that lasts at age `today`, with up to `SAMPLES` samples."""
    today = float(rng.choice(AGES)) if today is None else today
    interval = float(rng.choice(INTERVALS)) if interval is None else interval
    failure = life_of(rng, today, world, shape, scale)
    factor, share = float(ranged(rng, LEAD_FACTOR)), a_share(rng, SILENT)
    score = float(norm.isf(math.exp(-((failure / scale) ** shape))))
    z = world.correlated * score + math.sqrt(1 - world.correlated**2) * rng.standard_normal()
    low, high = (math.log(end) for end in LEAD)
    lead = math.exp((low + high) / 2 + (high - low) / 2 / Z90 * z) * factor
    silent = rng.random() < share
    onset = max(failure - lead, 0.0)
    last = today - rng.uniform() * interval
    at = [a for a in last - interval * np.arange(SAMPLES)[::-1] if a - interval >= 0]
    samples = _samples(rng, world, at, interval, None if silent else (onset, failure))
    return Engine(today, failure, samples, factor, share)


def _samples(
    rng: Rng, world: World, at: list[float], interval: float, distress: tuple[float, float] | None
) -> OilSamples:
    """Samples at ages `at` of an engine in `distress` from onset to failure (None: silent)."""
    n = len(at)
    odds = np.array([1 - MISLEADING, *[MISLEADING] * n])  # one at most, as the model has it
    misled = int(rng.choice(n + 1, p=odds / odds.sum())) - 1
    level = {m.symbol: math.log(float(ranged(rng, m.typical))) for m in METALS}
    rise, rows = float(rng.standard_normal()), []
    left: dict[str, float | None] = dict.fromkeys(level)
    for i, age in enumerate(at):
        common, readings = rng.standard_t(4), {}
        swapped, dirty = rng.random(2) < (world.swapped, world.dirty)
        told = interval * math.exp(world.oil_age * rng.standard_normal())
        reads = world.always * (world.bias if 2 * i >= n else 1.0)
        for metal in METALS:
            middle = sum(map(math.log, metal.typical)) / 2
            spread = math.log(metal.typical[1] / metal.typical[0]) / 2 / Z90
            sigma = math.log(metal.scatter)
            own = math.hypot(
                math.sqrt(1 - world.shared) * sigma,
                metal.noise / (math.exp(middle) * interval / 1000),
            )
            if i == misled or dirty:
                log_rate = middle + math.hypot(spread, 1.5) * rng.standard_normal()
            else:
                lift = 0.0
                if distress is not None:
                    ends = [math.log(end) for end in metal.rise]
                    top = sum(ends) / 2 + (ends[1] - ends[0]) / 2 / Z90 * rise
                    lift = _lift(age, interval, distress, world.rise * top, world.begins)
                log_rate = level[metal.symbol] + math.log(world.drift) * age / 100_000 + lift
                log_rate += math.sqrt(world.shared) * sigma * common + own * rng.standard_t(4)
            gained = math.exp(log_rate) * interval / 1000
            earlier = left[metal.symbol]
            end = gained / (1 - CARRY_OVER) if earlier is None else CARRY_OVER * earlier + gained
            left[metal.symbol] = end
            if swapped:  # like engines' oil, none in distress
                end = math.exp(middle + spread * rng.standard_normal()) * interval / 1000
                end *= math.exp(sigma * rng.standard_t(4)) / (1 - CARRY_OVER)
            printed = math.floor(reads * end + 0.5)
            readings[metal.symbol] = Reading(1.0, below=True) if printed < 1 else Reading(printed)
        lab = "B" if world.named and 2 * i >= n else "A"
        rows.append(OilSample(None, age, told, None, 0.0, lab, readings))
    return OilSamples(tuple(rows), ("age", "oil_age", "lab"))


def _lift(
    age: float, interval: float, distress: tuple[float, float], top: float, begins: float
) -> float:
    """How far distress lifts the fill's average rate, in ln."""
    onset, failure = distress
    onset = failure - begins * (failure - onset)
    way = np.clip((age - interval * FILL - onset) / max(failure - onset, NEAR), 0.0, 1.0)
    return math.log(float(np.mean(np.exp(top * way))))


def known_of(engine: Engine) -> History:
    """The samples as the package reads them."""
    case = base_case()
    machine = replace(case.machine, reading=engine.today)
    found = history(replace(case, machine=machine, samples=engine.samples))
    assert found is not None
    return found


def oil_tables(engines: int, words: str) -> None:
    print(HEAD.format("no samples"))
    more = []
    for world in (w for w in WORLDS if words in w.name):
        drawn = [draw_engine(np.random.default_rng([SEED, i]), world) for i in range(engines)]
        today, failure = (np.array([getattr(e, k) for e in drawn]) for k in ("today", "failure"))
        chance = stated(today, [known_of(e) for e in drawn], AHEAD)
        plain = np.asarray(conditional_failure(today, AHEAD, SHAPE, SCALE))
        none = np.full(engines, np.nan)
        came = (failure <= today + AHEAD).astype(float)
        told = Told(chance, none, none, plain, came)
        more.append(tenths(world.name, told))
        print(scores(world.name, told), flush=True)
    print("\n".join(["", TENTHS, *more]))
