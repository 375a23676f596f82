"""The rule for parts to come, against every choice added up plainly, cell by cell."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from riskmodel.decision.prices import (
    FAILURE,
    FITTING,
    FOUND_WORN,
    INVESTIGATION,
    OF_NEW,
    OIL_CHANGE,
    SALE,
    SAMPLE,
    URGENT,
)
from riskmodel.decision.rule import Choices, Rule, settle
from riskmodel.decision.visits import Tails, Visits

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
PER_INTERVAL, SERVICES, NODES = 3, 3, 4
POINTS = PER_INTERVAL * SERVICES + 2


class Made:
    """A part of chances drawn at random, and what is left after it, at points of one grid."""

    def __init__(self, seed: int, repair: bool, sampled: bool) -> None:
        draw = np.random.default_rng(seed).uniform
        self.repair, self.sampled = repair, sampled
        self.weight = draw(0, 1, NODES)
        self.early, self.late = draw(0, 0.05, (2, POINTS, NODES))
        self.alive, self.worn = draw(0.3, 0.9, (2, SERVICES, NODES))
        self.alive *= np.array([1.0, 0.5, 0.1])[
            :, None
        ]  # so that each choice is the best somewhere
        self.alarms, self.urgent, self.urgent_worn = draw(0, 0.3, (3, SERVICES, NODES))
        self.price = np.zeros(OF_NEW)
        self.price[[FITTING, URGENT, FAILURE]] = draw(0, 30, 3)
        self.price[[FOUND_WORN, OIL_CHANGE, SAMPLE, INVESTIGATION]] = draw(0, 5, 4)
        self.price[SALE] = -draw(0, 20)
        self.after = draw(0, 20, (POINTS, NODES))
        self.then_urgent = draw(0, 20, (POINTS, NODES))
        self.then_urgent[:2] = np.nan  # keep-until comes first
        whole = np.arange(POINTS - 1)
        tail = draw(0, 0.4, (3, POINTS - 1, NODES))
        discount = draw(0.9, 1, POINTS - 1)
        self.tails = Tails(whole, whole // PER_INTERVAL, tail[0], tail[1], tail[2], discount)

    def choices(self) -> Choices:
        turnaround = 0.1 if self.sampled else None
        visits = Visits(
            self.alive, turnaround, self.alarms, self.urgent, self.urgent_worn, self.urgent
        )
        rule = Rule(self.weight, self.early, self.late, self.alive, self.worn, visits, PER_INTERVAL)
        urgent = self.then_urgent if self.sampled else self.then_urgent[:0]
        found = Choices(rule, self.price, self.tails, self.repair, self.after, self.after, urgent)
        found.tell(slice(None))
        return found

    def costs(self, point: int) -> list[float]:
        """Of never replacing, and of replacing at each service; means."""
        tails, price, i = self.tails, self.price, point - 1
        whole = int(tails.whole[i])
        spent, found = np.zeros(NODES), []
        for cell in range(whole):
            spent = spent + self._failed(self.early[cell], point - cell)
            spent = spent + self._failed(self.late[cell], point - cell - 1)
            service, over = divmod(cell + 1, PER_INTERVAL)
            if over == 0:
                left, j = point - cell - 1, service - 1
                then = price[FITTING] + self.after[left]
                found.append(spent + self.alive[j] * then + self.worn[j] * price[FOUND_WORN])
                spent = spent + self._held(j, left)
        spent = spent + self._failed(tails.early[i], point - whole)
        spent = spent + self._failed(tails.late[i], point - whole - 1)
        spent = spent + price[SALE] * tails.alive[i] * tails.discount[i]
        return [float(self.weight @ each) for each in (spent, *found)]

    def _failed(self, chance: Floats, left: int) -> Floats:
        return chance * (self.price[FAILURE] + (self.after[left] if self.repair else 0.0))

    def _held(self, j: int, left: int) -> Floats:
        price, cost = self.price, self.alive[j] * self.price[OIL_CHANGE]
        if self.sampled:
            cost = cost + self.alive[j] * price[SAMPLE] + self.alarms[j] * price[INVESTIGATION]
        if self.sampled and not np.isnan(self.then_urgent[left]).any():
            cost = cost + self.urgent[j] * (price[URGENT] + self.then_urgent[left])
            cost = cost + self.urgent_worn[j] * price[FOUND_WORN]
        return np.asarray(cost)


@pytest.mark.parametrize("sampled", [True, False])
@pytest.mark.parametrize("repair", [True, False])
def test_the_cheapest_of_all_choices_is_taken(repair: bool, sampled: bool) -> None:
    taken = set()
    for seed in range(200):
        made = Made(seed, repair, sampled)
        points = np.arange(1, POINTS)
        found = made.choices().best(points - 1, points, points, PER_INTERVAL)
        for point, best in zip(points.tolist(), found.tolist(), strict=True):
            costs = made.costs(point)
            assert costs[best] == pytest.approx(min(costs), rel=1e-12)
            taken.add(best)
    assert taken == set(range(SERVICES + 1))


def test_one_usage_left_is_judged_as_among_all() -> None:
    choices, points = Made(1, True, True).choices(), np.arange(1, POINTS)
    each = [choices.best(p - 1, p, p, PER_INTERVAL) for p in points[:, None]]
    together = choices.best(points - 1, points, points, PER_INTERVAL)
    assert np.concatenate(each).tolist() == together.tolist()


class Chain:
    """Choices in a row, each of its own price and with a share of what a choice before it costs."""

    MANY, CHOICES = 40, 4

    def __init__(self, seed: int) -> None:
        draw = np.random.default_rng(seed)
        self.share = draw.uniform(0, 1, self.MANY)
        self.price = draw.uniform(0, 3, (self.MANY, self.CHOICES))
        self.guess = draw.integers(0, self.CHOICES, self.MANY)
        self.cost, self.begun = np.zeros(self.MANY + 1), 0

    def of(self, i: int) -> Floats:
        before = np.maximum(i - np.arange(self.CHOICES), 0)
        return np.asarray(self.price[i] + self.share[i] * self.cost[before])

    def follow(self, start: int) -> None:
        self.begun += 1
        for i in range(start, self.MANY):
            self.cost[i + 1] = self.of(i)[self.guess[i]]

    def best(self, start: int) -> Ints:
        return np.array([np.argmin(self.of(i)) for i in range(start, self.MANY)], dtype=np.int64)


@pytest.mark.parametrize("known", [True, False])
def test_a_rule_is_settled_whatever_was_guessed(known: bool) -> None:
    begun = []
    for seed in range(50):
        one_by_one, guessed = Chain(seed), Chain(seed)
        for i in range(Chain.MANY):
            one_by_one.guess[i] = np.argmin(one_by_one.of(i))
            one_by_one.cost[i + 1] = one_by_one.of(i).min()
        if known:
            guessed.follow(0)
        settle(guessed.guess, guessed.best, guessed.follow, Chain.MANY if known else 0)
        assert guessed.guess.tolist() == one_by_one.guess.tolist()
        np.testing.assert_array_equal(guessed.cost, one_by_one.cost)
        begun.append(guessed.begun)
    assert np.mean(begun) < Chain.MANY / 3  # far sooner than one after another
