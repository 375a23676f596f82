"""Speed of the evidence of oil samples, in one run on one machine.

    python -m tests.benchmarks.oil_speed

Prints medians of processor time and ratios: histories of a few and of many samples, the chance
ahead, and a fleet's histories at once beside one by one.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from riskmodel.oil.history import QUICK, History, history, many_likelihoods
from riskmodel.oil.history_ahead import likelihood_ahead
from riskmodel.records.case import Case
from riskmodel.records.files import read_case
from riskmodel.risk.life_curves import life_curves
from riskmodel.risk.with_oil import chance_with_oil
from riskmodel.threads import one_thread
from tests.benchmarks.measure import timed
from tests.oil.made import case_with_oil, element
from tests.studies.oil_calibration import WORLDS, draw

SYMBOLS = ("Pb", "Cu", "Sn", "Al", "Ag", "Ni", "Sb", "Cd")
FLEET = 200


def long_history() -> Case:
    """30 samples of 8 elements."""
    elements = [element("Pb" if i % 2 else "Cu", symbol=s) for i, s in enumerate(SYMBOLS)]
    rng = np.random.default_rng(1)
    rows = [
        f"{10_000 * i},10000," + ",".join(str(v) for v in rng.integers(3, 8, len(SYMBOLS)))
        for i in range(1, 31)
    ]
    columns = "reading,oil_age," + ",".join(SYMBOLS)
    return case_with_oil(rows, columns, elements=elements, reading=304_000)


def fresh(case: Case) -> History:
    found = history(case)
    assert found is not None
    return found


def main() -> None:
    one_thread()
    cases = {
        name: read_case(Path(__file__).parents[2] / "data" / name)
        for name in ("road-car", "work-boat")
    }
    cases["30 samples of 8 elements"] = long_history()
    print("| what | seconds |\n|---|---|")
    for name, case in cases.items():
        ages = case.age + np.geomspace(1, 3 * case.keep, 60)
        curves, found = life_curves(case), fresh(case)

        def curve(case: Case = case, ages: np.ndarray = ages) -> object:
            return likelihood_ahead(fresh(case), ages)

        def chance(case: Case = case, curves=curves, found: History = found) -> object:
            return chance_with_oil(case, curves, np.array([case.next_change_in, case.keep]), found)

        print(f"| {name}: samples to 60 ages, 5 factors on the lead | {timed(curve):.3f} |")
        print(f"| {name}: chance ahead over {len(curves)} curves | {timed(chance):.3f} |")
    today, _, known = draw(WORLDS[0], FLEET, 3)
    ages = today[:, None] + np.geomspace(500, 100_000, 12)

    def one_by_one() -> object:
        return [h.likelihood(a) for h, a in zip(map(again, known), ages, strict=True)]

    alone, together = timed(one_by_one, 0), timed(lambda: many_likelihoods(known, ages, QUICK), 0)
    print(f"| {FLEET} engines, 12 ages, one by one | {alone:.2f} |")
    print(f"| the same at once | {together:.2f} |\n\n{alone / together:.1f} times as fast")


def again(found: History) -> History:
    """Without what was worked out before."""
    return replace(found)


if __name__ == "__main__":
    main()
