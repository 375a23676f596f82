"""The model of oil samples written again, plainly: nothing shared with the package but the case.

Every step is the slow and obvious one: fills are averaged over small cells, the level and the rise
over grids, everything else by quasi-random draws.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.special import ndtri, stdtr
from scipy.stats import norm, qmc, t

from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import Reading

Floats = NDArray[np.float64]

CELLS = 60
"""Cells of one fill."""
LEVELS = 121
"""Levels of an element, within seven standard deviations between engines."""


def number(reading: Reading) -> float:
    return reading.value / 2 if reading.below else reading.value


def lognormal(quantity: Quantity) -> tuple[float, float]:
    """Mean and standard deviation of the logarithm."""
    low, high = math.log(quantity.low), math.log(quantity.high)
    return (low + high) / 2, (high - low) / 2 / 1.6448536269514722


class PlainModel:
    """The used samples of a case without a break-in, each fill drained at its sample."""

    def __init__(self, case: Case) -> None:
        assert case.samples is not None
        self.case = case
        self.elements = [e for e in case.oil.element if e.from_part]
        rows = case.samples.rows
        self.at = [(r.reading if r.reading is not None else 0) - case.part.fitted_at for r in rows]
        self.oil_age = [r.oil_age for r in rows]
        self.thinning = [r.top_up / case.oil.sump_litres / r.oil_age for r in rows]
        self.ends = [[self._ends(e.symbol, i) for i in range(len(rows))] for e in self.elements]
        for e in range(len(self.elements)):
            self._open_surges(e)

    def _open_surges(self, e: int) -> None:
        """A rate above where it speaks loudest for what a fill shows just before failure, at the
        median rise and lead, over the level that earlier samples tell, counts as one there."""
        element, lead = self.elements[e], lognormal(self.case.warning.lead)[0]
        centre, spread = lognormal(element.typical)
        told, sure = centre / spread**2, 1 / spread**2
        for i, ends in enumerate(self.ends[e]):
            if ends is None:
                continue
            usual = math.exp(centre) * self.oil_age[i] / 1000
            scale = math.sqrt(math.log(element.scatter) ** 2 + (element.noise / usual) ** 2)
            median = np.array([lognormal(element.rise)[0]])
            lift = self.shifts(np.array([self.at[i]]), np.array([math.exp(lead)]), median)[0, i]
            mark = told / sure + self._loudest(float(lift), scale, spread, i)
            value = (ends[0] + ends[1]) / 2 if ends[0] > -math.inf else ends[1] - math.log(2)
            if ends[0] > mark:
                self.ends[e][i] = (mark - 0.01, mark + 0.01)
                value = mark
            told += value / scale**2
            sure += 1 / scale**2

    def _loudest(self, lift: float, scale: float, spread: float, i: int) -> float:
        """Where the chance of a reading with distress is largest over that without."""
        measured = sum(ends[i] is not None for ends in self.ends)
        share = self.case.oil.misleading ** (1 / measured)
        over = lift + scale * np.linspace(0, 2, 4001)
        none = (1 - share) * t.pdf(over, 4, scale=scale)
        none += share * norm.pdf(over, scale=math.sqrt(spread**2 + 1.5**2))
        return float(over[np.argmax(t.pdf(over, 4, lift, scale) / none)])

    def _ends(self, symbol: str, i: int) -> tuple[float, float] | None:
        """ln rate at the ends of what was rounded to the reading."""
        assert self.case.samples is not None
        rows, oil = self.case.samples.rows, self.case.oil
        if symbol not in rows[i].elements:
            return None
        reading = rows[i].elements[symbol]
        earlier = [r.elements[symbol] for r in rows[:i] if symbol in r.elements]
        start = oil.carry_over * number(earlier[-1] if earlier else reading)
        thin, age = self.thinning[i], self.oil_age[i]
        left = math.exp(-thin * age)

        def rate(concentration: float) -> float:
            gained = concentration - start * left
            return 1000 * gained * (thin / (1 - left) if thin > 0 else 1 / age)

        half = oil.resolution / 2
        low, high = (
            (0.0, reading.value) if reading.below else (reading.value - half, reading.value + half)
        )
        top = max(rate(high), rate(start * left + half))
        bottom = rate(max(low, 0.0))
        return (math.log(bottom) if bottom > 0 else -math.inf, math.log(top))

    def shifts(self, failure: Floats, lead: Floats, log_rise: Floats) -> Floats:
        """ln m of each sample by small cells; (draws, samples)."""
        onset = np.maximum(failure - lead, 0.0)
        out = np.empty((len(failure), len(self.at)))
        for i, at in enumerate(self.at):
            cell = (np.arange(CELLS) + 0.5) / CELLS
            s = at - self.oil_age[i] * (1 - cell)
            c = np.clip((s - onset[:, None]) / (failure - onset)[:, None], 0, 1)
            weight = np.exp(-self.thinning[i] * (at - s))
            wear = np.exp(log_rise[:, None] * c)
            out[:, i] = np.log((wear * weight).sum(axis=1) / weight.sum())
        return out

    def readings(self, e: int, shift: Floats) -> tuple[Floats, Floats]:
        """The integral over the level of all chances (draws,), and with each sample in turn
        replaced by one that misleads (draws, samples)."""
        element = self.elements[e]
        centre, spread = lognormal(element.typical)
        z = np.linspace(-7, 7, LEVELS)
        mass = norm.pdf(z) * (z[1] - z[0])
        level = centre + spread * z
        chances, misled = [], []
        for i, ends in enumerate(self.ends[e]):
            if ends is None:
                chances.append(np.ones((len(shift), LEVELS)))
                misled.append(1.0)
                continue
            usual = math.exp(centre) * self.oil_age[i] / 1000
            scale = math.sqrt(math.log(element.scatter) ** 2 + (element.noise / usual) ** 2)
            place = level + shift[:, i, None]
            chances.append(
                stdtr(4, (ends[1] - place) / scale) - stdtr(4, (ends[0] - place) / scale)
            )
            wide = math.hypot(spread, 1.5)
            misled.append(norm.cdf((ends[1] - centre) / wide) - norm.cdf((ends[0] - centre) / wide))
        whole = np.prod(chances, axis=0) @ mass
        others = [
            misled[j] * (np.prod([c for i, c in enumerate(chances) if i != j], axis=0) @ mass)
            if len(chances) > 1
            else np.full(len(shift), misled[j])
            for j in range(len(chances))
        ]
        return whole, np.array(others).T

    def samples(self, failure: Floats, lead: Floats, deviate: Floats) -> Floats:
        """The likelihood of all samples (draws,); `deviate` is the rise's common quantile."""
        m, n = self.case.oil.misleading, len(self.at)
        whole, others = np.ones(len(failure)), np.ones((len(failure), n))
        for e, element in enumerate(self.elements):
            centre, spread = lognormal(element.rise)
            one, rest = self.readings(e, self.shifts(failure, lead, centre + spread * deviate))
            whole, others = whole * one, others * rest
        return (1 - m) ** n * whole + m * (1 - m) ** (n - 1) * others.sum(axis=1)

    def likelihood(self, failure: Floats, lead: Floats, deviate: Floats) -> Floats:
        """L(T, H, rise), (draws,): over the likelihood without any distress."""
        never = np.full(1, 1e12)
        none = self.samples(never, np.ones(1), np.zeros(1))
        return self.samples(failure, lead, deviate) / none

    def chance(self, ahead: float, power: int = 10, ages: int = 8) -> tuple[float, float]:
        """P(fail within `ahead` | lasts today), with the samples and without.

        Over the life by which half fail (lognormal or exact), the lead, its factor and the rise by
        2^power Sobol points; over the failure age, within and beyond `ahead`, by even shares of
        the curve.
        """
        case = self.case
        u = qmc.Sobol(4, seed=7).random_base2(power)
        z = ndtri(u)
        today, shape = case.age, case.life.shape_prior.median
        assert case.life.b50_prior is not None
        centre, spread = lognormal(case.life.b50_prior)
        scale = np.exp(centre + spread * z[:, 0]) / math.log(2) ** (1 / shape)
        lead = np.exp(
            sum(
                lognormal(q)[0] + lognormal(q)[1] * z[:, 1 + i]
                for i, q in enumerate((case.warning.lead, case.warning.lead_factor))
            )
        )
        lived = np.exp(-((today / scale) ** shape))
        lasts = np.exp(-(((today + ahead) / scale) ** shape))
        share = 1 - lasts / lived
        silent = mean_share(case.warning.silent)
        cell = (np.arange(ages) + 0.5) / ages
        sums = []
        for top, bottom in ((lived, lasts), (lasts, np.zeros_like(lasts))):
            # more of the ages near the beginning of the stretch, where the samples say most
            skew, stretch = cell**2, 2 * cell / ages
            survive = top[:, None] - (top - bottom)[:, None] * skew
            failure = scale[:, None] * (-np.log(survive)) ** (1 / shape)
            told = self.likelihood(
                failure.ravel(), np.repeat(lead, ages), np.repeat(z[:, 3], ages)
            ).reshape(failure.shape)
            sums.append(silent + (1 - silent) * (told @ stretch) / stretch.sum())
        within, beyond = lived * share * sums[0], lived * (1 - share) * sums[1]
        plain = (lived * share).sum() / lived.sum()
        return float(within.sum() / (within + beyond).sum()), float(plain)


def mean_share(quantity: Quantity) -> float:
    """The mean of a logit-normal share."""
    if quantity.low == quantity.high:
        return quantity.low
    low, high = (math.log(v / (1 - v)) for v in (quantity.low, quantity.high))
    centre, spread = (low + high) / 2, (high - low) / 2 / 1.6448536269514722
    return float(quad(lambda z: norm.pdf(z) / (1 + math.exp(-centre - spread * z)), -9, 9)[0])
