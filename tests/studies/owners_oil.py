"""Oil samples of simulated owners: what the laboratory prints, which samples alarm, what is seen.

Drawn from the model's text with the means of `tests/simulation/sampled_oil.py`; nothing comes from
the package but the dataclasses in which readings are handed to it. A sample's alarm and its
readings share their noise. A dirty bottle changes the reading, not the alarm, as plans have it.
"""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np

from riskmodel.records.tables import OilSample, OilSamples, Reading
from tests.simulation.case import Case as SimulatedCase
from tests.simulation.case import Quantity
from tests.simulation.sampled_case import Element, Sample, SampledCase
from tests.simulation.sampled_oil import Watch, rise_mean, shift, student4, watch
from tests.studies.owners import (
    CARRY_OVER,
    FALSE_ALARM,
    METALS,
    MISLEADING,
    SEES,
    TURNAROUND,
    Floats,
    Owner,
    stream,
)
from tests.studies.owners_life import Bools, Ints, Luck, Parts

MOST_PAST = 4
"""Samples of the first part that were taken before today, at the latest oil changes, at most."""


def elements() -> tuple[Element, ...]:
    return tuple(
        Element(
            metal["symbol"],
            Quantity.between(*metal["typical"]),
            metal["scatter"],
            Quantity.between(*metal["rise"]),
            metal["noise"],
        )
        for metal in METALS
    )


def simulated_case(owner: Owner, past: int) -> SampledCase:
    """What the simulation needs to judge samples of this owner, who has `past` of them."""
    metals = elements()
    taken = tuple(
        Sample(owner.age, owner.interval, 0.0, {e.symbol: (0.0, 0.0, 0.0) for e in metals})
        for _ in range(past)
    )
    price = Quantity.exact(1.0)
    base = SimulatedCase(
        owner.shape, owner.scale, owner.age, owner.interval, owner.interval, owner.per_year,
        owner.keep, price, price,
    )  # fmt: skip
    return SampledCase(
        base, metals, false_alarm=FALSE_ALARM, investigation_sees=SEES, turnaround=TURNAROUND,
        history=taken,
    )  # fmt: skip


class Oil:
    """The oil of an owner's parts in every life of `luck`.

    `times` (samples,) are the usages from today at which the first part is sampled, those not
    above 0 before the study begins; `printed` (samples, elements, lives) the readings [ppm], 0
    for less than one; `alarm` and `seen` (services, lives) what those at coming services lead to.
    """

    def __init__(self, owner: Owner, luck: Luck, past: int | None = None) -> None:
        rng = stream(owner.number, 4)
        most = min(MOST_PAST, math.floor(owner.age / owner.interval))
        drawn = int(rng.integers(0, most + 1))
        self.past = drawn if past is None else past
        self.owner, self.luck = owner, luck
        self.case = simulated_case(owner, self.past)
        self.times = np.concatenate(
            [owner.interval * np.arange(1.0 - self.past, 1.0), owner.services]
        )
        self._draw(rng)

    @cached_property
    def onset(self) -> Floats:
        """Age at which distress of the first part begins; (lives,)."""
        part, age = self.luck.first, self.owner.age
        return np.maximum(age + part.life - part.lead, 0.0)

    def _draw(self, rng: np.random.Generator) -> None:
        owner, part, lives = self.owner, self.luck.first, self.luck.lives
        metals, d = self.case.elements, owner.interval
        level = np.array(
            [e.typical.mu + e.typical.sigma * rng.standard_normal(lives) for e in metals]
        )
        life = owner.age + part.life
        before: Floats | None = None
        printed, alarm, seen = [], [], []
        for number, time in enumerate(self.times.tolist()):
            at = owner.age + time
            noise = np.array([student4(rng, lives) for _ in metals])
            misled = rng.random(lives) < MISLEADING
            dirty, look = rng.standard_normal((len(metals), lives)), rng.random(lives)
            shown = np.flatnonzero((self.onset < at) & ~part.silent & (life > at))
            log_rate = level.copy()
            for e, metal in enumerate(metals):
                rise = metal.rise.at(part.rise[shown])
                log_rate[e, shown] += np.log(rise_mean(rise, life[shown], self.onset[shown], at, d))
                log_rate[e] += metal.deviation(d) * noise[e]
                wide = math.hypot(metal.typical.sigma, 1.5)
                log_rate[e, misled] = metal.typical.mu + wide * dirty[e, misled]
            gained = np.exp(log_rate) * d / 1000
            left = gained / (1 - CARRY_OVER) if before is None else CARRY_OVER * before + gained
            before = left
            rounded = np.floor(left + 0.5)
            printed.append(rounded)
            if number >= self.past:
                judged = watch(self.case, number - self.past, history=True)
                rung = self._rings(judged, part, shown, noise, at)
                alarm.append(rung)
                seen.append(self._found(rung, shown, look))
        shape = (0, lives)
        self.printed = np.array(printed).reshape(len(printed), len(metals), lives)
        self.alarm = np.array(alarm, dtype=bool).reshape(len(alarm), *shape[1:])
        self.seen = np.array(seen, dtype=bool).reshape(len(seen), *shape[1:])

    def _rings(self, judged: Watch, part: Parts, shown: Ints, noise: Floats, at: float) -> Bools:
        """Whether each sample of the first part alarms; `noise` (elements, lives)."""
        score = judged.weights @ noise
        life = self.owner.age + part.life[shown]
        score[shown] += shift(self.case, judged, life, self.onset[shown], part.rise[shown], at)
        return np.asarray(score > judged.limit)

    @staticmethod
    def _found(rung: Bools, shown: Ints, look: Floats) -> Bools:
        seen = np.zeros(len(rung), dtype=bool)
        seen[shown] = rung[shown] & (look[shown] < SEES)
        return seen

    def samples(self, life: int, until: float) -> OilSamples | None:
        """What the owner has on paper in one life by `until`, usage from today."""
        rows = []
        for time, found in zip(self.times.tolist(), self.printed[:, :, life], strict=True):
            if time <= until:
                readings = {
                    e.symbol: Reading(float(ppm)) if ppm >= 1 else Reading(1.0, below=True)
                    for e, ppm in zip(self.case.elements, found, strict=True)
                }
                age, d = self.owner.age + time, self.owner.interval
                rows.append(OilSample(None, age, d, None, 0.0, "", readings))
        return OilSamples(tuple(rows), ("age", "oil_age")) if rows else None

    def of_new_parts(
        self, generation: int, service: int, parts: Parts, who: Ints
    ) -> tuple[Bools, Bools]:
        """Whether the sample of each of the parts `who` at its `service` alarms, and whether
        distress is then seen; the same under every rule."""
        rng = np.random.default_rng([self.owner.number, 5, generation, service])
        judged, n = watch(self.case, service - 1, history=False), len(parts.life)
        noise = np.array([student4(rng, n) for _ in self.case.elements])[:, who]
        look = rng.random(n)[who]
        at = service * self.owner.interval
        life = parts.life[who]
        onset = np.maximum(life - parts.lead[who], 0.0)
        shown = np.flatnonzero((onset < at) & ~parts.silent[who] & (life > at))
        score = judged.weights @ noise
        score[shown] += shift(
            self.case, judged, life[shown], onset[shown], parts.rise[who[shown]], at
        )
        rung = np.asarray(score > judged.limit)
        return rung, self._found(rung, shown, look)
