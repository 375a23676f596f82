"""What samples change for one part, as integrals over the age at which it would fail.

Of a part that would fail by wear at T, samples at its services may find the distress before:
it is then replaced a turnaround later, unless it fails first. With D_j(T) the chance that the
j-th sample is the one that finds it out, a part replaced so no longer fails, and is no longer in
place; all of that is linear in the density of T. What is known of samples already taken tilts
that density by a factor G(T). Both leave parts alone that are to fail long after keep-until, so
the integrals reach only a lead beyond it; what remains is the plain survival curve.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NODES, FEW_NODES = 4, 2
"""Gauss-Legendre nodes on each panel between two times at which something happens, and where a
difference is asked for."""

BEYOND = 12
"""Panels over the failure ages beyond keep-until that samples before it can tell of."""

BELIEVED, GONE = 1e-9, 27.0
"""Curves believed no more than this don't set how far the panels reach; those that do reach to
where their cumulative hazard is so high."""

SAME_TIME = 1e-9
"""Times closer than this (relative to the last) are one."""


@dataclass(frozen=True, slots=True)
class Kernels:
    """What samples do to a part that would fail at usage `at` (T,), in W worlds.

    A world is one possible truth about the warning that parts give. `seen` (W, T, S) is the
    chance that the sample at service j is the one that finds distress, `alarms` (W, T, S) that
    the part is still in place there and the sample alarms, less `false_alarm`; both times the
    tilt by samples already taken, whose excess over 1 is `tilt` (W, T).
    """

    seen: Floats
    alarms: Floats
    tilt: Floats


class Watch(Protocol):
    """Where kernels come from."""

    turnaround: float
    false_alarm: float

    @property
    def weight(self) -> Floats:
        """How far each world is believed before any sample, (W,)."""
        ...

    @property
    def reach(self) -> float:
        """Usage before failure within which samples can tell anything."""
        ...

    def of_new_part(self, services: Floats, at: Floats) -> Kernels:
        """For a newly fitted part with services at given ages, failing at ages `at`."""
        ...

    def of_present_part(self, services: Floats, at: Floats) -> Kernels:
        """For the part in the engine now; both in usage from now."""
        ...


class Panels:
    """Quadrature from 0 over times at which something happens, and a `reach` beyond them, but no
    further than parts last, `lasting`."""

    def __init__(
        self, times: Floats, reach: float, lasting: float = np.inf, nodes: int = NODES
    ) -> None:
        last = float(times.max())
        reach = min(reach, max(lasting - last, SAME_TIME * last))
        grid = np.unique(np.concatenate([[0.0], times]))
        apart = np.concatenate([[True], np.diff(grid) > SAME_TIME * last])
        beyond = last + reach * np.linspace(0.0, 1.0, BEYOND + 1)[1:] ** 2
        self.edges = np.concatenate([grid[apart], beyond])
        self.nodes = nodes
        z, w = np.polynomial.legendre.leggauss(nodes)
        half = np.diff(self.edges)[:, None] / 2
        self.at = ((self.edges[:-1] + self.edges[1:])[:, None] / 2 + half * z).ravel()
        self.weight = (half * w).ravel()

    def edge(self, times: Floats) -> Ints:
        """Index of the edge at each of `times`."""
        above = np.clip(np.searchsorted(self.edges, times), 1, len(self.edges) - 1)
        nearer = times - self.edges[above - 1] < self.edges[above] - times
        return np.asarray(np.where(nearer, above - 1, above))


@dataclass(frozen=True, slots=True)
class Watched:
    """What samples take away from survival and failure; nodes are life curves.

    By panel edge (E, W, nodes): `removed` is the plain chance to outlive it less that of being
    in place then; `mass` and `moment` are, up to it, the plain chance of failure less the true
    one, and its first moment. By service (S, W, nodes): `urgent`, `urgent_worn` the chance of
    urgent replacement on its sample, and of visible distress found then; `alarms` the chance of
    an alarm. `worn` (I + 1, W, nodes) is what to take from the chance of finding distress at a
    planned replacement at once and at each stop. `mass`, `moment`, `urgent`, `urgent_worn`
    and `alarms` count failures of other causes, `removed` and `worn` do not.
    """

    panels: Panels
    removed: Floats
    mass: Floats
    moment: Floats
    urgent: Floats
    urgent_worn: Floats
    worn: Floats
    alarms: Floats

    def between(self, start: Floats, end: Floats) -> tuple[Floats, Floats]:
        """What to take from the chance of failure in cells from `start` to `end`, shared out to
        their two ends; (cells, W, nodes) each."""
        a, b = self.panels.edge(start), self.panels.edge(end)
        mass = self.mass[b] - self.mass[a]
        width = (self.panels.edges[b] - self.panels.edges[a])[:, None, None]
        about = self.panels.edges[a][:, None, None]
        late = (self.moment[b] - self.moment[a] - about * mass) / width
        return mass - late, late

    def in_place(self, times: Floats) -> Floats:
        """`removed` at `times`."""
        return np.asarray(self.removed[self.panels.edge(times)])


def watched(
    panels: Panels,
    density: Floats,
    survival: Floats,
    services: Floats,
    turnaround: float,
    false_alarm: float,
    kernels: Kernels,
    visible_lead: Quantity,
    other: float,
    stops: Floats | None = None,
) -> Watched:
    """Integrals for life curves of `density` (T, nodes) at the panels' points, `survival`
    (S, nodes) of wear at the services; `other` is the rate of failures of other causes, `stops`
    (I,) when the part may be replaced as planned, left out: at the services.
    """
    stops = services if stops is None else stops
    mass = density * panels.weight[:, None]
    worlds, _, count = kernels.seen.shape
    nodes, size = density.shape[1], len(panels.edges)
    by_panel = mass.reshape(size - 1, panels.nodes, nodes)
    at, after = panels.at, services + turnaround
    spared = np.exp(-other * np.concatenate([services, after]))
    spared_at, spared_after = spared[:count, None, None], spared[count:, None, None]
    gone = at[:, None] > after  # (T, S): replaced before it would have failed
    there, still = at[:, None] > services, at[:, None] > stops
    near = SAME_TIME * float(panels.edges[-1])
    # the job at a stop finds out itself what a sample drawn there, or not yet told of, would have
    by_then = (services[:, None] < stops - near) & (after[:, None] <= stops + near)
    seen_at = shows(visible_lead, at[:, None] - stops), shows(visible_lead, at[:, None] - after)
    shows_now = shows(visible_lead, at)
    middle, width = (panels.edges[1:] + panels.edges[:-1]) / 2, np.diff(panels.edges)
    others = (other * width * np.exp(-other * middle))[:, None, None]

    def sums(weight: Floats) -> Floats:
        """Of the density times `weight` (rows, T), over each panel: (panels, rows, nodes)."""
        rows = weight.reshape(len(weight), size - 1, panels.nodes).swapaxes(0, 1)
        return np.asarray(np.ascontiguousarray(rows) @ by_panel)

    seen, tilt = kernels.seen, kernels.tilt[..., None]
    caught = seen * gone
    fewer = caught.sum(axis=2) - tilt[..., 0]
    of_services = np.concatenate(
        [
            caught,
            caught * seen_at[1],
            kernels.alarms * there,
            (seen @ by_then - tilt) * still * seen_at[0],
            -tilt * shows_now[:, None],
            -tilt,
        ],
        axis=2,
    )
    told = np.zeros((of_services.shape[2], worlds, nodes))
    some = of_services.any(axis=(0, 1))  # few, where no samples are to come
    rows = np.moveaxis(of_services[..., some], 2, 0)
    told[some] = (rows.reshape(-1, len(at)) @ mass).reshape(-1, worlds, nodes)
    urgent, urgent_worn, alarms = told[: 3 * count].reshape(3, count, worlds, nodes)
    worn = np.concatenate([told[-2:-1], told[3 * count : -2]])
    alarms += false_alarm * survival[:, None]
    # by edge: what was removed before, less those of them that would have failed by now
    rate = fewer * np.exp(-other * at)
    steps, lost, moment = np.split(sums(np.concatenate([-fewer, rate, rate * at])), 3, axis=1)
    np.add.at(steps, panels.edge(after) - 1, urgent)
    removed = told[-1] + _so_far(steps)
    if other > 0:  # a part that was removed is spared the other causes too
        held = others * (removed[1:] + removed[:-1]) / 2
        lost, moment = lost + held, moment + held * middle[:, None, None]
    return Watched(
        panels,
        removed,
        _so_far(lost),
        _so_far(moment),
        urgent * spared_after,
        urgent_worn * spared_after,
        worn,
        alarms * spared_at,
    )


def _so_far(steps: Floats) -> Floats:
    """Sums over the first 0, 1, 2, ... of `steps` (panels, ...)."""
    found = np.zeros((len(steps) + 1, *steps.shape[1:]))
    np.cumsum(steps, axis=0, out=found[1:])
    return found


def shows(lead: Quantity, ahead: Floats) -> Floats:
    """Chance that a look would show distress this long before failure; 0 after it."""
    if lead.exact:
        return np.asarray(((ahead > 0) & (ahead < lead.median)).astype(float))
    with np.errstate(divide="ignore"):
        z = (np.log(lead.median) - np.log(np.maximum(ahead, 0.0))) / lead.spread
    return np.asarray(np.where(ahead > 0, ndtr(z), 0.0))
