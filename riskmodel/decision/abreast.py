"""Cases that differ in what their samples mean, worked out side by side: as worlds of one case,
which is several times sooner than one after another, and then each taken on its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.prepared import Prepared, prepare
from riskmodel.decision.sampling import Sampling
from riskmodel.decision.watched import Kernels

Floats = NDArray[np.float64]


class Abreast:
    """Samplings of one world each, as worlds; a `Watch`. All have the same turnaround, and samples
    to come in all of them or in none. Raises ValueError otherwise."""

    def __init__(self, each: Sequence[Sampling]) -> None:
        same = {(one.sampled, one.turnaround, one.false_alarm) for one in each}
        if len(same) != 1 or any(len(one.weight) != 1 for one in each):
            raise ValueError("samplings abreast need one world each, and samples alike")
        ((self.sampled, self.turnaround, self.false_alarm),) = same
        self._each = each

    @property
    def weight(self) -> Floats:
        return np.full(len(self._each), 1 / len(self._each))

    @property
    def reach(self) -> float:
        return max(one.reach for one in self._each)

    def of_new_part(self, services: Floats, at: Floats) -> Kernels:
        return _stacked([one.of_new_part(services, at) for one in self._each])

    def of_present_part(self, services: Floats, at: Floats) -> Kernels:
        return _stacked([one.of_present_part(services, at) for one in self._each])


def abreast(like: Prepared, watches: Sequence[Sampling]) -> list[Prepared]:
    """The case of `like` made ready with each of the `watches` in its place, on the same curves;
    to be compared with one another."""
    case = watches[0].case
    both = prepare(case, like.curves, like.taken, Abreast(watches), like.ages, coarse=True)
    both.present.new_part.follows(both.prices)  # once for all: it is tried first for each
    return [
        replace(
            both,
            case=watch.case,
            taken=watch.history,
            present=both.present.of_world(w, watch),
            knowing={},
            few=[],
            outlook=[],
        )
        for w, watch in enumerate(watches)
    ]


def _stacked(each: Sequence[Kernels]) -> Kernels:
    return Kernels(
        np.concatenate([one.seen for one in each]),
        np.concatenate([one.alarms for one in each]),
        np.concatenate([one.tilt for one in each]),
    )
