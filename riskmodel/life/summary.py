"""What the records say of life, in figures: quantiles of curves, and the whole summary."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from riskmodel.life.comparison import Comparison, compare
from riskmodel.life.fit import Conditional, fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.profile import Estimate
from riskmodel.life.rows import UNWORN, WORN, Unknown, rows_of
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]

_WINDOW = 0.35
"""Width, in standard normal deviates, of the stretch that one quantile is read from."""


def weighted_quantile(values: Floats, weight: Floats, probabilities: ArrayLike) -> Floats:
    """Quantiles of `values` (K,) under `weight` (K,) at `probabilities` (any shape).

    A grid of nodes is so even that its ranks run ahead of or behind the true ones by turns.
    So each quantile is read from a parabola laid through the neighbouring values against
    their normal scores (local regression: Cleveland 1979, JASA 74, 829-836), on the log
    scale where all are positive: about ten times closer than interpolation, and smooth when
    the nodes move a little. It never leaves the range of the values it is read from.
    """
    values, weight = np.asarray(values, dtype=float), np.asarray(weight, dtype=float)
    wanted = np.asarray(probabilities, dtype=float)
    some = weight > 0
    order = np.argsort(values[some], kind="stable")
    ranked, share = values[some][order], weight[some][order] / weight.sum()
    if ranked[0] == ranked[-1]:
        return np.full(wanted.shape, ranked[0])
    positive = ranked[0] > 0
    heights = np.log(ranked) if positive else ranked
    middle = np.cumsum(share) - share / 2
    score = ndtri(np.clip(middle, 1e-300, 1 - 1e-16))
    found = np.array([_read(score, heights, share, p) for p in ndtri(wanted).ravel()])
    found = found.reshape(wanted.shape)
    return np.clip(np.exp(found), ranked[0], ranked[-1]) if positive else found


def _read(score: Floats, heights: Floats, share: Floats, target: float) -> float:
    """The height at normal score `target`."""
    straight = float(np.interp(target, score, heights))
    if not score[0] < target < score[-1]:
        return straight
    first, last = np.searchsorted(score, [target - 3.5 * _WINDOW, target + 3.5 * _WINDOW])
    off, there = (score[first:last] - target) / _WINDOW, heights[first:last]
    inner = there[np.abs(off) < 1]
    kernel = share[first:last] * np.exp(-(off**2) / 2)
    total = kernel.sum()
    if len(off) < 6 or len(inner) == 0 or not total > 0:
        return straight
    powers = np.stack([np.ones_like(off), off, off**2])
    moments = (powers * (kernel / total)) @ powers.T
    if np.linalg.det(moments) < 1e-3:  # too few points, or all at one place
        return straight
    level = np.linalg.solve(moments, powers @ (kernel / total * there))[0]
    return float(min(max(level, inner[0]), inner[-1]))


def weighted_mean(values: Floats, weight: Floats) -> Floats:
    """Mean over the last axis of `values` (..., K) under `weight` (K,)."""
    return np.asarray(values @ (weight / weight.sum()))


@dataclass(frozen=True, slots=True)
class LifeResult:
    """Maximum likelihood of records: the answer of `riskmodel life`.

    Ages in the records' unit; intervals are 95 % likelihood-ratio, an end that does not
    exist is None, as is everything where no best-fitting curve exists (`warnings` says why).
    """

    n: float
    failures: float
    loglik: float | None
    shape: Estimate
    scale: Estimate
    b10: Estimate
    conditional: tuple[Conditional, ...]
    comparison: tuple[Comparison, ...]
    warnings: tuple[str, ...]


def summarise(
    records: LifeRecords,
    ahead: Sequence[tuple[float, float]] = (),
    finding_error: float = 0.1,
    visible_lead: Quantity | None = None,
    reporting_ratio: float = 1.0,
    *,
    unknown_as: Unknown = "wear",
) -> LifeResult:
    """Fit the records and compare distributions; `ahead` lists (age, usage ahead) to judge.

    Without `visible_lead`, parts that came out worn or unworn count as removed, and a
    warning says so. Raises CannotAnswer as `Likelihood` does.
    """
    rows = rows_of(records, reporting_ratio, unknown_as)
    looked = rows.where(WORN) | rows.where(UNWORN)
    read = rows if visible_lead is not None else rows.without_looks()
    likelihood = Likelihood(read, finding_error, visible_lead)
    found = fit(likelihood)
    warnings = list(found.warnings)
    if looked.any():
        seen = float(records.count[[o.startswith("removed_") for o in records.outcome]].sum())
        what = "in the comparison of distributions" if visible_lead is not None else "here"
        warnings.append(
            f"{_parts(seen)} came out with a known look; {what} they count only as removed, "
            "whatever they looked like."
        )
    warnings += _about_removals(records, unknown_as)
    if reporting_ratio != 1:
        warnings.append(
            f"Survivors are weighed {reporting_ratio:g} times, on the assumption that failures are "
            "reported so many times as readily; the intervals do not know that this is a guess."
        )
    figures = {"shape": found.shape, "scale": found.scale, "B10 life": found.b10}
    for name, figure in figures.items():
        missing = [end for end, at in (("lower", figure.low), ("upper", figure.high)) if at is None]
        if figure.estimate is not None and missing:
            warnings.append(
                f"The 95 % interval of the {name} has no {' and no '.join(missing)} end: the "
                "records do not rule out any value there."
            )
    greatest = likelihood.reference
    if found.b10.estimate is not None and found.b10.estimate > greatest:
        warnings.append(
            f"The B10 life lies beyond the greatest age on record ({greatest:g}): it rests on the "
            "shape of the curve, not on experience."
        )
    if any(at + more > greatest for at, more in ahead):
        warnings.append(
            f"A chance that reaches beyond the greatest age on record ({greatest:g}) rests on the "
            "shape of the curve, not on experience."
        )
    return LifeResult(
        n=float(np.sum(records.count)),
        failures=found.failures,
        loglik=found.loglik,
        shape=found.shape,
        scale=found.scale,
        b10=found.b10,
        conditional=tuple(found.conditional(at, more) for at, more in ahead),
        comparison=compare(read),
        warnings=tuple(warnings),
    )


def _parts(count: float) -> str:
    return f"{count:g} {'part' if count == 1 else 'parts'}"


def _about_removals(records: LifeRecords, unknown_as: Unknown) -> list[str]:
    """Warnings about how records came to be."""
    told = []
    removed = [
        outcome.startswith("removed") and why == "suspected"
        for outcome, why in zip(records.outcome, records.why, strict=True)
    ]
    suspected = float(records.count[removed].sum())
    if suspected:
        told.append(
            f"{_parts(suspected)} came out on suspicion. They count as if taken out whatever their "
            "state, so the true life is likely shorter than this fit says."
        )
    failed = np.array([outcome == "failed" for outcome in records.outcome], dtype=bool)
    for cause, text in (
        ("other", "failed of another cause and count as survivors of wear to that age."),
        (
            "unknown",
            "failed of unknown cause and count as "
            + ("failures by wear." if unknown_as == "wear" else "survivors of wear to that age."),
        ),
    ):
        count = float(records.count[failed & [c == cause for c in records.cause]].sum())
        if count:
            told.append(f"{_parts(count)} {text}")
    return told
