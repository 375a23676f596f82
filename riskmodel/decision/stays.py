"""The stay of a newly fitted part by the rule: what happens while it is in place, and with which
weights what follows it counts, for many usages left at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.prices import FAILURE, FITTING, FOUND_WORN, OF_NEW, SALE
from riskmodel.decision.visits import Tails, Visits, so_far

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Stays:
    """Of each usage left (places,): the `service` that replaces, 0 for never, the `whole` cells
    until then or until keep-until, and the urgent `jobs` that may come before.

    By place and node: `counts` (places, events, nodes) of what happens while it is in place and of
    the fitting that ends it; `replaced` how far what follows that fitting counts, discounted, and
    `alive` the chance of it; `lasts` the chance to be in place at keep-until. What follows a
    failure counts `own` for one in the first cell, which leaves what is sought itself, `at_end` at
    the end of the whole cells and `beyond` at the end of the last one.
    """

    service: Ints
    whole: Ints
    jobs: Ints
    counts: Floats
    replaced: Floats
    alive: Floats
    lasts: Floats
    own: Floats
    at_end: Floats
    beyond: Floats


class Stay:
    """A newly fitted part: discounted chances to fail in each cell, taken `early` at its start and
    `late` at its end; at each service, that of the fitting as number 0, to be in place, `alive`,
    and to be found `worn`; `visits` what happens at those that do not replace. All (.., nodes)."""

    def __init__(
        self,
        early: Floats,
        late: Floats,
        alive: Floats,
        worn: Floats,
        discount: Floats,
        visits: Visits,
        per_interval: int,
    ) -> None:
        self._early, self._late, self._per_interval = early, late, per_interval
        self._alive, self._paid, self._discount = alive, alive * discount[:, None], discount
        self._worn, self._visits = worn * discount[:, None], visits
        self._failing = so_far(early + late)
        # what counts at an edge between two cells comes from both
        self.between = early[1:] + late[:-1]

    def by(self, service: Ints, tails: Tails, jobs: Ints) -> Stays:
        """The part replaced at each `service` (places,), 0 for never, the usages left ending as
        `tails`; an urgent replacement comes on no more than the first `jobs` (places,) samples."""
        planned, never = (service > 0)[:, None], (service == 0)[:, None]
        whole = np.where(service > 0, service * self._per_interval, tails.whole)
        held = np.where(service > 0, service - 1, tails.services)
        jobs = np.minimum(jobs, held)
        early, late = never * tails.early, never * tails.late
        counts = np.zeros((len(service), OF_NEW, early.shape[1]))
        counts[:, FAILURE] = self._failing[whole] + early + late
        self._visits.add(counts, held, jobs)
        replaced = planned * self._paid[service]
        counts[:, FITTING] = replaced
        counts[:, FOUND_WORN] += planned * self._worn[service]
        lasts = never * tails.alive
        counts[:, SALE] = lasts * tails.discount[:, None]
        some = (whole > 0)[:, None]
        return Stays(
            service,
            whole,
            jobs,
            counts,
            replaced,
            planned * self._alive[service],
            lasts,
            np.where(some, self._early[0], early),
            some * (self._late[whole - 1] + early),
            late,
        )
