"""Life from very few failures, or none, when the shape is assumed (Weibayes).

With the shape b known, age^b is exponential, and the sum of count * age^b over all parts,
failed or not, carries everything that the records say about the scale. Sources: Abernethy,
Weibull Analysis Handbook (AFWAL-TR-83-2079), chapter 6; Meeker & Escobar, Statistical
Methods for Reliability Data, section 7.7.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import chdtri

from riskmodel.life.likelihood import Likelihood
from riskmodel.records.errors import CannotAnswer


@dataclass(frozen=True, slots=True)
class Weibayes:
    """The scale, in the records' unit, at an assumed shape.

    `scale` is the maximum-likelihood estimate, None without failures; `lower` the one-sided
    bound that the true scale exceeds with the stated confidence.
    """

    shape: float
    failures: float
    scale: float | None
    confidence: float
    lower: float

    def life(self, share: float) -> tuple[float | None, float]:
        """The age by which `share` has failed: (estimate, lower bound)."""
        times = (-math.log1p(-share)) ** (1 / self.shape)
        return None if self.scale is None else self.scale * times, self.lower * times


def weibayes(likelihood: Likelihood, shape: float, confidence: float = 0.95) -> Weibayes:
    """Scale and its lower confidence bound at an assumed `shape`.

    With r failures and D the sum of count * (age^b - entered_at^b), the estimate is
    (D / r)^(1/b) and the bound (2 D / chi2(confidence; 2 r + 2))^(1/b): exact without
    failures, and on the cautious side where watching stopped at given ages. The habit of
    putting r = 1 when nothing failed is the bound at 63.2 % confidence. Where survivors stand
    for more than themselves r and D count in the bound for as much as `Likelihood.surety` leaves
    of them; without a failure each survivor then counts once.

    Raises CannotAnswer for failures known only to lie between two ages, for looks at
    removed parts (use the posterior with an exact shape) and where no usage was watched.
    """
    if len(likelihood.intervals) or len(likelihood.looks):
        raise CannotAnswer(
            "the bound needs failures at known ages and parts whose look does not count; "
            "fix the shape with life.shape_prior instead"
        )
    if likelihood.exposure.empty:
        raise CannotAnswer("no usage was watched, so the records say nothing about life")
    log_exposure = likelihood.exposure.slopes(shape)[0]
    log_unit, r = math.log(likelihood.reference), likelihood.failures
    sure = likelihood.surety(shape, math.log(max(r, 1.0)) - log_exposure)
    half_chi2 = float(chdtri(2 * sure * r + 2, 1 - confidence)) / 2
    return Weibayes(
        shape,
        r,
        math.exp(log_unit + (log_exposure - math.log(r)) / shape) if r > 0 else None,
        confidence,
        math.exp(log_unit + (log_exposure + math.log(sure / half_chi2)) / shape),
    )
