"""What the look of a removed part says about its life.

A look shows distress when the part was within its visible lead V of failing. Of a part that
lived to age a, with y ~ Exp(1) the cumulative hazard that it could still have taken,

    w = P(T < a + V | T > a) = E_V[1 - exp(-(H(a + V) - H(a)))] = P(V > v(y)),

v(y) being the usage ahead in which the hazard grows by y. Averaging over V suits a curve
that bends little within V's spread, averaging over y one that bends much. Both integrands
are analytic, so the trapezoid rule settles either to 1e-6 (Trefethen & Weideman 2014, SIAM
Review 56, 385-458).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from riskmodel.life.terms import CHUNK, Jet, distinct
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]

_TAIL, _LONG_TAIL = 5.7, 8.5
"""Standard deviations of ln V summed over on either side; the longer if looks are never wrong."""

_STEP = 0.6
"""The widest spacing over ln V, in its standard deviations."""

_BEND = 0.72
"""Spacing over ln V, in e-foldings of the hazard that V runs through, and ..."""

_BLUR = 1.1
"""... spacing over ln y, in standard deviations of ln V, that keep the error below 1e-6."""

_DEARER = 4.0
"""A node over y costs about as much as so many nodes over V."""


@dataclass(frozen=True, slots=True, eq=False)
class _Scheme:
    """Nodes of one trapezoid rule: standard normal deviates of ln V, or values of ln y."""

    over_lead: bool
    at: Floats
    weight: Floats


class Looks:
    """Sum of weight * ln P(the look | in service until removal)."""

    def __init__(
        self,
        age: Floats,
        worn: NDArray[np.bool_],
        weight: Floats,
        lead: Quantity | None,
        error: float,
        reference: float,
    ) -> None:
        self._weight, self._age, sign = distinct(weight, age, worn.astype(float))
        self._worn = sign > 0
        self._age = np.maximum(self._age, 1e-280 * reference)  # a logarithm for age 0
        self._x = np.log(self._age / reference)
        self._error = error
        self._log_reference = math.log(reference)
        self._spread = 0.0 if lead is None else lead.spread
        self._log_median = 0.0 if lead is None else math.log(lead.median)

    def __len__(self) -> int:
        return len(self._age)

    @property
    def found_worn(self) -> bool:
        """Some part came out worn."""
        return bool(self._worn.any())

    @property
    def proves_wear(self) -> bool:
        """Some part came out worn, and no look is wrong."""
        return self.found_worn and self._error == 0

    def log(self, b: Floats, mu: Floats) -> Floats:
        """At nodes (b[i], mu[i, j]): `b` has one axis, `mu` and the result two."""
        value = np.empty(mu.shape)
        schemes = [self._scheme(x) for x in b.tolist()]
        for scheme in set(schemes):
            some = np.array([s is scheme for s in schemes])
            value[some] = self._sum(b[some], mu[some], scheme)
        return value

    def derivatives(self, b: float, mu: float) -> Jet:
        """The same at one node, with derivatives by central differences."""
        h, k = 1e-3 * b, 1e-3
        bs = b + h * np.array([-1.0, 0.0, 1.0])
        mus = np.tile(mu + k * np.array([-1.0, 0.0, 1.0]), (3, 1))
        # one rule for all nine nodes, so that its error cancels
        low, here, high = self._sum(bs, mus, self._scheme(b))
        return Jet(
            float(here[1]),
            float((high[1] - low[1]) / (2 * h)),
            float((here[2] - here[0]) / (2 * k)),
            float((high[1] - 2 * here[1] + low[1]) / h**2),
            float((high[2] - high[0] - low[2] + low[0]) / (4 * h * k)),
            float((here[2] - 2 * here[1] + here[0]) / k**2),
        )

    def slopes(self, age: Floats, worn: NDArray[np.bool_], b: float, mu: float) -> Floats:
        """d ln P(the look) / d mu of single parts of these looks, (rows,), at one node."""
        k = 1e-3
        nodes = np.array([[mu - k, mu + k]])
        scheme = self._scheme(b)
        at = np.maximum(age, self._age.min())
        average = self._over_lead if scheme.over_lead else self._over_hazard
        chance = np.empty((2, len(self._age)))
        rows = max(1, CHUNK // (2 * len(scheme.at)))
        for start in range(0, len(self._age), rows):
            part = slice(start, start + rows)
            chance[:, part] = average(np.array([b]), nodes, scheme, part)[0]
        with np.errstate(divide="ignore"):
            right = 1 - 2 * self._error
            seen = np.log(np.maximum(self._error + right * chance, 1e-300))
        slope, found = (seen[1] - seen[0]) / (2 * k), np.empty(len(at))
        for each in (False, True):  # of either kind of look, ages are in order
            here = self._worn == each
            place = np.searchsorted(self._age[here], at[worn == each])
            found[worn == each] = slope[here][place]
        return found

    def _scheme(self, b: float) -> _Scheme:
        """The cheaper rule at shape `b`; shapes that need nearly the same share one."""
        bend = max(b, 1.0) * self._spread
        # the rarest chance that still counts beside a wrong look
        rare = max(self._error, 1e-9)
        halvings = max(0, math.ceil(math.log2(_STEP * bend / _BEND))) if bend > 0 else 0
        step = _STEP / 2**halvings
        near, far = _TAIL, _TAIL
        if rare < 1e-3:
            near, far = _LONG_TAIL, _LONG_TAIL + _BEND * 2**halvings / _STEP
        low, high = math.log(rare) - 15.0, 3.7
        log_step = min(0.5, _BLUR * self._spread)
        if bend == 0:
            return _exact_lead()
        if (near + far) / step <= _DEARER * (high - low) / log_step:
            return _lead_rule(step, near, far)
        return _hazard_rule(log_step, low, high)

    def _sum(self, b: Floats, mu: Floats, scheme: _Scheme) -> Floats:
        """The term at nodes (b[i], mu[i, j]) by one rule, a block of nodes and rows at a time."""
        nodes = max(1, CHUNK // (16 * mu.shape[1] * len(scheme.at)))
        if len(b) > nodes:
            parts = [slice(start, start + nodes) for start in range(0, len(b), nodes)]
            return np.concatenate([self._sum(b[part], mu[part], scheme) for part in parts])
        total = np.zeros(mu.shape)
        rows = max(1, CHUNK // (mu.size * len(scheme.at)))
        average = self._over_lead if scheme.over_lead else self._over_hazard
        for start in range(0, len(self._x), rows):
            part = slice(start, start + rows)
            chance = average(b, mu, scheme, part)
            with np.errstate(divide="ignore"):
                seen = np.log(self._error + (1 - 2 * self._error) * chance)
            total += seen @ self._weight[part]
        return total

    def _over_lead(self, b: Floats, mu: Floats, scheme: _Scheme, part: slice) -> Floats:
        """P(the look | no wrong look), (nodes, nodes, rows), averaged over V."""
        lead = np.exp(self._log_median + self._spread * scheme.at)
        age, worn = self._age[part, None], self._worn[part]
        chance = np.empty((*mu.shape, len(worn)))
        with np.errstate(over="ignore", under="ignore"):
            share = -np.expm1(np.multiply.outer(-b, np.log1p(lead / age)))
            share *= np.exp(np.multiply.outer(b, np.log(age + lead) - self._log_reference))
            base = np.minimum(share, 1e300)[:, None]
            times = np.exp(np.minimum(mu, 690.0))[:, :, None, None]
            for some, survives in ((worn, False), (~worn, True)):
                if some.any():
                    ahead = -times * base[:, :, some]
                    seen = np.exp(ahead, out=ahead) if survives else -np.expm1(ahead, out=ahead)
                    chance[:, :, some] = seen @ scheme.weight
        return chance

    def _over_hazard(self, b: Floats, mu: Floats, scheme: _Scheme, part: slice) -> Floats:
        """P(the look | no wrong look), (nodes, nodes, rows), averaged over the hazard to come."""
        x, worn = self._x[part], self._worn[part]
        b = b[:, None, None]
        lived = (mu[:, :, None] + b * x)[..., None]  # ln H(age)
        growth = np.logaddexp(0.0, scheme.at - lived) / b[..., None]
        with np.errstate(divide="ignore", under="ignore"):
            needed = growth + np.log(-np.expm1(-growth))  # ln [v(y) / age]
        needed += np.log(self._age[part])[:, None]
        z = (needed - self._log_median) / self._spread
        z[:, :, worn] *= -1.0
        return np.asarray(ndtr(z) @ scheme.weight)


@lru_cache(maxsize=1)
def _exact_lead() -> _Scheme:
    return _Scheme(True, np.zeros(1), np.ones(1))


@lru_cache(maxsize=64)
def _lead_rule(step: float, near: float, far: float) -> _Scheme:
    """Over ln V, in standard deviations."""
    z = np.arange(-near, far + step, step)
    return _Scheme(True, z, step / math.sqrt(2 * math.pi) * np.exp(-(z**2) / 2))


@lru_cache(maxsize=64)
def _hazard_rule(step: float, low: float, high: float) -> _Scheme:
    """Over ln y."""
    x = np.arange(low, high + step, step)
    return _Scheme(False, x, step * np.exp(x - np.exp(x)))
