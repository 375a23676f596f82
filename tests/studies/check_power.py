"""How often the record checks speak of records without a fault, and how often of one put in.

    python -m tests.studies.check_power [--lists 300]
    python -m tests.studies.check_power --influence 1500

Takes some minutes. The figures it prints are those stated beside the checks' limits; the
second command measures the influence check alone, on more lists and at several limits.
"""

from __future__ import annotations

import argparse
import math
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.check import check
from riskmodel.life.check_fits import Fits
from riskmodel.life.check_influence import FEWEST, LEAST, b10_shifts
from riskmodel.records.inputs import Unit
from riskmodel.records.tables import LifeRecords
from tests.life.made import joined, records

Rng = np.random.Generator
Steps = dict[float, float]

ROUNDED: Steps = {1: 0.07, 100: 0.04, 500: 0.05, 1_000: 0.45, 5_000: 0.24, 10_000: 0.15}
"""Steps that people round to and their shares (judgement)."""

SCALE = 180_000.0
ENTRY = (24_000.0, 130_000.0)
"""Age at which a part is first met, central 90 % [km]."""


def club(
    rng: Rng,
    n: int,
    shape: float,
    *,
    late: float = 0.5,
    watch: tuple[float, float] = (30_000.0, 165_000.0),
    between: float = 0.1,
    steps: Steps | None = None,
) -> LifeRecords:
    """`n` parts that owners report truly, ages in km.

    A share `late` is met at an age within ENTRY, if the part still runs then; each is watched
    for a usage within `watch`; a share `between` of the failures is known only to lie between
    two ages. With `steps`, reporters round.
    """

    def drawn(low: float, high: float) -> float:
        middle, spread = np.log(low * high) / 2, np.log(high / low) / 2 / 1.645
        return float(np.exp(middle + spread * rng.normal()))

    def rounded(age: float) -> float:
        if steps is None:
            return age
        step = rng.choice(list(steps), p=list(steps.values()))
        return float(step * round(age / step))

    rows: list[tuple[float, str, float, float]] = []
    while len(rows) < n:
        life = SCALE * rng.weibull(shape)
        entry = drawn(*ENTRY) if rng.uniform() < late else 0.0
        end = entry + drawn(*watch)
        if life <= entry:
            continue
        outcome, age, since = ("failed", life, np.nan) if life < end else ("running", end, np.nan)
        if outcome == "failed" and rng.uniform() < between:
            low = life - rng.uniform(500, 9_000)
            if low > entry:
                since, age = low, life + rng.uniform(500, 9_000)
        age, entry = rounded(age), rounded(entry)
        since = since if np.isnan(since) else rounded(since)
        if entry < age and not since >= age and not since < entry:
            rows.append((age, outcome, since, entry))
    ages, outcomes, sinces, entries = zip(*rows, strict=True)
    return records(ages, outcomes, age_from=sinces, entered_at=entries)


def complete(rng: Rng, n: int, shape: float) -> LifeRecords:
    """Parts of one test, each watched from new until it failed."""
    return records(SCALE * rng.weibull(shape, n))


CLEAN: dict[str, Callable[[Rng], LifeRecords]] = {
    "club of 40, shape 2.5": lambda rng: club(rng, 40, 2.5),
    "club of 150, shape 1.3": lambda rng: club(rng, 150, 1.3),
    "club of 150, shape 2.5": lambda rng: club(rng, 150, 2.5),
    "club of 150, shape 4": lambda rng: club(rng, 150, 4.0),
    "club of 400, shape 2.5": lambda rng: club(rng, 400, 2.5),
    "club of 150, all late": lambda rng: club(rng, 150, 2.5, late=1.0),
    "club of 150, all from new": lambda rng: club(rng, 150, 2.5, late=0.0),
    "club of 150, rounded ages": lambda rng: club(rng, 150, 2.5, steps=ROUNDED),
    "club of 400, rounded ages": lambda rng: club(rng, 400, 2.5, steps=ROUNDED),
    "test of 25, all failed, shape 1.5": lambda rng: complete(rng, 25, 1.5),
    "test of 25, all failed, shape 4": lambda rng: complete(rng, 25, 4.0),
}


def picked(some: LifeRecords, rows: NDArray[np.intp]) -> LifeRecords:
    """Those rows of `some`."""
    return records(
        some.age[rows],
        [some.outcome[i] for i in rows],
        age_from=some.age_from[rows],
        entered_at=some.entered_at[rows],
    )


def told_twice(rng: Rng, many: int, steps: Steps | None) -> LifeRecords:
    clean = club(rng, 150, 2.5, steps=steps)
    return joined(clean, picked(clean, rng.choice(150, many, replace=False)))


def in_thousands(rng: Rng, many: int) -> LifeRecords:
    clean = club(rng, 150, 2.5)
    age, entry, since = clean.age.copy(), clean.entered_at.copy(), clean.age_from.copy()
    for i in rng.choice(150, many, replace=False):
        age[i], entry[i], since[i] = age[i] / 1000, entry[i] / 1000, since[i] / 1000
    return replace(clean, age=np.round(age, 2), entered_at=np.round(entry, 2), age_from=since)


def turned_to_miles(rng: Rng, many: int) -> LifeRecords:
    """Round ages in km that somebody turned into miles."""
    clean = club(rng, 150, 2.5, between=0.0, late=0.0, steps={100: 1.0})
    age = clean.age.copy()
    for i in rng.choice(150, many, replace=False):
        age[i] = round(1000 * max(round(age[i] / 1000), 1) / 1.609344)
    return replace(clean, age=age)


def some_in_miles(rng: Rng, shape: float) -> LifeRecords:
    """Failures of 100 parts, each in miles with a chance of 15 %."""
    clean = complete(rng, 100, shape)
    return replace(
        clean, age=np.where(rng.uniform(size=100) < 0.15, clean.age / 1.609344, clean.age)
    )


def digit_too_many(rng: Rng) -> LifeRecords:
    clean = club(rng, 150, 2.5)
    age = clean.age.copy()
    age[np.argsort(age)[75]] *= 10
    return replace(clean, age=age)


def came_failing(rng: Rng, many: int) -> LifeRecords:
    """Parts that entered the list because they were about to fail."""
    age = SCALE * rng.weibull(2.5, many)
    extra = records(age, entered_at=age * (1 - 0.015 * rng.uniform(size=many)))
    return joined(club(rng, 150, 2.5), extra)


def entry_forgotten(rng: Rng) -> LifeRecords:
    """entered_at is left out beside failures."""
    clean = club(rng, 150, 2.5)
    failed = np.array([outcome == "failed" for outcome in clean.outcome])
    return replace(clean, entered_at=np.where(failed, 0.0, clean.entered_at))


def early(rng: Rng, many: int, mean: float) -> LifeRecords:
    return joined(club(rng, 150, 2.5), records(rng.exponential(mean, many)))


def count_slip(rng: Rng, count: int) -> LifeRecords:
    """A count typed into one row of a part that still runs."""
    clean = club(rng, 60, 2.5)
    counts = clean.count.copy()
    alive = [i for i, outcome in enumerate(clean.outcome) if outcome == "running"]
    counts[sorted(alive, key=lambda i: clean.age[i])[len(alive) // 2]] = count
    return replace(clean, count=counts)


@dataclass(frozen=True)
class Fault:
    """A fault put into records, and the kinds of remark that would tell it."""

    make: Callable[[Rng], LifeRecords]
    kinds: tuple[str, ...]


FAULTS: dict[str, Fault] = {
    "1 of 150 told twice, exact ages": Fault(lambda r: told_twice(r, 1, None), ("duplicates",)),
    "3 of 150 told twice, rounded": Fault(lambda r: told_twice(r, 3, ROUNDED), ("duplicates",)),
    "10 of 150 told twice, rounded": Fault(lambda r: told_twice(r, 10, ROUNDED), ("duplicates",)),
    "1 of 150 in thousands": Fault(lambda r: in_thousands(r, 1), ("units",)),
    "5 of 150 in thousands": Fault(lambda r: in_thousands(r, 5), ("units",)),
    "a digit too many": Fault(digit_too_many, ("units",)),
    "3 turned to miles": Fault(lambda r: turned_to_miles(r, 3), ("units",)),
    "15 % in miles, shape 3": Fault(lambda r: some_in_miles(r, 3.0), ("units",)),
    "15 % in miles, shape 8": Fault(lambda r: some_in_miles(r, 8.0), ("units",)),
    "15 % in miles, shape 12": Fault(lambda r: some_in_miles(r, 12.0), ("units",)),
    "4 came failing": Fault(lambda r: came_failing(r, 4), ("entry",)),
    "8 came failing": Fault(lambda r: came_failing(r, 8), ("entry",)),
    "entry left out beside failures": Fault(entry_forgotten, ("entry",)),
    "all late, one failed at 9,000": Fault(
        lambda r: joined(club(r, 150, 2.5, late=1.0), records([9_000.0])), ("entry",)
    ),
    "1 early, mean 2,000": Fault(lambda r: early(r, 1, 2e3), ("early failures", "influence")),
    "2 early, mean 2,000": Fault(lambda r: early(r, 2, 2e3), ("early failures",)),
    "5 early, mean 8,000": Fault(lambda r: early(r, 5, 8e3), ("early failures",)),
    "count of 30 in one of 60 rows": Fault(lambda r: count_slip(r, 30), ("influence",)),
    "count of 200 in one of 60 rows": Fault(lambda r: count_slip(r, 200), ("influence",)),
}


def spoken(
    make: Callable[[Rng], LifeRecords], lists: int, seed: int = 1, unit: Unit = "km"
) -> Counter[str]:
    """In how many of `lists` lists each kind of remark was made."""
    rng, told = np.random.default_rng(seed), Counter[str]()
    for _ in range(lists):
        told.update({remark.kind for remark in check(make(rng), unit)})
    return told


LIMITS = (5.0, 5.5, 6.0, 6.5, 7.0, 7.5)
LEAST_MOVE = math.log1p(LEAST)


def influence_at_most(data: LifeRecords) -> float:
    """The limit below which the influence check speaks of `data`; 0 where it never does.

    The remark on early failures, which takes its place in `check`, is not looked at.
    """
    fits = Fits(data)
    if fits.base is None or fits.top is None or fits.b10 is None or fits.base.failures < FEWEST:
        return 0.0
    shifts = np.abs(b10_shifts(fits))
    row = int(np.argmax(np.nan_to_num(shifts, nan=0.0, posinf=1e9)))
    without = fits.b10_without(row)
    moved = math.inf if without is None else abs(math.log(without / fits.b10))
    least = min(float(shifts[row]), moved)
    return least * math.sqrt(fits.base.failures) / fits.log_b10_error if least > LEAST_MOVE else 0.0


def influence_study(lists: int) -> None:
    """A Markdown table: how many of 100 clean lists the influence check speaks of."""
    print("| records without a fault | " + " | ".join(f"limit {x:g}" for x in LIMITS) + " |")
    print("|" + " --- |" * (1 + len(LIMITS)))
    for seed, (name, make) in enumerate(CLEAN.items()):
        rng = np.random.default_rng(1000 + seed)
        most = np.array([influence_at_most(make(rng)) for _ in range(lists)])
        shares = " | ".join(f"{100 * (most > limit).mean():.1f}" for limit in LIMITS)
        print(f"| {name} | {shares} |", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lists", type=int, default=300)
    parser.add_argument("--influence", type=int, metavar="LISTS")
    given = parser.parse_args()
    if given.influence:
        influence_study(given.influence)
        return
    lists = given.lists
    print(f"Records without a fault: remarks per 100 of {lists} lists")
    for seed, (name, make) in enumerate(CLEAN.items()):
        start = time.perf_counter()
        told = spoken(make, lists, seed)
        seconds = (time.perf_counter() - start) / lists
        text = ", ".join(
            f"{kind} {100 * count / lists:.1f}" for kind, count in sorted(told.items())
        )
        print(f"  {name}: {text or 'none'} ({1000 * seconds:.0f} ms a list)", flush=True)
    print(f"Records with one fault: told in so many of 100, of {lists} lists")
    for seed, (name, fault) in enumerate(FAULTS.items()):
        rng = np.random.default_rng(100 + seed)
        seen = sum(
            any(remark.kind in fault.kinds for remark in check(fault.make(rng), "km"))
            for _ in range(lists)
        )
        print(f"  {name}: {100 * seen / lists:.0f}", flush=True)


if __name__ == "__main__":
    main()
