"""Which input moves the verdict most, and which to find out more about first.

Each input that is not known exactly is put to the ends of its range in turn, all else as it is, and
the plans are weighed anew. What it would be worth to know the input before deciding is taken from
three points of it, the ends and the middle of its central 90 %, at .185, .63 and .185 (extended
Pearson-Tukey; Keefer & Bodily 1983, Management Science 29, 595-609, from memory): the least cost
that one plan has over all three, less the mean of the least cost at each.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.inputs_moved import inputs_moved
from riskmodel.decision.moved import POINTS, Moved, Settings, Weighed, three
from riskmodel.decision.occasions import closed
from riskmodel.decision.prepared import Grounds, Prepared, expected_costs, prepared
from riskmodel.decision.sale import Selling, selling, sold_instead
from riskmodel.decision.value import perfect
from riskmodel.decision.weigh import recommended
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity, exactly

Floats = NDArray[np.float64]

WEIGHTS: Floats = np.array([0.185, 0.63, 0.185])


@dataclass(frozen=True, slots=True)
class Swing:
    """One input at three settings `at` (low, middle, high).

    `now` and `later` are the expected cost there of the first plan that can be had and of the best
    of the others, `plan` the usage from now of the plan recommended (None: never). `swing` is how
    far the difference of the two costs moves from end to end, `worth` what it is worth to know the
    input before deciding. `sold` is what selling today costs there, where that is weighed, and
    `sells` whether it is then the verdict. Of what selling alone hangs on, `now` is the plan that
    keeps the machine, and `later` selling it. `sampling_saves` is how much less the best plan costs
    than the best without samples to come, what samples and looks cost paid; None where none are
    planned and for inputs that do not bear on it.
    """

    key: str
    at: tuple[float, float, float]
    now: tuple[float, float, float]
    later: tuple[float, float, float]
    plan: tuple[float | None, float | None, float | None]
    swing: float
    worth: float
    sold: tuple[float, float, float] | None = None
    sells: tuple[bool, bool, bool] = (False, False, False)
    sampling_saves: tuple[float, float, float] | None = None

    @property
    def flips(self) -> bool:
        """Whether the verdict differs between its settings."""
        named = zip(self.sells, self.plan, strict=True)
        return len({"sell" if sells else plan for sells, plan in named}) > 1


def swings(
    found: Grounds,
    ready: Prepared | None = None,
    stated: Case | None = None,
    bare: Prepared | None = None,
) -> tuple[Swing, ...]:
    """Every input that is not known, the one that moves most first; `ready` is the case of `found`
    made ready and `bare` the same without samples to come, if they are at hand, `stated` the case
    before it was settled what to do after a failure: that is settled anew at each price of one.
    None of those that bear on plans that keep the machine where only one of these can be had."""
    ready = prepared(found) if ready is None else ready
    case, sale = ready.case, selling(ready.case, ready.timing)
    stands = expected_costs(ready)
    sale = None if sale is None or sale.without is None else sale
    rows: list[Swing] = []
    if len(stands[0]) > closed(case, stands[0]) + 1:
        moved = inputs_moved(found, ready, case if stated is None else stated, bare)
        rows += [_swing(case, sale, each) for each in moved]
    if sale is not None:
        rows += _by_sale(case, sale, stands)
    return tuple(sorted(rows, key=lambda each: -each.swing))


def _swing(case: Case, sale: Selling | None, moved: Moved) -> Swing:
    weighed = moved.weighed
    first = closed(case, weighed[0][0])
    costs = np.array([cost[first:] for _, cost, _ in weighed])
    now, later = costs[:, 0], costs[:, 1:].min(axis=1)
    gap = now - later
    sold = None if sale is None else (sale.cost, sale.cost, sale.cost)
    told = three(now), three(later)
    row = _row(case, moved.key, moved.at, weighed, told, gap[2] - gap[0], sold)
    if moved.bare is None:
        return row
    pairs = zip(moved.bare, weighed, strict=True)
    saves = [_least(case, bare) - _least(case, sampled) for bare, sampled in pairs]
    return replace(row, sampling_saves=three(saves))


def _least(case: Case, weighed: Weighed) -> float:
    """What the recommended of the plans that keep the machine costs."""
    return float(weighed[1][recommended(case, *weighed)])


def _row(
    case: Case,
    key: str,
    at: Settings,
    weighed: Sequence[Weighed],
    told: tuple[Settings, Settings],
    moves: float,
    sold: Settings | None,
) -> Swing:
    """One row from the plans `weighed` at each setting, the two costs `told`, how far their
    difference `moves`, and what selling costs."""
    plans: list[float | None] = []
    sells = []
    first, ceiling = closed(case, weighed[0][0]), case.plan.most_risk
    costs = np.array([cost[first:] for _, cost, _ in weighed])
    for i, (usage, cost, failure) in enumerate(weighed):
        best = recommended(case, usage, cost, failure)
        plans.append(None if np.isinf(usage[best]) else float(usage[best]))
        kept = float(cost[best]), float(failure[best])
        sells.append(sold is not None and sold_instead(sold[i], *kept, ceiling))
    if sold is not None:
        costs = np.concatenate([costs, np.array(sold)[:, None]], axis=1)
    return Swing(
        key,
        at,
        *told,
        (plans[0], plans[1], plans[2]),
        float(abs(moves)),
        perfect(costs.T, WEIGHTS),
        sold,
        (sells[0], sells[1], sells[2]),
    )


def _by_sale(case: Case, sale: Selling, stands: Weighed) -> Iterator[Swing]:
    """What selling hangs on and no plan that keeps the machine does."""
    assert sale.without is not None
    amounts: tuple[tuple[str, Quantity, Callable[[Quantity], Selling]], ...] = (
        ("plan.do_without", sale.without, lambda q: replace(sale, without=q)),
        ("machine.upkeep", sale.upkeep, lambda q: replace(sale, upkeep=q)),
        ("machine.value_later", sale.later, lambda q: replace(sale, later=q)),
    )
    keeps = float(stands[1][recommended(case, *stands)])
    for key, amount, put in amounts:
        if not amount.exact:
            at = three(amount.quantile(POINTS))
            sold = three([put(exactly(value)).cost for value in at])
            kept = keeps, keeps, keeps
            yield _row(case, key, at, [stands] * 3, (kept, sold), sold[2] - sold[0], sold)
