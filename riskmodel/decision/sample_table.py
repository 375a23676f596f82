"""What samples lead to, tabulated by the failure age of the part."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.visits import place
from riskmodel.decision.watched import Kernels
from riskmodel.life.weibull import conditional_survival, remaining_quantile

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """What samples lead to by failure `at` (T,), in usage from the clock's start; straight
    lines between. `seen`, `alarms` (W, S, T) and `tilt` (W, T) as in `Kernels`.
    """

    at: Floats
    seen: Floats
    alarms: Floats
    tilt: Floats
    false_alarm: float

    def less(self, other: Table, share: float) -> Table:
        """The rest of what this is made of, of which `share` is the `other`."""
        if not np.array_equal(self.at, other.at):
            raise ValueError("tables of unlike failure ages")

        def rest(own: Floats, of_other: Floats, false: float = 0.0) -> Floats:
            found = (own + false - share * (of_other + false)) / (1 - share)
            return np.asarray(np.maximum(found, 0.0) - false)

        return Table(
            self.at,
            rest(self.seen, other.seen),
            rest(self.alarms, other.alarms, self.false_alarm),
            rest(self.tilt, other.tilt, 1.0),
            self.false_alarm,
        )

    def of_first(self, services: int) -> Table:
        """The same with the samples of the first `services` alone."""
        if services == self.seen.shape[1]:
            return self
        return replace(self, seen=self.seen[:, :services], alarms=self.alarms[:, :services])

    def times(self, likelier: Floats) -> Table:
        """The same where something was found out that is so many times likelier for a failure at
        each age (T,) than for none in sight, whatever the oil shows."""
        alarms = (self.alarms + self.false_alarm) * likelier - self.false_alarm
        tilt = (self.tilt + 1) * likelier - 1
        return replace(self, seen=self.seen * likelier, alarms=alarms, tilt=tilt)

    def mean(self, weight: Floats) -> Table:
        """The mean over its worlds, believed so far before any sample (W,), as one."""
        each = (self.seen, self.alarms, self.tilt)
        seen, alarms, tilt = (np.tensordot(weight, values, 1)[None] for values in each)
        return replace(self, seen=seen, alarms=alarms, tilt=tilt)

    def kernels(self, at: Floats) -> Kernels:
        seen, alarms = (
            self._read(each, at).transpose(0, 2, 1) for each in (self.seen, self.alarms)
        )
        return Kernels(seen, alarms, self.tilt_at(at))

    def tilt_at(self, at: Floats) -> Floats:
        """`tilt` at failures `at` (points,); (W, points)."""
        return self._read(self.tilt, at)

    def _read(self, table: Floats, at: Floats) -> Floats:
        below, share = place(self.at, at)
        return np.asarray((1 - share) * table[..., below] + share * table[..., below + 1])

    def of_draws(self, world: Ints, at: Floats) -> tuple[Floats, Floats]:
        """Of parts in `world` (n,) that fail at `at` (n,): (n, S) the chance to be seen by each
        service, and to alarm at one without being seen, given that it is in place there."""
        below, share = place(self.at, np.minimum(at, self.at[-1]))
        weight = share[:, None]

        def read(table: Floats) -> Floats:
            low, high = table[world, :, below], table[world, :, below + 1]
            return np.asarray((1 - weight) * low + weight * high)

        likely = 1 + read(self.tilt[:, None])
        seen = read(self.seen) / likely
        by = np.cumsum(seen, axis=1)
        alarm = (read(self.alarms) + self.false_alarm) / likely - seen
        return by, np.clip(alarm / np.maximum(1 - by, 1e-12), 0.0, 1.0)

    def lives(
        self, luck: Floats, age: float | Floats, shape: Floats, scale: Floats, world: Ints
    ) -> Floats:
        """Failure in usage from now at even `luck` in (0, 1), of parts in service at `age` on
        curves `shape`, `scale` in `world`, the history weighed in; all (n,)."""
        if not self.tilt.any():
            return remaining_quantile(luck, age, shape, scale)
        own = np.broadcast_to(np.asarray(age, dtype=float), shape.shape)
        alive = conditional_survival(own[:, None], self.at, shape[:, None], scale[:, None])
        middle = 1 + (self.tilt[:, 1:] + self.tilt[:, :-1]) / 2
        mass = -np.diff(alive, axis=1) * middle[world]
        by = np.cumsum(np.concatenate([mass, alive[:, -1:]], axis=1), axis=1)
        wanted = luck * by[:, -1]
        cell = (by < wanted[:, None]).sum(axis=1)
        row = np.arange(len(luck))
        inside = cell < mass.shape[1]
        some = np.minimum(cell, mass.shape[1] - 1)
        done = np.where(some > 0, by[row, some - 1], 0.0)
        way = (wanted - done) / np.maximum(mass[row, some], 1e-300)
        found = self.at[some] + np.clip(way, 0, 1) * np.diff(self.at)[some]
        # beyond the table the samples tell nothing, and the plain curve holds
        rest = np.clip((by[:, -1] - wanted) / np.maximum(alive[:, -1], 1e-300), 1e-12, 1.0)
        far = self.at[-1] + remaining_quantile(1 - rest, own + self.at[-1], shape, scale)
        return np.asarray(np.where(inside, found, far))
