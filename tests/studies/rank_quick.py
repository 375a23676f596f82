"""How well the quick form of the ranking agrees with the full one.

    python -m tests.studies.rank_quick [MACHINES]

Machines of the bundled kinds, unlike in age, use, prices, samples; both forms of each.
"""

from __future__ import annotations

import sys

import numpy as np
from scipy.stats import spearmanr

from riskmodel.decision.prepared import expected_costs, grounds, prepared
from riskmodel.decision.rank_quick import Quick, quick, waiting
from riskmodel.decision.rank_shared import Shared
from riskmodel.decision.walk_away import settled
from riskmodel.records.case import Case
from riskmodel.risk.with_oil import chance_with_oil
from riskmodel.threads import one_thread
from tests.decision.many_machines import machines

TOP = 20


def full(case: Case, until: float) -> tuple[float, float, float]:
    """By the full form: the chance before `until`, what waiting costs, what replacing now does."""
    found = settled(grounds(case))
    at, cost, _ = expected_costs(prepared(found))
    told = chance_with_oil(found.case, found.curves, until, found.taken, found.ages)
    chance = told.with_oil.value[0]
    return float(chance), waiting(at, cost, until), float(cost[0])


def main() -> None:
    one_thread()
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    print("| machines | rank correlation | in both top 20 | waiting: median error | worst error | "
          "sign differs | chance: median error | worst |")  # fmt: skip
    print("|---|---|---|---|---|---|---|---|")
    for base in ("road-car", "work-boat"):
        cases = [case for case in machines(count, base=base) if not case.machine.symptoms]
        ours = [q for q in quick(cases, [False] * len(cases), Shared()) if isinstance(q, Quick)]
        theirs = [full(case, q.until) for case, q in zip(cases, ours, strict=True)]
        wait = np.array([q.waiting for q in ours]), np.array([t[1] for t in theirs])
        chance = np.array([q.chance.value for q in ours]), np.array([t[0] for t in theirs])
        planned = np.array([case.cost.planned.mean for case in cases])
        off = np.abs(wait[0] - wait[1]) / planned
        far = np.abs(chance[0] / chance[1] - 1)
        both = len(set(np.argsort(-wait[0])[:TOP]) & set(np.argsort(-wait[1])[:TOP]))
        differs = np.sign(wait[0]) != np.sign(wait[1])
        print(
            f"| {len(cases)} like {base} | {spearmanr(*wait).statistic:.5f} | {both} | "
            f"{100 * np.median(off):.2f} % | {100 * off.max():.2f} % | {int(differs.sum())} | "
            f"{100 * np.median(far):.2f} % | {100 * far.max():.2f} % |"
        )


if __name__ == "__main__":
    main()
