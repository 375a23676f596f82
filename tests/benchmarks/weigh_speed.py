"""One `weigh` of the road-car case against brute force, where its time goes, and the start of the
command.

    python -m tests.benchmarks.weigh_speed

Prints seconds of processor time and ratios of one run on one machine: the ratios are what may be
compared.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np

from riskmodel.decision.basis import basis
from riskmodel.decision.flips import what_moves
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
from tests.benchmarks.measure import apart, once, shares, timed, where
from tests.decision.exact_case import simulated_case
from tests.decision.sampled_case import SAMPLED, sampled_case
from tests.simulation import brute_force
from tests.simulation.case import read_case as read_simulated
from tests.simulation.sampled import simulate_sampled
from tests.simulation.sampled_case import read_sampled_case

ROOT = Path(__file__).parents[2]


LIVES = 200_000


def started(*words: str) -> float:
    """Median seconds of processor time of nine processes."""
    run = [sys.executable, *words]
    return float(
        np.median(
            [once(lambda: subprocess.run(run, check=True, capture_output=True)) for _ in range(9)]
        )
    )


def parts(name: str) -> float:
    """The stages of one example's `weigh`; the seconds of the whole."""
    case = read_case(ROOT / "data" / name)
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

    def with_what_moves_it() -> None:
        base = basis(case)
        weigh(case, base=base)
        what_moves(case, base)

    bare, told = timed(lambda: plans(None)), timed(sampled)
    whole = timed(lambda: weigh(case))
    print(f"{name}, {len(curves)} curves, {len(timing.services) + 2} plans at oil changes")
    print(f"  read the case            {timed(lambda: read_case(ROOT / 'data' / name)):8.3f} s")
    print(f"  life curves              {timed(lambda: life_curves(case)):8.3f} s")
    print(f"  all plans, no samples    {bare:8.3f} s")
    print(f"  the same with samples    {told:8.3f} s, {told / bare:.0f} times without")
    print(f"  weigh, whole             {whole:8.3f} s")
    both = timed(with_what_moves_it)
    print(f"  and what moves it        {both:8.3f} s for both, {both / whole:.1f} times weigh")
    print(f"  its memory at most       {apart(lambda: weigh(case)).memory:8.0f} MB")
    stages, modules = where(lambda: weigh(case), 5, "weigh")
    print(f"  where it goes, by stage  {shares(stages, 8)}")
    print(f"  by module                {shares(modules, 8)}")
    return whole


def main() -> None:
    one_thread()
    whole = parts("road-car")
    parts("work-boat")

    exact = simulated_case("road_car")
    ours = timed(lambda: weigh(exact))
    path = ROOT / "tests" / "simulation" / "road_car.json"
    theirs = once(lambda: brute_force.simulate(read_simulated(path)))
    print("road car of exactly known life, the same plans")
    print(f"  weigh                    {ours:8.3f} s")
    print(f"  a million lives per plan {theirs:8.3f} s, {theirs / ours:.0f} times as long")
    print(f"  ratio to the whole posterior's weigh: {theirs / whole:.0f}")
    known = sampled_case("road_car_hint")
    ours = timed(lambda: weigh(known))
    told = read_sampled_case(SAMPLED / "road_car_hint.json")
    theirs = once(lambda: simulate_sampled(told, LIVES))
    print("the same with samples taken and to come")
    print(f"  weigh                    {ours:8.3f} s")
    print(f"  {LIVES:,} lives per plan   {theirs:8.3f} s, {theirs / ours:.0f} times as long")

    help_time, bare = started("-m", "riskmodel.cli", "--help"), started("-c", "")
    print(
        f"riskmodel --help           {help_time:8.3f} s, {help_time / bare:.1f} times a bare Python"
    )


if __name__ == "__main__":
    main()
