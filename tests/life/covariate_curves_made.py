"""The chances of one engine by its traits: off the curves, and by importance sampling."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from riskmodel.life.covariate_design import design
from riskmodel.life.posterior import Curves
from riskmodel.life.quantile import weighted_quantile
from riskmodel.life.weibull import conditional_failure
from riskmodel.records.tables import LifeRecords
from tests.life.covariates_made import SHAPE_PRIOR, Floats, parts_of
from tests.studies import covariates_reference as brute

S = math.log(2) / brute.Z90
"""Standard deviation of ln factor whose central 90 % is [0.5, 2]."""


def covariance(*columns: int) -> Floats:
    """Prior covariance of g: of each column the number of its levels less one, 0 a number."""
    size = sum(max(levels, 1) for levels in columns)
    whole, at = np.zeros((size, size)), 0
    for levels in columns:
        k = max(levels, 1)
        block = S**2 / 2 * (np.eye(k) + 1) if levels else np.array([[S**2]])
        whole[at : at + k, at : at + k] = block
        at += k
    return whole


Kinds = tuple[Floats, Floats]
"""Terms of the kinds of engine (Q, p) that it may be, and the shares of the kinds (Q,)."""


def kinds_of(plain: LifeRecords, traits: dict[str, float | str]) -> Kinds:
    coded = design(plain)
    rows = coded.patterns[coded.pattern_of].copy()
    for column, at in zip(coded.columns, coded.slices(), strict=True):
        if column.name in traits:
            rows[:, at] = column.coded([traits[column.name]])
    terms, kind = np.unique(rows, axis=0, return_inverse=True)
    share = np.bincount(kind.reshape(-1), coded.weight)
    return terms, share / share.sum()


def sampled_chances(
    plain: LifeRecords,
    kinds: Kinds,
    prior: Floats,
    b50: tuple[float, float] | None,
    survived: tuple[float, float],
    aheads: Sequence[float],
    draws: int,
) -> list[Floats]:
    """Mean, 5 % and 95 % point of the chance of failure ahead, by importance sampling."""
    parts = parts_of(plain)
    mean = parts.weight @ parts.terms / parts.weight.sum()
    terms, share = kinds

    def lived(b: Floats, y: Floats, g: Floats, start: float, end: float) -> Floats:
        scale = np.exp(y[:, None] + g @ (terms - mean).T) / math.log(2) ** (1 / b[:, None])
        return np.asarray((end / scale) ** b[:, None] - (start / scale) ** b[:, None])

    drawn = brute.sample(
        parts,
        prior,
        (SHAPE_PRIOR.low, SHAPE_PRIOR.high),
        b50,
        extra=lambda b, y, g: np.log(np.exp(-lived(b, y, g, *survived)) @ share),
        draws=draws,
    )
    keep = drawn.weight > 1e-12
    b, y, g = np.exp(drawn.beta[keep]), drawn.y[keep], drawn.g[keep]
    found = []
    alive = np.exp(-lived(b, y, g, *survived)) * share
    weight = (drawn.weight[keep] / alive.sum(axis=1))[:, None] * alive
    for ahead in aheads:
        chance = -np.expm1(-lived(b, y, g, survived[1], survived[1] + ahead)).ravel()
        order = np.argsort(chance)
        ranks = np.cumsum(weight.ravel()[order])
        ends = np.interp([0.05, 0.95], ranks / ranks[-1], chance[order])
        found.append(np.array([chance @ weight.ravel() / weight.sum(), *ends]))
    return found


def chances(curves: Curves, age: float, ahead: float) -> Floats:
    """Mean, 5 % and 95 % point of the chance of failure ahead."""
    chance = conditional_failure(age, ahead, curves.shape, curves.scale)
    low, high = weighted_quantile(chance, curves.weight, [0.05, 0.95])
    return np.array([chance @ curves.weight, low, high])
