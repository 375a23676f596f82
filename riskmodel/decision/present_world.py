"""What may happen to the part that is in the engine now, in one possible world of its warning."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class SampleVisits:
    """What the samples at the coming services lead to; (services, nodes) each but `happens`
    (services,), which tells whether an urgent replacement comes before keep-until."""

    urgent: Floats
    urgent_worn: Floats
    alarms: Floats
    happens: NDArray[np.bool_]

    def map(self, of: Callable[[Floats], Floats]) -> SampleVisits:
        return SampleVisits(of(self.urgent), of(self.urgent_worn), of(self.alarms), self.happens)


@dataclass(frozen=True, slots=True)
class PresentWorld:
    """The present part in one world: `share` (segments, edges, curves) as in `PresentPart`,
    the others over pairs: `alive`, `wear` at each break, `worn` now and at each service."""

    share: Floats
    alive: Floats
    wear: Floats
    worn: Floats
    visits: SampleVisits | None

    def only(self, pairs: Ints, factors: int) -> PresentWorld:
        """The same at some `pairs`, each a curve of its own."""

        def some(values: Floats) -> Floats:
            return values[:, pairs]

        share = self.share[:, :, pairs // factors]
        visits = None if self.visits is None else self.visits.map(some)
        return PresentWorld(share, some(self.alive), some(self.wear), some(self.worn), visits)
