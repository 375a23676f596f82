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

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from riskmodel.life.terms import CHUNK, Jet, distinct
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]

_TAIL = 5.7
"""Standard deviations of ln V that are summed over on either side."""

_BEND = 0.72
"""Spacing over ln V, in e-foldings of the hazard that V runs through, and ..."""

_BLUR = 1.1
"""... spacing over ln y, in standard deviations of ln V, that keep the error below 1e-6."""

_DEARER = 4.0
"""A node over y costs about as much as so many nodes over V."""


@dataclass(frozen=True, slots=True)
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
        return np.array([self._sum(x, mu[i], self._scheme(x)) for i, x in enumerate(b.tolist())])

    def derivatives(self, b: float, mu: float) -> Jet:
        """The same at one node, with derivatives by central differences."""
        h, k = 1e-3 * b, 1e-3
        mus = mu + k * np.array([-1.0, 0.0, 1.0])
        scheme = self._scheme(b)  # one rule for all, so that its error cancels
        low, here, high = (self._sum(x, mus, scheme) for x in (b - h, b, b + h))
        return Jet(
            float(here[1]),
            float((high[1] - low[1]) / (2 * h)),
            float((here[2] - here[0]) / (2 * k)),
            float((high[1] - 2 * here[1] + low[1]) / h**2),
            float((high[2] - high[0] - low[2] + low[0]) / (4 * h * k)),
            float((here[2] - 2 * here[1] + here[0]) / k**2),
        )

    def _scheme(self, b: float) -> _Scheme:
        """The cheaper of the two rules at shape `b`."""
        if self._spread == 0:
            return _Scheme(True, np.zeros(1), np.ones(1))
        # the rarest chance that still counts beside a wrong look
        rare = max(self._error, 1e-9)
        bend = max(b, 1.0) * self._spread
        step = min(0.6, _BEND / bend)
        far = _TAIL + (bend if rare < 1e-3 else 0.0)
        low = math.log(rare) - 15.0
        log_step = min(0.5, _BLUR * self._spread)
        high = 3.7
        if (_TAIL + far) / step <= _DEARER * (high - low) / log_step:
            z = np.arange(-_TAIL, far + step, step)
            weight = np.exp(-(z**2) / 2)
            return _Scheme(True, z, weight / (math.sqrt(2 * math.pi) / step))
        x = np.arange(low, high + log_step, log_step)
        return _Scheme(False, x, log_step * np.exp(x - np.exp(x)))

    def _sum(self, b: float, mu: Floats, scheme: _Scheme) -> Floats:
        """The term at one shape and all of its `mu` (N,)."""
        total = np.zeros(len(mu))
        rows = max(1, CHUNK // (len(mu) * len(scheme.at)))
        for start in range(0, len(self._x), rows):
            part = slice(start, start + rows)
            chance = (self._over_lead if scheme.over_lead else self._over_hazard)(
                b, mu, scheme, part
            )
            with np.errstate(divide="ignore"):
                seen = np.log(self._error + (1 - 2 * self._error) * chance)
            total += seen @ self._weight[part]
        return total

    def _over_lead(self, b: float, mu: Floats, scheme: _Scheme, part: slice) -> Floats:
        """P(the look | no wrong look), (N, rows), averaged over V."""
        lead = np.exp(self._log_median + self._spread * scheme.at)
        age, worn = self._age[part, None], self._worn[part]
        with np.errstate(over="ignore", under="ignore"):
            share = -np.expm1(-b * np.log1p(lead / age))
            end = np.exp(b * (np.log(age + lead) - self._log_reference))
            base = np.minimum(share * end, 1e300)
            ahead = np.multiply.outer(np.exp(np.minimum(mu, 690.0)), base)
            chance = np.empty((len(mu), len(worn)))
            chance[:, worn] = -np.expm1(-ahead[:, worn]) @ scheme.weight
            chance[:, ~worn] = np.exp(-ahead[:, ~worn]) @ scheme.weight
        return chance

    def _over_hazard(self, b: float, mu: Floats, scheme: _Scheme, part: slice) -> Floats:
        """P(the look | no wrong look), (N, rows), averaged over the hazard y still to take."""
        x, worn = self._x[part], self._worn[part]
        lived = mu[:, None] + b * x  # ln H(age)
        growth = np.logaddexp(0.0, scheme.at - lived[:, :, None]) / b
        with np.errstate(divide="ignore", under="ignore"):
            needed = growth + np.log(-np.expm1(-growth))  # ln [v(y) / age]
        needed += np.log(self._age[part])[:, None]
        z = (needed - self._log_median) / self._spread
        z[:, worn] *= -1.0
        return np.asarray(ndtr(z) @ scheme.weight)
