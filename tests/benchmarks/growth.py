"""How time and memory grow with records, samples, plans and machines.

    python -m tests.benchmarks.growth

Prints processor time and the most memory held at a time, each size in a process of its own, and
the power of the size with which the time grows over the larger half of the sizes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from riskmodel.decision.rank import GivenCase, rank
from riskmodel.decision.weigh import weigh
from riskmodel.life.fit import fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import posterior
from riskmodel.page.examples import example
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity
from riskmodel.threads import one_thread
from tests.benchmarks.life_speed import inspected, watched
from tests.benchmarks.measure import apart, exponent
from tests.decision.many_machines import machines

RECORDS = (40, 200, 1_000, 10_000, 100_000)
SAMPLES = (0, 1, 4, 15, 30, 60)
PLANS = (2, 4, 8, 15, 30, 60)
MACHINES = (1, 10, 100, 1_000)


def of_records(count: int, sampled: bool) -> Case:
    """The road car, no look offered, judged by so many records without traits."""
    case = plain(sampled)
    records = watched(np.random.default_rng(3), count)
    return replace(case, records=records, part=replace(case.part, traits={}))


def of_samples(count: int) -> Case:
    """One invented machine by the last so many of its samples."""
    case = machines(1, samples=max(SAMPLES))[0]
    assert case.samples is not None
    rows = case.samples.rows[len(case.samples.rows) - count :]
    return replace(case, samples=replace(case.samples, rows=rows) if count else None)


def of_plans(count: int, sampled: bool) -> Case:
    """The same by its own records, kept for two oil changes fewer: with now and never so many (a
    round figure on the meter and a year's end may add some)."""
    case = plain(sampled)
    keep = (count - 2 + 0.5) * case.interval
    plan = replace(case.plan, keep_years=None, keep_usage=keep, booking_weeks=0.0, lay_up=None)
    return replace(case, plan=plan, oil=replace(case.oil, next_change_in=case.interval))


def plain(sampled: bool) -> Case:
    """The road car without a look first; with its samples and those to come, or without any."""
    case = example("road-car")
    case = replace(case, inspection=replace(case.inspection, cost=None))
    if sampled:
        return case
    return replace(case, samples=None, plan=replace(case.plan, sample=False))


def ranked(count: int) -> Callable[[], object]:
    """All of them in this process."""
    sources = [GivenCase(case.machine.name, case) for case in machines(count, samples=10)]
    return lambda: rank(sources, workers=1)


def line(what: str, sizes: Sequence[int], work: Callable[[int], Callable[[], object]]) -> None:
    """One row a size, and how it grows."""
    spent = [apart(work(size)) for size in sizes]
    for size, each in zip(sizes, spent, strict=True):
        print(f"| {what} | {size:,} | {each.seconds:.4f} | {each.memory:.0f} |")
    some = [i for i, size in enumerate(sizes) if size > 0]
    power = exponent([sizes[i] for i in some], [spent[i].seconds for i in some])
    print(f"| {what} | **grows as its power {power:.2f}** | | |", flush=True)


def main() -> None:
    one_thread()
    rng, prior = np.random.default_rng(1), Quantity(1.2, 5.0)
    print("| what | size | seconds of processor | MB held at most |\n| --- | --- | --- | --- |")
    weigh(example("road-car"))  # what is read and made once for all
    exact = {n: watched(rng, n) for n in RECORDS}
    between = {n: inspected(rng, n) for n in RECORDS}
    line("records, all told to the age: fit", RECORDS, lambda n: lambda: fit(exact[n]))
    line("records, between ages and late: fit", RECORDS, lambda n: lambda: fit(between[n]))
    line(
        "records: posterior",
        RECORDS,
        lambda n: lambda: posterior(Likelihood(exact[n]), prior, None),
    )
    for sampled, said in ((False, "without samples"), (True, "with samples")):
        cases = {n: of_records(n, sampled) for n in RECORDS}
        line(f"records: weigh, {said}", RECORDS, lambda n, c=cases: lambda: weigh(c[n]))
    taken = {n: of_samples(n) for n in SAMPLES}
    line("samples taken: weigh", SAMPLES, lambda n: lambda: weigh(taken[n]))
    for sampled, said in ((False, "without samples"), (True, "with samples")):
        cases = {n: of_plans(n, sampled) for n in PLANS}
        line(f"plans at services: weigh, {said}", PLANS, lambda n, c=cases: lambda: weigh(c[n]))
    line("machines: rank, one process", MACHINES, ranked)


if __name__ == "__main__":
    main()
