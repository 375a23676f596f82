"""When a newly fitted part is replaced in its turn, as a function of the usage left.

The policy is found by dynamic programming over the usage left ``m``, upwards from 0. The cost of
"replace at the j-th service" is a Stieltjes integral over the part's life, by the trapezium rule
on a grid of usage left that is broken at every multiple of the interval, where a further service
comes in and the cost jumps. Each grid class is closed under taking away an interval, so that the
cost after a planned replacement is always read at a grid point, never between two. Everything is
discounted to now, not to the moment of fitting.

The factor on the new part's life is not known: costs are kept per node of a Gauss-Hermite rule
over it, and the choice is made on their mean, one choice for all of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from .case import Case, Quantity

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NEVER = 0


@dataclass(frozen=True)
class Policy:
    """Piecewise constant: with usage left in ``(breaks[i], breaks[i + 1]]`` a part newly fitted
    is replaced at its ``service[i]``-th service (0: never).

    On the grid of usage left, ``left`` (m,): ``cost`` (m,) is the expected cost from a fitting on,
    its own price and fault left out, discounted to the fitting; ``second`` (m,) the next best
    service, and ``margin`` (m,) what it would cost more (infinite where there is no other)."""

    breaks: Floats
    service: Ints
    left: Floats
    cost: Floats
    second: Ints
    margin: Floats

    def service_at(self, left: Floats, tolerance: float) -> Ints:
        """The planned service for each usage left. A service within ``tolerance`` of keep-until
        counts as falling at keep-until, hence the nudge downwards."""
        cell = np.searchsorted(self.breaks, left - tolerance, side="left") - 1
        return self.service[np.clip(cell, 0, self.service.size - 1)]

    def point(self, left: float) -> int:
        """Which grid point a usage left is. Raises ``ValueError`` if it is none."""
        nearest = int(np.argmin(np.abs(self.left - left)))
        if abs(self.left[nearest] - left) > 1e-9 * self.left[-1]:
            raise ValueError(f"{left} is no grid point")
        return nearest


def quantity_nodes(quantity: Quantity, count: int) -> tuple[Floats, Floats]:
    """Values and weights (count,) of a Gauss-Hermite rule over a lognormal; one node if exact."""
    if quantity.sigma == 0:
        return np.array([quantity.mean]), np.array([1.0])
    z, w = np.polynomial.hermite_e.hermegauss(count)
    return np.exp(quantity.mu + quantity.sigma * z), w / w.sum()


def _grid(case: Case, cells: int) -> tuple[Floats, int]:
    """Usage left at every grid point, in blocks of equal length, one per interval; a block starts
    just above a multiple of the interval and ends at the next one. Returns also that length."""
    d, horizon = case.interval, case.keep_usage
    offsets = list(np.linspace(0.0, d, cells + 1))
    for start in (horizon, horizon - case.next_change_in):
        offset = start % d
        if min(abs(offset - o) for o in offsets) > case.tolerance:
            offsets.append(offset)
    blocks = int(np.ceil((horizon - case.tolerance) / d))
    offsets.sort()
    grid = (d * np.arange(blocks)[:, None] + np.array(offsets)[None, :]).ravel()
    return grid, len(offsets)


def _found_worn(case: Case, k: Floats, ages: Floats, quantiles: int = 2000) -> Floats:
    """Chance (k, ages) that a new part reaches an age and then shows distress: the mean over the
    visible lead V of F(age + V) - F(age)."""
    if case.visible_lead is None:
        return np.zeros((k.size, ages.size))
    lead = case.visible_lead.at(ndtri((np.arange(quantiles) + 0.5) / quantiles))
    scale = (case.scale * k)[:, None, None]
    reach = np.exp(-((ages[None, :, None] / scale) ** case.shape))
    beyond = np.exp(-(((ages[None, :, None] + lead[None, None, :]) / scale) ** case.shape))
    worn: Floats = np.mean(reach - beyond, axis=2)
    return worn


def solve_policy(case: Case, cells: int = 100, nodes: int = 15) -> Policy:
    """Find the policy for newly fitted parts on a grid of ``interval / cells``.

    Under "stop" the sale credit counts in the choice, since a failure forfeits it; under "repair"
    no choice for a new part can change it.
    """
    grid, block = _grid(case, cells)
    k, weight = quantity_nodes(case.new_part_life, nodes)
    services = grid.size // block - 1
    ages: Floats = case.interval * np.arange(1.0, services + 1)
    v = np.exp(-case.discount * (case.keep_usage - grid))
    hazard_factor = (k**-case.shape)[:, None]

    def failed_by(t: Floats) -> Floats:
        return -np.expm1(-((t / case.scale) ** case.shape) * hazard_factor)

    failed_at_service = failed_by(ages)
    worn = _found_worn(case, k, ages)
    credit = 0.0 if case.repair else case.sale_credit.mean
    at_end = -credit * np.exp(-case.discount * case.keep_usage)
    job = case.planned.mean + case.install_fault * case.fault_mean

    cost = np.zeros((k.size, grid.size))  # from a fitting on, discounted to now
    paid = np.zeros((k.size, grid.size))  # by a failure with this usage left, and from then on
    candidates: list[Floats] = []
    for i, left in enumerate(grid):
        n = i // block
        chance = np.diff(failed_by(left - grid[i::-1]), axis=1)
        paid[:, i] = case.failure_mean * v[i]  # what follows the failure is `self_share` below
        ends = paid[:, i::-1]
        integral = np.zeros((k.size, i + 1))
        np.cumsum(chance * (ends[:, :-1] + ends[:, 1:]) / 2, axis=1, out=integral[:, 1:])
        total = np.empty((k.size, n + 1))
        oil = np.zeros(k.size)
        for j in range(1, n + 1):
            after = i - j * block
            alive = 1 - failed_at_service[:, j - 1]
            total[:, j] = oil + integral[:, j * block]
            total[:, j] += alive * (v[after] * job + cost[:, after])
            total[:, j] += worn[:, j - 1] * v[after] * case.found_worn.mean
            oil = oil + alive * v[after] * case.oil_change.mean
        if not case.replace_new_parts:
            total[:, 1:] = np.inf
        survive = 1 - failed_by(np.array([left]))[:, 0]
        total[:, NEVER] = oil + integral[:, i] + survive * at_end
        if case.repair and i:
            # A failure within the first cell leads back to this very cost: solve for it.
            self_share = chance[:, 0] / 2
            total /= (1 - self_share)[:, None]
        mean = weight @ total
        choice = int(np.argmin(mean))
        candidates.append(mean)
        cost[:, i] = total[:, choice]
        if case.repair:
            paid[:, i] += cost[:, i]

    breaks, service = _intervals(grid, block, candidates)
    ranked = [np.argsort(c, kind="stable")[:2] for c in candidates]
    second = np.array([r[-1] for r in ranked], dtype=np.int64)
    margin = np.full(grid.size, np.inf)
    for i, mean in enumerate(candidates):
        if mean.size > 1:
            margin[i] = mean[ranked[i][1]] - mean[ranked[i][0]]
    return Policy(breaks, service, grid, (weight @ cost) / v, second, margin / v)


def _intervals(grid: Floats, block: int, candidates: list[Floats]) -> tuple[Floats, Ints]:
    """Turn choices at grid points into intervals of usage left; between two points whose choices
    differ, the change falls where the straight lines of their costs cross."""
    breaks: list[float] = [float(grid[0])]
    service: list[int] = []

    def add(end: float, choice: int) -> None:
        if service and service[-1] == choice:
            breaks[-1] = end
        else:
            breaks.append(end)
            service.append(choice)

    for i in range(grid.size - 1):
        if (i + 1) % block == 0:
            continue  # the two sides of one multiple of the interval
        low, high = candidates[i], candidates[i + 1]
        a, b = int(np.argmin(low)), int(np.argmin(high))
        if a != b:
            gain, loss = low[b] - low[a], high[a] - high[b]
            share = gain / (gain + loss) if gain + loss > 0 else 0.5
            add(float(grid[i] + share * (grid[i + 1] - grid[i])), a)
        add(float(grid[i + 1]), b)
    return np.array(breaks), np.array(service, dtype=np.int64)


def policy_rows(policy: Policy) -> list[tuple[float, float, str]]:
    """The policy as rows: usage left above, up to, and what a newly fitted part is planned for."""
    return [
        (float(low), float(high), "never" if j == NEVER else f"service {j}")
        for low, high, j in zip(policy.breaks[:-1], policy.breaks[1:], policy.service, strict=True)
    ]


@dataclass(frozen=True)
class Choice:
    """What a part fitted by a planned replacement is itself planned for: usage ``left``, the
    ``service`` it is replaced at (0: never), its expected ``cost`` from then on, discounted to its
    fitting, and what the ``second`` best service would cost more (``None``: there is no other)."""

    left: float
    service: int
    cost: float
    second: int | None
    margin: float | None


def choices(case: Case, policy: Policy) -> list[Choice]:
    """The policy, at exactly the usage left after each plan's replacement and, from there, after
    each further planned replacement."""
    todo = [case.keep_usage - at for _, at in case.plans() if at is not None]
    found: list[Choice] = []
    while todo:
        left = todo.pop(0)
        if any(abs(left - c.left) < case.tolerance for c in found):
            continue
        service = int(policy.service_at(np.array([left]), case.tolerance)[0])
        i = policy.point(left)
        only = not np.isfinite(policy.margin[i])
        second, margin = int(policy.second[i]), float(policy.margin[i])
        found.append(
            Choice(
                left,
                service,
                float(policy.cost[i]),
                None if only else second,
                None if only else margin,
            )
        )
        if service != NEVER:
            todo.append(left - service * case.interval)
    return sorted(found, key=lambda c: -c.left)
