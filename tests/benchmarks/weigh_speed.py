"""One `weigh` of the road-car case against brute force, and the start of the command.

    python -m tests.benchmarks.weigh_speed

Prints seconds and ratios of one run on one machine: the ratios are what may be compared.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from riskmodel.decision.lives import join
from riskmodel.decision.plans import PresentPart
from riskmodel.decision.prepared import FAULT_POINTS, sampling_of
from riskmodel.decision.prices import prices_of
from riskmodel.decision.sampling import Sampling
from riskmodel.decision.timing import timing_of
from riskmodel.decision.weigh import weigh
from riskmodel.oil.history import history
from riskmodel.records.files import read_case
from riskmodel.risk.life_curves import life_curves
from riskmodel.threads import one_thread
from tests.decision.exact_case import simulated_case
from tests.simulation import brute_force
from tests.simulation.case import read_case as read_simulated

ROOT = Path(__file__).parents[2]


def median(run: Callable[[], object], times: int) -> float:
    run()
    found = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        found.append(time.perf_counter() - start)
    return statistics.median(found)


def main() -> None:
    one_thread()
    case = read_case(ROOT / "data" / "road-car")
    curves = life_curves(case)
    timing, prices = timing_of(case), prices_of(case)
    repair = case.plan.after_failure == "repair"

    def plans(sampling: Sampling | None) -> None:
        joined = join(curves, case.plan.new_part_life)
        lead, (faults, _) = case.warning.visible_lead, prices.fault.points(FAULT_POINTS)
        part = PresentPart(case.age, curves, joined, timing, lead, repair, faults, sampling)
        part.evaluate(prices)

    def sampled() -> None:
        plans(sampling_of(case, history(case)))

    reading = median(lambda: read_case(ROOT / "data" / "road-car"), 5)
    whole = median(lambda: weigh(case), 9)
    print(f"road car, {len(curves)} curves, {len(timing.services) + 2} plans")
    print(f"  read the case            {reading:8.3f} s")
    print(f"  life curves              {median(lambda: life_curves(case), 9):8.3f} s")
    print(f"  all plans, no samples    {median(lambda: plans(None), 9):8.3f} s")
    print(f"  the same with samples    {median(sampled, 5):8.3f} s")
    print(f"  weigh, whole             {whole:8.3f} s")

    path = ROOT / "tests" / "simulation" / "road_car.json"
    exact = simulated_case("road_car")
    ours = median(lambda: weigh(exact), 5)
    start = time.perf_counter()
    brute_force.simulate(read_simulated(path))
    theirs = time.perf_counter() - start
    print("road car of exactly known life, the same plans")
    print(f"  weigh                    {ours:8.3f} s")
    print(f"  a million lives per plan {theirs:8.3f} s, {theirs / ours:.0f} times as long")
    print(f"  ratio to the whole posterior's weigh: {theirs / whole:.0f}")

    command = [sys.executable, "-m", "riskmodel.cli", "--help"]
    help_time = median(lambda: subprocess.run(command, check=True, capture_output=True), 9)
    bare = median(lambda: subprocess.run([sys.executable, "-c", ""], check=True), 9)
    print(
        f"riskmodel --help           {help_time:8.3f} s, {help_time / bare:.1f} times a bare Python"
    )


if __name__ == "__main__":
    main()
