"""How likely what is found out first is, and a failure soon given it, with their intervals.

Plans are weighed in a few possible worlds of the warning. That is enough for means, and for costs,
but once distress is likely a failure soon hangs on how long the lead is, and three factors on it
leave its interval too narrow. These chances need no plan, so their intervals are taken in many
worlds, about the means that the plans are weighed with.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.possible import over_nodes
from riskmodel.decision.prepared import Prepared, few_curves
from riskmodel.decision.results import Interval
from riskmodel.decision.sampling import STEPS, Outcome, Retested, Sampling
from riskmodel.decision.watched import NODES, Panels
from riskmodel.decision.worlds import many_worlds
from riskmodel.life.posterior import Curves
from riskmodel.life.weibull import conditional_survival, density_ahead

Floats = NDArray[np.float64]

INSIDE, FINE = 6, 3
"""Panels over the failure ages before the next oil change; and so many oil intervals beyond it are
followed as closely as those that plans are weighed in."""


@dataclass(frozen=True, slots=True)
class Given:
    """One outcome: its `chance`, and given it the chance `soon` that the part, left in, fails by
    wear before the next oil change."""

    chance: Interval
    soon: Interval

    def about(self, chance: float, soon: float) -> Given:
        """The same about the means that plans are weighed with."""
        return Given(about(self.chance, chance), about(self.soon, soon))


def about(told: Interval, value: float) -> Interval:
    """The same about another mean."""
    return Interval(value, min(told.low, value), max(told.high, value))


@dataclass(frozen=True, slots=True, eq=False)
class _Standing:
    """In each world on each curve, (W, curves): how likely all that is known is, over no distress,
    and given that the chance that the part fails by wear `soon`."""

    likely: Floats
    soon: Floats


class Outlook:
    """The present part on `curves`, `ages` (curves,) old today, as `watch` knows it; its next oil
    change, or keep-until, is `until` away, and failures of `other` causes have that rate."""

    def __init__(
        self, watch: Sampling, curves: Curves, ages: Floats, until: float, other: float
    ) -> None:
        worlds = many_worlds(watch.case.warning)
        self._watch = watch.roughly(worlds, STEPS).unsampled()
        self._curves, self._ages, self._until, self._other = curves, ages, until, other
        self._today = self._standing(self._watch, 0.0)
        believed = worlds.weight[:, None] * curves.weight * self._today.likely
        self._believed = believed / believed.sum()
        self._known: dict[Outcome | tuple[float, bool], _Standing] = {}

    def of_look(self, none_seen: Outcome) -> tuple[Given, Given]:
        """A look that sees something, and one that does not."""
        blank = self._knowing(none_seen, 0.0)
        chance = np.clip(blank.likely / self._today.likely, 0.0, 1.0)
        rest = (self._today.soon - chance * blank.soon) / np.maximum(1 - chance, 1e-12)
        return self._given(1 - chance, np.clip(rest, 0.0, 1.0)), self._given(chance, blank.soon)

    def of_retest(self, surge: Retested, acts_at: float) -> tuple[Interval, Given, Given]:
        """A failure before the result is acted upon; another surge, and none."""
        curves = self._curves
        wear = conditional_survival(self._ages, acts_at, curves.shape, curves.scale)
        lasts = wear * float(np.exp(-self._other * acts_at)) / self._today.likely
        found, alive = [], np.zeros_like(lasts)
        for outcome in (surge, surge.opposite):
            then = self._knowing(outcome, acts_at)
            chance = lasts * then.likely * outcome.usual_chance
            alive += chance
            found.append(self._given(chance, then.soon))
        first = over_nodes(np.maximum(1 - alive, 0.0).ravel(), self._believed.ravel())
        return first, found[0], found[1]

    def _given(self, chance: Floats, soon: Floats) -> Given:
        now, then = self._believed.ravel(), (self._believed * chance).ravel()
        then = then / then.sum() if then.any() else now
        return Given(over_nodes(chance.ravel(), now), over_nodes(soon.ravel(), then))

    def _knowing(self, outcome: Outcome, later: float) -> _Standing:
        key = outcome.key if isinstance(outcome, Retested) else outcome
        if key not in self._known:
            watch = self._watch.later(later) if later else self._watch
            self._known[key] = self._standing(watch.knowing(outcome), later)
        return self._known[key]

    def _standing(self, watch: Sampling, later: float) -> _Standing:
        shape, scale = self._curves.shape, self._curves.scale
        ages, until = self._ages + later, self._until - later
        inside = until * np.arange(1, INSIDE + 1) / INSIDE
        services = until + watch.case.interval * np.arange(FINE + 1.0)
        between = (services[:-1] + services[1:]) / 2
        panels = Panels(np.concatenate([inside, between, services]), watch.reach, watch.lasting)
        tilt = watch.table_of_present_part(services).tilt_at(panels.at)
        mass = density_ahead(ages, panels.at[:, None], shape, scale) * panels.weight[:, None]
        upto = INSIDE * NODES
        within = tilt[:, :upto] @ mass[:upto]
        likely = 1 + within + tilt[:, upto:] @ mass[upto:]
        plain = 1 - conditional_survival(ages, until, shape, scale)
        return _Standing(likely, np.clip((plain + within) / likely, 0.0, 1.0))


def outlook_of(ready: Prepared, watch: Sampling | None = None) -> Outlook:
    """That of a case made ready, on few curves, worked out once: no price enters it. `watch` is
    what its oil tells, where the case has none."""
    if not ready.outlook:
        known, timing = ready.present.watch or watch, ready.timing
        assert known is not None
        until = float(timing.services[0]) if len(timing.services) else timing.keep
        other = ready.joined.lives.other
        ready.outlook.append(Outlook(known, *few_curves(ready), until, other))
    return ready.outlook[0]
