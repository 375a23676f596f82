"""Where a likelihood is greatest, or why it is greatest nowhere.

Worked in (b, mu), the shape and ln H at the greatest age (see `terms`). Without late entry
and looks the log-likelihood is concave there, so what Newton's method finds is the one
maximum; otherwise it starts from several shapes and the best is kept.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from riskmodel.life.likelihood import Likelihood
from riskmodel.life.rows import BETWEEN, EXACT, Rows
from riskmodel.life.terms import Jet

STEEPEST, FLATTEST = 1e5, 0.01
"""Shapes beyond which the likelihood counts as rising for ever."""

STARTS = (0.7, 2.5, 8.0)
GRID = np.geomspace(FLATTEST, 200.0, 60)

MANY, SAMPLE = 10_000, 4_000
"""Of so many rows a sample of so many shows where to start."""

NO_FAILURE = (
    "No part on record failed by wear, so the records set no upper limit to life: there is no "
    "best-fitting curve."
)
NOTHING_LIVED = (
    "No part on record is known to have lived through any usage before it failed, so the records "
    "set no lower limit to life: there is no best-fitting curve."
)
ONE_AGE = (
    "All failures came at the same age and nothing on record outlived it, so the fit keeps "
    "improving as the shape grows without limit: there is no best-fitting curve."
)
ONE_FAILURE = (
    "The only failure came at the greatest age on record, so the fit keeps improving as the shape "
    "grows without limit: there is no best-fitting curve."
)
STEP = (
    "One single age at which every part fails would explain all the records, so the fit keeps "
    "improving as the shape grows without limit: there is no best-fitting curve."
)
FLAT = (
    "The failures do not gather late in life, so the fit keeps improving as the shape falls "
    "towards 0: there is no best-fitting curve."
)
FLAT_LATE = (
    "Every part was watched from late in life only, and the fit keeps improving as the shape falls "
    "towards 0: there is no best-fitting curve without a prior."
)
LOST = (
    "The search for the best-fitting curve did not settle, so no estimate is given; the records "
    "say too little about the shape."
)


@dataclass(frozen=True, slots=True)
class Maximum:
    """The node (b, mu) of greatest likelihood, with the derivatives there."""

    b: float
    mu: float
    jet: Jet

    @property
    def settled(self) -> bool:
        """Flat, and curved downwards in every direction."""
        j = self.jet
        determinant = j.bb * j.mumu - j.bmu**2
        if not (j.bb < 0 and j.mumu < 0 and determinant > 0):
            return False
        if -determinant / j.mumu * self.b**2 < 1e-5:  # says nothing about ln b
            return False
        gain = -(j.mumu * j.b**2 - 2 * j.bmu * j.b * j.mu + j.bb * j.mu**2) / determinant / 2
        return gain < 1e-9 * max(1.0, abs(j.value) * 1e-3)


def maximise(likelihood: Likelihood) -> Maximum | str:
    """The maximum, or a sentence that says why there is none."""
    looked = len(likelihood.looks) > 0
    if likelihood.failures == 0 and not (looked and likelihood.looks.found_worn):
        return NO_FAILURE
    if not likelihood.bounds_life_below:
        return NOTHING_LIVED
    if likelihood.exact == likelihood.failures and not looked:
        found = _from_score(likelihood)
    elif not looked and _one_age_explains(likelihood.rows):
        found = STEP
    else:
        found = _from_starts(likelihood)
    if isinstance(found, Maximum) and not found.settled:
        return LOST
    return found


def _from_score(likelihood: Likelihood) -> Maximum | str:
    """Exact failures and survivors: mu has a closed form, which leaves an equation in b.

    With D the exposure (see `terms`) and x the mean of ln(age / reference) over failures,
    exp(mu) = r / D(b) and 1/b + x - D'(b) / D(b) = 0.
    """
    exposure, r = likelihood.exposure, likelihood.exact
    mean_x = likelihood.mean_x
    if mean_x == 0:
        return ONE_FAILURE if r == 1 else ONE_AGE
    start = -1 / mean_x  # the root lies above, because D' <= 0 for parts watched from new
    low, high = 0.0, math.inf
    if exposure.late:
        # D need not be log-convex: start from the best of many shapes
        heights = np.log(GRID) + GRID * mean_x - exposure.log(GRID)
        best = int(np.argmax(heights))
        if best == 0:
            return FLAT_LATE
        start = float(GRID[best])
        if best + 1 < len(GRID):
            low, high = float(GRID[best - 1]), float(GRID[best + 1])
    b = start
    for _ in range(100):
        _, slope, curve = exposure.slopes(b)
        score = 1 / b + mean_x - slope
        if score > 0:
            low = max(low, b)
        else:
            high = min(high, b)
        # Newton in 1/b, in which the score is nearly a straight line
        inverse = 1 / b - score / (1 + b * b * (curve - slope * slope))
        after = 1 / inverse if inverse > 0 else 2 * b
        if not low < after < high:
            after = (low + high) / 2 if high < math.inf else 2 * b
        settled = abs(after - b) < 1e-6 * b  # the next is then good to the last digits
        b = after
        if settled:
            break
        if b > 1e13:  # equal ages but for rounding
            return ONE_AGE if r > 1 else ONE_FAILURE
    lived = exposure.slopes(b)
    mu = math.log(r) - lived[0]
    return Maximum(b, mu, likelihood.jet_given(b, mu, lived))


def _from_starts(likelihood: Likelihood) -> Maximum | str:
    """The best that Newton's method finds in (b, mu)."""
    concave = not likelihood.exposure.late and len(likelihood.looks) == 0
    starts = _starts(likelihood, concave)
    found = [_newton(likelihood, b) for b in starts]
    inside = [f for f in found if isinstance(f, Maximum) and f.settled]
    if not inside:
        return next((f for f in found if isinstance(f, str)), LOST)
    best = max(inside, key=lambda f: f.jet.value)
    if concave:
        return best
    # the edge of shape 0 may be higher than every maximum inside
    return _flat(likelihood) if _edge(likelihood) > best.jet.value + 1e-9 else best


def _starts(likelihood: Likelihood, concave: bool) -> tuple[float, ...]:
    """Shapes to start from: several, or the best one that a sample of many rows leads to."""
    rows = likelihood.rows
    first = _first_shape(rows)
    if concave:
        return (first,)
    if len(rows.age) > MANY and len(likelihood.looks) == 0:
        some = np.zeros(len(rows.age), dtype=bool)
        some[np.random.default_rng(0).choice(len(some), SAMPLE, replace=False)] = True
        thinned = maximise(Likelihood(rows.keep(some)))
        if isinstance(thinned, Maximum):
            return (thinned.b,)
    return (first, *STARTS)


def _edge(likelihood: Likelihood) -> float:
    """The greatest log-likelihood at the flattest shape."""
    if len(likelihood.looks):
        nodes = np.linspace(-20, 6, 200)
        return float(likelihood.at(np.full(200, FLATTEST), nodes).max())
    # without looks it is concave in mu
    mu = math.log(max(likelihood.failures, 0.5)) - likelihood.exposure.slopes(FLATTEST)[0]
    highest = -math.inf
    for _ in range(60):
        jet = likelihood.jet(FLATTEST, mu)
        if not math.isfinite(jet.value):
            break
        highest = max(highest, jet.value)
        step = -jet.mu / jet.mumu if jet.mumu < 0 else 0.0
        if abs(step) * abs(jet.mu) < 1e-10 or jet.mumu >= 0:
            break
        mu += min(max(step, -2.0), 2.0)
    return highest


def _one_age_explains(rows: Rows) -> bool:
    """Were all parts to fail at one certain age, every record would have come out so."""
    between = rows.where(BETWEEN)
    if rows.where(EXACT).any() or not between.any():
        return False
    survived = np.where(between, rows.since, rows.age)
    return bool(np.maximum(survived, rows.entry).max() < rows.age[between].min())


def _first_shape(rows: Rows) -> float:
    """A rough shape: pi / sqrt 6 over the spread of the logarithms of failure ages."""
    failed = rows.where(EXACT) | rows.where(BETWEEN)
    logs = np.log(np.where(rows.since > 0, (rows.age + rows.since) / 2, rows.age)[failed])
    spread = float(logs.std()) if len(logs) else 0.0
    return min(max(1.2825 / spread, 0.3), 20.0) if spread > 0 else 2.0


def _flat(likelihood: Likelihood) -> str:
    return FLAT if likelihood.exposure.from_new else FLAT_LATE


def _newton(likelihood: Likelihood, b: float) -> Maximum | str:
    """Damped Newton from shape `b`; a sentence where it runs off."""
    mu = math.log(max(likelihood.failures, 0.5)) - likelihood.exposure.slopes(b)[0]
    jet = likelihood.jet(b, mu)
    for _ in range(200):
        db, dmu = _step(jet)
        gain = db * jet.b + dmu * jet.mu
        if gain < 1e-13 * max(1.0, abs(jet.value) * 1e-3):
            break
        length = min(1.0, 0.75 * b / -db if db < 0 else 1.0, 3 * b / db if db > 0 else 1.0)
        for _ in range(60):
            after = likelihood.jet(b + length * db, mu + length * dmu)
            if math.isfinite(after.value) and after.value > jet.value:
                break
            length /= 3
        else:
            break
        b, mu, jet = b + length * db, mu + length * dmu, after
        if b > STEEPEST:
            return STEP
        if b < FLATTEST:
            return _flat(likelihood)
    db, dmu = _step(jet)
    last = likelihood.jet(b + db, mu + dmu) if abs(db) < 1e-3 * b else jet
    if last.value >= jet.value - 1e-12 * abs(jet.value) and last is not jet:
        b, mu, jet = b + db, mu + dmu, last
    top = Maximum(b, mu, jet)
    if not top.settled and b > 50:
        return STEP
    return top


def _step(jet: Jet) -> tuple[float, float]:
    """The Newton step, its curvature made negative where it is not."""
    bb, bmu, mumu = jet.bb, jet.bmu, jet.mumu
    mean, half = (bb + mumu) / 2, math.hypot((bb - mumu) / 2, bmu)
    if not mean + half < 0:
        shift = mean + half + 0.1 * (abs(mean) + half) + 1e-12
        bb, mumu = bb - shift, mumu - shift
    determinant = bb * mumu - bmu**2
    if not (determinant > 0 and math.isfinite(determinant)):
        return jet.b, jet.mu
    return (bmu * jet.mu - mumu * jet.b) / determinant, (bmu * jet.b - bb * jet.mu) / determinant
