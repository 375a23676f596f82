"""The value of information: how much less it costs to choose a plan once more is known.

With costs c(plan, state) and a belief over states: perfect information is worth
min_p E[c] - E[min_p c], and a sample that gives outcome x with chance P(x | state) is worth
min_p E[c] - sum_x P(x) min_p E[c | x] (Raiffa & Schlaifer 1961; Howard 1966). Neither is ever
below nothing; a sample is worth nothing when no outcome would change the plan.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def blind(cost: ArrayLike, belief: ArrayLike) -> float:
    """The least expected cost of one plan for all; `cost` (plans, states), `belief` (states,)."""
    return float((np.asarray(cost, dtype=float) @ np.asarray(belief, dtype=float)).min())


def perfect(cost: ArrayLike, belief: ArrayLike) -> float:
    """What it is worth to know the state before choosing."""
    cost, belief = np.asarray(cost, dtype=float), np.asarray(belief, dtype=float)
    return max(blind(cost, belief) - float(cost.min(axis=0) @ belief), 0.0)


def sampled(cost: ArrayLike, belief: ArrayLike, likelihood: ArrayLike) -> float:
    """What it is worth to know the outcome of a sample, its price aside; `likelihood` (outcomes,
    states) is the chance of each outcome in each state, which sum to 1 over the outcomes."""
    cost, belief = np.asarray(cost, dtype=float), np.asarray(belief, dtype=float)
    joint = np.asarray(likelihood, dtype=float) * belief
    if not np.allclose(joint.sum(axis=0), belief):
        raise ValueError("the chances of the outcomes must sum to 1 in every state")
    return max(blind(cost, belief) - float((cost @ joint.T).min(axis=0).sum()), 0.0)
