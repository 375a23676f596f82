"""A fitted life curve in words."""

from __future__ import annotations

from riskmodel.life.profile import Estimate
from riskmodel.life.summary import LifeResult
from riskmodel.life.weibayes import Weibayes
from riskmodel.words import formats
from riskmodel.words.learned_effects import ONE_FACTOR, column_sentences

COMPARISON = "Other curves on the same records (a smaller AIC explains them better; 2 says little)"
CAUTIONS = [
    "This describes the records; it inspects nothing and says nothing about a part that nobody "
    "has looked at.",
    "Stop at once, switch off and have it towed if the oil pressure drops, if it knocks, or if "
    "metal shows in the oil or the filter. The maker's procedures, the rules where you are and a "
    "qualified mechanic come first.",
]
WITH_A_SHAPE = "With a shape taken as known (--shape) such records can still bound life from below."
_NAMES = {
    "weibull": "Weibull",
    "lognormal": "lognormal",
    "exponential": "exponential (age does not matter)",
    "weibull with threshold": "Weibull with a threshold",
}


def summary(result: LifeResult, unit: str) -> list[str]:
    """Counts, then shape, scale and B10 with their 95 % intervals, then the chances asked for."""
    parts = formats.plural(round(result.n), "part")
    failures = formats.plural(round(result.failures), "failure")
    lines = [f"{parts} on record, {failures} by wear. Intervals are 95 %, by likelihood ratio."]
    gap = f"{formats.NBSP}{unit}" if unit else ""
    bound = [] if result.weibayes is None else [_bound(result.weibayes, gap)]
    if result.shape.estimate is None:
        lines.append("No best-fitting curve exists for these records: see the warnings.")
        return [*lines, *(bound or [WITH_A_SHAPE])]
    lines += [
        f"Weibull shape {_figure(result.shape)}",
        f"Weibull scale {_figure(result.scale)}{gap}",
        f"B10 life (a tenth has failed) {_figure(result.b10)}{gap}",
    ]
    for asked in result.conditional:
        chance = Estimate(asked.probability, asked.low, asked.high)
        lines.append(
            f"Chance that a part that has reached {formats.exact(asked.at)}{gap} fails within "
            f"{formats.exact(asked.ahead)}{gap} more: {_figure(chance, 100)} of 100"
        )
    return [*lines, *bound]


def _bound(found: Weibayes, gap: str) -> str:
    """The scale and the B10 life at a shape taken as known."""
    b10, lower = found.life(0.1)
    text = f"With the shape taken as {formats.exact(found.shape)}: the scale "
    if found.scale is None or b10 is None:
        text += f"exceeds {formats.significant(found.lower)}{gap} and the B10 life "
        text += f"{formats.significant(lower)}{gap}"
    else:
        text += f"{formats.significant(found.scale)}{gap} (at least "
        text += f"{formats.significant(found.lower)}), the B10 life "
        text += f"{formats.significant(b10)}{gap} (at least {formats.significant(lower)})"
    confidence = formats.share_of_100(found.confidence)
    return f"{text}, with {confidence} % confidence and on the assumption that the shape is right."


def covariate_sentences(result: LifeResult) -> list[str]:
    """What the covariate columns do to life; empty where there are none."""
    if result.covariates is None or not result.covariates.columns:
        return []
    return [*column_sentences(result.covariates), ONE_FACTOR]


def comparison_rows(result: LifeResult) -> list[tuple[str, str, str]]:
    """Distribution, log-likelihood and AIC as text, the best first."""
    ranked = sorted(
        result.comparison, key=lambda other: float("inf") if other.aic is None else other.aic
    )
    return [
        (
            _NAMES.get(other.distribution, other.distribution),
            "none" if other.loglik is None else f"{other.loglik:.2f}",
            "none" if other.aic is None else f"{other.aic:.1f}",
        )
        for other in ranked
    ]


def _figure(found: Estimate, times: float = 1.0) -> str:
    """ "2.10 (1.50 to 2.79)", "at least 1.2" or "at most 5" where an end does not exist."""
    value, low, high = (
        None if x is None else formats.significant(times * x)
        for x in (found.estimate, found.low, found.high)
    )
    ends = {
        (True, True): f"({low} to {high})",
        (True, False): f"(at least {low})",
        (False, True): f"(at most {high})",
        (False, False): "(no interval exists)",
    }[(low is not None, high is not None)]
    return f"{'not known' if value is None else value} {ends}"
