"""How well the quick form of the ranking agrees with the full one.

    python -m tests.studies.rank_quick [MACHINES [SEED]]

Machines of the bundled kinds, unlike in age, use, prices, samples; both forms of each. Then
machines that tell stretches of use and leave harshness to the records.
"""

from __future__ import annotations

import sys
from itertools import product

import numpy as np
from scipy.stats import spearmanr

from riskmodel.decision.prepared import expected_costs, grounds, prepared
from riskmodel.decision.rank_quick import Quick, quick, waiting
from riskmodel.decision.rank_shared import Shared
from riskmodel.decision.walk_away import settled
from riskmodel.records.case import Case
from riskmodel.risk.with_oil import chance_with_oil
from riskmodel.threads import one_thread
from tests.decision.many_machines import driven_by, machines

TOP = 20


def full(case: Case, until: float) -> tuple[float, float, np.ndarray]:
    """By the full form: the chance before `until`, what waiting costs, what every plan does."""
    found = settled(grounds(case))
    at, cost, _ = expected_costs(prepared(found))
    told = chance_with_oil(found.case, found.curves, until, found.taken, found.ages)
    chance = told.with_oil.value[0]
    return float(chance), waiting(at, cost, until), cost


def main() -> None:
    one_thread()
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 7
    print("| machines | rank correlation | in both top 20 | waiting: median error | worst error | "
          "sign differs | chance: median error | worst | least cost: worst | "
          "any plan: worst |")  # fmt: skip
    print("|---|---|---|---|---|---|---|---|---|---|")
    for base, learned in product(("road-car", "work-boat"), (False, True)):
        told = machines(count, base=base, seed=seed)
        cases = [case for case in told if not case.machine.symptoms]
        if learned:
            rng = np.random.default_rng(seed)
            cases = [driven_by(case, rng) for case in cases]
        ours = [q for q in quick(cases, [False] * len(cases), Shared()) if isinstance(q, Quick)]
        theirs = [full(case, q.until) for case, q in zip(cases, ours, strict=True)]
        wait = np.array([q.waiting for q in ours]), np.array([t[1] for t in theirs])
        chance = np.array([q.chance.value for q in ours]), np.array([t[0] for t in theirs])
        planned = np.array([case.cost.planned.mean for case in cases])
        off = np.abs(wait[0] - wait[1]) / planned
        far = np.abs(chance[0] / chance[1] - 1)
        both = len(set(np.argsort(-wait[0])[:TOP]) & set(np.argsort(-wait[1])[:TOP]))
        pairs = [(q.cost, t[2]) for q, t in zip(ours, theirs, strict=True)]
        least = max(abs(mine.min() / whole.min() - 1) for mine, whole in pairs)
        worst = max(float(np.abs(mine / whole - 1).max()) for mine, whole in pairs)
        differs = np.sign(wait[0]) != np.sign(wait[1])
        print(
            f"| {len(cases)} like {base}{', harshness learned' * learned} | "
            f"{spearmanr(*wait).statistic:.5f} | {both} | "
            f"{100 * np.median(off):.2f} % | {100 * off.max():.2f} % | {int(differs.sum())} | "
            f"{100 * np.median(far):.2f} % | {100 * far.max():.2f} % | "
            f"{100 * least:.2f} % | {100 * worst:.2f} % |",
            flush=True,
        )


if __name__ == "__main__":
    main()
