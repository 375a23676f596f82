"""Worlds in which life records differ honestly from the model, and what is true in each.

Every world begins with a shape and a B50 from the priors that the fit is given; then lives, reports
or looks are made otherwise. Sizes of misfits are judgement. Nothing of the package is used but the
table in which records are handed to it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from riskmodel.records.tables import LifeRecords
from tests.life.made import records
from tests.studies.coverage import ERROR, LEAD

Floats = NDArray[np.float64]
Rng = np.random.Generator
NODES = np.polynomial.hermite_e.hermegauss(41)


@dataclass(frozen=True)
class Misfit:
    """How a world differs. Of lives: `form`, a `weak` share whose lives are `weaker` times as long,
    `frailty` the standard deviation of ln life between engines, `harder` how many times as fast
    this engine ages as is known. Of records: the share of failures of `other` causes told as wear,
    `reporting` how many times as readily failures are told and how many the tool is `told`,
    `forgotten` entry ages, a share `hunch` of parts due to fail that are taken out just before,
    ages `rounded` to. Of looks: the true chance of a wrong one on unworn and worn parts, and how
    many times as long as assumed the visible `lead` is."""

    name: str
    form: str = "weibull"
    weak: float = 0.0
    weaker: float = 0.4
    frailty: float = 0.0
    harder: float = 1.0
    other: float = 0.0
    reporting: float = 1.0
    told: float = 1.0
    forgotten: bool = False
    hunch: float = 0.0
    rounded: float = 0.0
    error: tuple[float, float] = (ERROR, ERROR)
    lead: float = 1.0


MISFITS = (
    Misfit("as the model"),
    Misfit("lives lognormal", form="lognormal"),
    Misfit("no failure before 0.4 of B50", form="later"),
    Misfit("a fifth of parts of a weak batch, 0.4 of the life", weak=0.2),
    Misfit("engines differ, ln life by 0.35", frailty=0.35),
    Misfit("this engine ages 1.5 times as fast as known", harder=1.5),
    Misfit("a quarter of failures of other causes, told as wear", other=0.25),
    Misfit("failures told 3 times as readily", reporting=3.0),
    Misfit("the same, and the tool is told", reporting=3.0, told=3.0),
    Misfit("failures told 10 times as readily", reporting=10.0),
    Misfit("the same, and the tool is told 10", reporting=10.0, told=10.0),
    Misfit("entry ages left out", forgotten=True),
    Misfit("half of parts about to fail pulled on a hunch, told as planned", hunch=0.5),
    Misfit("ages rounded to 25,000", rounded=25_000.0),
    Misfit("three looks in ten wrong", error=(0.3, 0.3)),
    Misfit("four unworn parts in ten called worn", error=(0.4, 0.0)),
    Misfit("four worn parts in ten not seen", error=(0.0, 0.4)),
    Misfit("distress shows twice as long before failure", lead=2.0),
)


@dataclass(frozen=True)
class Lives:
    """The lives of a world's parts."""

    shape: float
    b50: float
    misfit: Misfit

    @property
    def scale(self) -> float:
        return float(self.b50 / np.log(2) ** (1 / self.shape))

    def survival(self, age: Floats | float, z: Floats | float = 0.0) -> Floats:
        """Of an engine whose ln life is off by `z` standard deviations of frailty."""
        age = np.asarray(age, dtype=float) / np.exp(self.misfit.frailty * np.asarray(z))
        if self.misfit.weak:
            weak = self._plain(age / self.misfit.weaker)
            return (1 - self.misfit.weak) * self._plain(age) + self.misfit.weak * weak
        return self._plain(age)

    def _plain(self, age: Floats) -> Floats:
        if self.misfit.form == "lognormal":  # as spread as the Weibull, the same half
            spread = np.pi / np.sqrt(6) / self.shape
            with np.errstate(divide="ignore"):
                return np.asarray(norm.sf(np.log(age / self.b50) / spread))
        if self.misfit.form == "later":
            start = 0.4 * self.b50
            age, scale = np.maximum(age - start, 0.0), self.scale * (1 - start / self.b50)
            return np.asarray(np.exp(-((age / scale) ** self.shape)))
        return np.asarray(np.exp(-((age / self.scale) ** self.shape)))

    def population(self, age: float) -> float:
        """The share of all engines that lasts to `age`."""
        z, w = NODES
        return float(w / w.sum() @ self.survival(age, z))

    def draw(self, rng: Rng, n: int) -> tuple[Floats, Floats]:
        """Lives of n parts, and their engines' z."""
        z, u = rng.standard_normal(n), rng.uniform(size=n)
        if self.misfit.form == "lognormal":
            life = self.b50 * np.exp(np.pi / np.sqrt(6) / self.shape * norm.ppf(u))
        else:
            life = self.scale * (-np.log(u)) ** (1 / self.shape)
            if self.misfit.form == "later":
                life = 0.4 * self.b50 + 0.6 * life
        weak = rng.uniform(size=n) < self.misfit.weak
        life = np.where(weak, self.misfit.weaker * life, life)
        return life * np.exp(self.misfit.frailty * z), z


def reports(rng: Rng, lives: Lives, parts: int) -> LifeRecords:
    """`parts` life records: half met late, a third due to be pulled and looked at."""
    misfit, many = lives.misfit, 14 * parts
    life, _ = lives.draw(rng, many)
    entry = np.where(rng.uniform(size=many) < 0.5, rng.uniform(0, 120_000, many), 0.0)
    end = entry + rng.uniform(20_000, 150_000, many)
    due = rng.uniform(40_000, 220_000, many)
    pulled = (rng.uniform(size=many) < 1 / 3) & (due > entry) & (due < end)
    end = np.where(pulled, due, end)
    lead = misfit.lead * LEAD.quantile(rng.standard_normal(many))
    worn = life <= end + lead
    wrong = rng.uniform(size=many) < np.where(worn, misfit.error[1], misfit.error[0])
    look = np.where(worn ^ wrong, "removed_worn", "removed_unworn")
    age, failed = np.minimum(life, end), life <= end
    outcome = np.where(failed, "failed", np.where(pulled, look, "running"))
    met = life > entry
    if misfit.other:
        wear = float((failed & met).sum())
        rate = wear * misfit.other / (1 - misfit.other) / float((age - entry)[met].sum())
        other = entry + rng.exponential(1 / rate, many)
        outcome = np.where(other < age, "failed", outcome)
        age = np.minimum(other, age)
    if misfit.hunch:
        early = failed & (rng.uniform(size=many) < misfit.hunch)
        before = np.maximum(life - rng.uniform(500, 8_000, many), (entry + life) / 2)
        outcome = np.where(early, "removed", outcome)
        age = np.where(early, before, age)
    survives = np.isin(outcome, ("running", "removed", "removed_unworn"))
    told = met & (~survives | (rng.uniform(size=many) < 1 / misfit.reporting))
    rows = np.flatnonzero(told)[:parts]
    if len(rows) < parts:
        raise ValueError(f"only {len(rows)} of {parts} records are reported")
    if misfit.rounded:
        age = misfit.rounded * np.maximum(1, np.rint(age / misfit.rounded))
        entry = np.minimum(misfit.rounded * np.floor(entry / misfit.rounded), age - 1)
    if misfit.forgotten:
        entry = np.zeros(many)
    return records(age[rows], [str(w) for w in outcome[rows]], entered_at=entry[rows])
