"""Is the truth that `intervals_coverage_steps` holds intervals against that of the model?

    python -m tests.studies.intervals_coverage_steps_check [--worlds 6] [--lives 40000]

Its worlds with all told to the tool that is not known, records left out: what the tool then states
is to be what lives come to that are played out. Prints a Markdown table: the mean of each figure
over the worlds, stated and played out, and the world in which they are farthest apart.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import Any

import numpy as np

from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.threads import one_thread
from tests.simulation.case import Quantity as Ranged
from tests.studies.intervals_coverage_steps import SEED, of_world
from tests.studies.intervals_coverage_steps_worlds import World, draw_world

RUNS = 6
"""Times that the lives are drawn, for the error of what they come to."""


def known(world: World) -> Case:
    """What is so, as a case."""
    case, true, base = world.told, world.true, world.true.base

    def sure(quantity: Ranged) -> Quantity:
        return exactly(quantity.mean)

    machine = replace(
        case.machine,
        value_later=exactly(world.money.later),
        upkeep=exactly(world.money.upkeep),
    )
    life = replace(
        case.life,
        shape_prior=exactly(base.shape),
        b50_prior=exactly(base.scale * float(np.log(2)) ** (1 / base.shape)),
    )
    warning = replace(
        case.warning,
        lead_factor=sure(true.lead_factor),
        silent=exactly(float(true.silent.at(0.0)), share=True),
    )
    assert base.install_fault_price is not None
    cost = replace(
        case.cost,
        planned=sure(base.planned),
        urgent=sure(true.urgent),
        failure=sure(base.failure),
        investigation=sure(true.investigation),
        install_fault=exactly(base.install_fault, share=True),
        install_fault_price=sure(base.install_fault_price),
    )
    plan = replace(
        case.plan,
        new_part_life=sure(base.new_part_life),
        do_without=exactly(world.money.without),
    )
    look = replace(case.inspection, cost=exactly(world.money.look))
    return replace(
        case,
        machine=machine,
        life=life,
        warning=warning,
        cost=cost,
        plan=plan,
        inspection=look,
        records=None,
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--worlds", type=int, default=6)
    parser.add_argument("--lives", type=int, default=40_000)
    options = parser.parse_args()
    one_thread()
    found: dict[str, list[list[float]]] = {}
    for number in range(options.worlds):
        world = draw_world(np.random.default_rng([SEED, number]), 1)
        world = replace(world, told=known(world))
        runs: list[dict[str, Any]] = [
            of_world(world, np.random.default_rng([SEED, number, run]), options.lives)
            for run in range(RUNS)
        ]
        for what, told in runs[0].items():
            if len(told) in (4, 5) and isinstance(told[0], float) and "price known" not in what:
                true = np.array([run[what][3] for run in runs])
                error = float(true.std(ddof=1) / np.sqrt(RUNS))
                found.setdefault(what, []).append([told[0], float(true.mean()), error])
    print("| what | worlds | mean stated, played out | farthest apart: stated, played out (s.e.) |")
    print("| --- | --- | --- | --- |")
    for what, rows in found.items():
        every = np.array(rows)
        stated, true, error = every[int(np.argmax(np.abs(every[:, 0] - every[:, 1])))]
        means = f"{every[:, 0].mean():.5g}, {every[:, 1].mean():.5g}"
        print(f"| {what} | {len(rows)} | {means} | {stated:.5g}, {true:.5g} ({error:.2g}) |")


if __name__ == "__main__":
    main()
