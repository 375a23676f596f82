"""What an oil sample says: the mean rise over a fill, the analyst's score and its alarm limit, and
the likelihood of past samples.

The noise of the score is a weighted sum of independent Student t with 4 degrees of freedom. Its
distribution function is found from the product of their characteristic functions by the inversion
formula of Gil-Pelaez (1951), Biometrika 38 (from memory; checked in the tests by drawing).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import kv, ndtr

from .sampled_case import Element, Floats, Sample, SampledCase

Bools = NDArray[np.bool_]


def rise_mean(
    rise: Floats, life: Floats, onset: Floats, at: float, oil_age: float, top_up: float = 0.0
) -> Floats:
    """m (n,): the mean of rise^c(s) over an oil's life, s from ``at - oil_age`` to ``at``, weighted
    by exp(-lambda (at - s)); c climbs from 0 at ``onset`` to 1 at ``life`` (ages, (n,)). ``top_up``
    is lambda times ``oil_age``. ``at`` must be before ``life``."""
    rate = top_up / oil_age
    start = np.clip(onset, at - oil_age, at)  # the piece after onset: start to at

    def weight(length: Floats | float) -> Floats:
        """Integral of the weight over the newest ``length`` of the oil's life."""
        return np.asarray(-np.expm1(-rate * length) / rate if rate else length, dtype=np.float64)

    span = np.maximum(life - onset, 1e-12 * life)
    power = np.log(rise) / span
    growth = power + rate
    # exp(power (s - onset) - rate (at - s)) integrated from start to at
    top = np.exp(power * np.maximum(at - onset, 0.0))
    after = top * -np.expm1(-growth * (at - start)) / growth
    before = weight(oil_age) - weight(at - start)
    mean: Floats = (before + after) / weight(oil_age)
    return mean


@lru_cache(maxsize=256)
def _characteristic(weights: tuple[float, ...]) -> tuple[Floats, Floats]:
    """Arguments s > 0 in equal steps, and the characteristic function of the noise there: that of
    t4 is (2 s)^2 K_2(2 s) / 2, K the modified Bessel function of the second kind."""
    s = np.linspace(0.0, 20.0 / sum(weights), 2001)[1:]  # beyond it below 1e-15
    product = np.ones_like(s)
    for w in weights:
        a = np.maximum(2 * w * s, 1e-8)
        product *= kv(2, a) * a**2 / 2
    return s, product


def noise_cdf(weights: Floats, x: Floats) -> Floats:
    """P(sum w_e t4 <= x) for ``x`` (m,)."""
    s, product = _characteristic(tuple(map(float, np.abs(weights))))
    simpson = np.full(s.size, 2.0)
    simpson[::2] = 4.0
    simpson[-1] = 1.0
    rest = np.sin(x[:, None] * s) @ (product / s * simpson)
    result: Floats = 0.5 + (x + rest) * (s[0] / 3) / math.pi  # sin(x s) / s is x at s = 0
    return result


@dataclass(frozen=True)
class Watch:
    """How a sample is judged: ``weights`` (e,), ``slopes`` (e,) = w_e / sigma'_e, the ``limit``."""

    weights: Floats
    slopes: Floats
    limit: float

    @cached_property
    def table(self) -> tuple[Floats, Floats]:
        """The chance that the noise exceeds each of a set of points, 0 to 60."""
        points = 60 * np.linspace(0, 1, 401) ** 2
        return points, np.clip(1 - noise_cdf(self.weights, points), 0.0, 1.0)

    def chance(self, shift: Floats) -> Floats:
        """Chance of an alarm at a shift (n,)."""
        x = self.limit - shift
        above = np.interp(np.abs(x), *self.table)
        return np.asarray(np.where(x > 0, above, 1 - above), dtype=np.float64)


def level_spread(element: Element, n: int, oil_age: float, noise_in_level: bool) -> float:
    """v_e: the variance of what is still unknown of the own level after ``n`` samples."""
    s2 = element.typical.sigma**2
    own = element.deviation(oil_age) if noise_in_level else math.log(element.scatter)
    return s2 * own**2 / (own**2 + n * s2)


@lru_cache(maxsize=256)
def _watch(elements: tuple[Element, ...], n: tuple[int, ...], *rest: float) -> Watch:
    interval, false_alarm, noise_in_level = rest
    spread = np.array(
        [
            math.sqrt(e.deviation(interval) ** 2 + level_spread(e, c, interval, noise_in_level > 0))
            for e, c in zip(elements, n, strict=True)
        ]
    )
    weights = np.array([e.rise.mu for e in elements]) / spread  # ln of the median rise
    weights /= np.sqrt(np.sum(weights**2))
    if false_alarm in (0.0, 1.0):
        limit = math.inf if false_alarm == 0.0 else -math.inf
    else:
        limit = brentq(
            lambda x: 1 - noise_cdf(weights, np.array([x]))[0] - false_alarm, -60, 60, xtol=1e-10
        )
    return Watch(weights, weights / spread, limit)


def watch(case: SampledCase, earlier: int, history: bool) -> Watch:
    """How the sample after ``earlier`` samples of the plan is judged. ``history``: the part has the
    past samples too, each element as many as it was read in."""
    past = case.history if history else ()
    n = tuple(earlier + sum(e.symbol in s.readings for s in past) for e in case.elements)
    own = float(case.noise_in_level)
    return _watch(case.elements, n, case.base.interval, case.false_alarm, own)


def shift(
    case: SampledCase, w: Watch, life: Floats, onset: Floats, score: Floats, at: float
) -> Floats:
    """sum_e w_e ln m_e / sigma'_e (n,) at a sample at age ``at``; ``score`` (n,) is the standard
    normal score of the part's rise, common to its elements."""
    total = np.zeros(life.size)
    for e, slope in zip(case.elements, w.slopes, strict=True):
        total += slope * np.log(rise_mean(e.rise.at(score), life, onset, at, case.base.interval))
    return total


def student4(rng: np.random.Generator, n: int) -> Floats:
    """Plain Student t with 4 degrees of freedom: a normal over the root of a chi-square over 4,
    which is half the sum of two standard exponentials."""
    half = rng.standard_exponential(n) + rng.standard_exponential(n)
    draws: Floats = rng.standard_normal(n) / np.sqrt(half / 2)
    return draws


def draw_alarms(
    case: SampledCase,
    w: Watch,
    part: tuple[Floats, Floats, Floats, Bools],
    at: float,
    rng: np.random.Generator,
) -> tuple[Bools, Bools]:
    """Draw the samples of parts (life, onset, score, silent), each (n,), at age ``at``: whether
    each alarms, and whether distress is then seen."""
    life, onset, score, silent = part
    noise = np.zeros(life.size)
    for weight in w.weights:
        noise += weight * student4(rng, life.size)
    shown = np.flatnonzero((onset < at) & ~silent)
    noise[shown] += shift(case, w, life[shown], onset[shown], score[shown], at)
    alarm = noise > w.limit
    seen = np.zeros(life.size, dtype=np.bool_)
    seen[shown] = alarm[shown] & (rng.random(shown.size) < case.investigation_sees)
    return alarm, seen


def student4_cdf(t: Floats) -> Floats:
    """Distribution function of Student t with 4 degrees of freedom, in closed form."""
    return np.asarray(0.5 + t * (t * t + 6) / (2 * (t * t + 4) ** 1.5), dtype=np.float64)


def log_rates(case: SampledCase, symbol: str) -> list[tuple[Sample, float, float]]:
    """Each past sample in which an element was read, with the interval of its ln rate in ppm per
    1,000 of usage, by mass balance (the lower end may be -inf)."""
    found = []
    read = [s for s in case.history if symbol in s.readings]
    for s in read:
        low, point, high = s.readings[symbol]
        drain = s.age - s.oil_age
        before = [p.readings[symbol][1] for p in read if p.age <= drain + 1e-9 * s.age]
        left = case.carry_over * (before[-1] if before else point) * math.exp(-s.top_up)
        scale = s.top_up / -math.expm1(-s.top_up) if s.top_up else 1.0
        per = scale * 1000 / s.oil_age
        bottom = (low - left) * per
        top = max(high - left, case.resolution / 2) * per
        found.append((s, math.log(bottom) if bottom > 0 else -math.inf, math.log(top)))
    return found


def _likelihoods(case: SampledCase, part: tuple[Floats, Floats, Floats]) -> Floats:
    """Likelihood (n,) of all past samples, the own levels integrated out, at most one misleading;
    ``part`` is (life, onset, score)."""
    life, onset, score = part
    count = len(case.history)
    whole = np.ones(life.size)  # no sample misleads
    without = np.ones((count, life.size))  # this one does
    for e in case.elements:
        rows = log_rates(case, e.symbol)
        sigmas = [e.deviation(s.oil_age) for s, _, _ in rows]
        if not rows:
            continue
        step = min(0.3, 0.4 * min(sigmas) / max(e.typical.sigma, 1e-9))
        z = np.arange(-5.4, 5.4 + step, step) if e.typical.sigma else np.zeros(1)
        prior = np.exp(-z * z / 2)
        prior /= prior.sum()
        level = e.typical.mu + e.typical.sigma * z
        chances = []
        for (s, low, high), sigma in zip(rows, sigmas, strict=True):
            mean = np.log(rise_mean(e.rise.at(score), life, onset, s.age, s.oil_age, s.top_up))
            middle = mean[:, None] + level[None, :]
            below = student4_cdf((low - middle) / sigma) if math.isfinite(low) else 0.0
            chances.append(student4_cdf((high - middle) / sigma) - below)
        whole *= np.prod(chances, axis=0) @ prior
        wide = math.hypot(e.typical.sigma, 1.5)
        for j, s in enumerate(case.history):
            others = [c for c, row in zip(chances, rows, strict=True) if row[0] is not s]
            without[j] *= np.prod(others, axis=0) @ prior if others else 1.0
            for row, low, high in rows:
                if row is s:
                    ends = ndtr((np.array([low, high]) - e.typical.mu) / wide)
                    without[j] *= ends[1] - ends[0]
    m = case.misleading
    total: Floats = (1 - m) ** count * whole
    if m > 0:
        total = total + m * (1 - m) ** (count - 1) * without.sum(axis=0)
    return total


def evidence(case: SampledCase, life: Floats, onset: Floats, score: Floats) -> Floats:
    """L (n,): likelihood of the past samples for parts that are not silent, over that with no
    distress throughout. Ages, (n,)."""
    result = np.ones(life.size)
    if not case.history or not case.elements:
        return result
    one = np.ones(1)
    last = case.history[-1].age
    none = _likelihoods(case, (one * last * 4, one * last * 3, one * 0.0))[0]
    shown = np.flatnonzero(onset < last)
    for first in range(0, shown.size, 10_000):
        i = shown[first : first + 10_000]
        result[i] = _likelihoods(case, (life[i], onset[i], score[i])) / none
    return result
