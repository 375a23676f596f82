"""Curves for one engine by its traits: against importance sampling, a dense grid and plain sums."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from riskmodel.life.covariate_curves import trait_curves
from riskmodel.life.covariate_design import design
from riskmodel.life.covariate_table import Tables
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import surety_of
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.covariate_curves_made import S, chances, covariance, kinds_of, sampled_chances
from tests.life.covariates_made import (
    LEAD,
    SHAPE_PRIOR,
    Floats,
    looked_at,
    mixed_columns,
    parts_of,
    two_levels,
)
from tests.studies import covariates_reference as brute


@pytest.mark.parametrize(
    ("make", "traits", "levels", "b50"),
    [
        (two_levels, {"use": "hard"}, (1,), None),
        (two_levels, {}, (1,), None),
        (two_levels, {}, (1,), (800.0, 6000.0)),
        pytest.param(
            mixed_columns,
            {"use": "hard", "interval": 20.0, "grade": "a"},
            (1, 0, 2),
            None,
            marks=pytest.mark.slow,
        ),
        pytest.param(mixed_columns, {"use": "hard"}, (1, 0, 2), None, marks=pytest.mark.slow),
    ],
)
def test_curves_against_importance_sampling(
    make: Callable[[], LifeRecords],
    traits: dict[str, float | str],
    levels: tuple[int, ...],
    b50: tuple[float, float] | None,
) -> None:
    """60,000 draws leave noise of 0.3 % in means and 1 % in 5 and 95 % points."""
    plain, survived = make(), (100.0, 1200.0)
    prior = None if b50 is None else Quantity(*b50)
    curves = trait_curves(plain, traits, SHAPE_PRIOR, prior, survived)
    assert len(curves) < 700
    kinds = kinds_of(plain, traits)
    aheads = (150.0, 600.0)
    sampled = sampled_chances(
        plain, kinds, covariance(*levels), b50, survived, aheads, draws=60_000
    )
    for ahead, expected in zip(aheads, sampled, strict=True):
        found = chances(curves, 1200.0, ahead)
        assert (np.abs(found / expected - 1) < [0.012, 0.03, 0.02]).all(), found / expected - 1


def test_curves_against_a_dense_grid() -> None:
    """One effect, a visible lead and a stated B50: all of (ln b, ln B50, g), summed up."""
    plain, survived, ahead = looked_at(), (0.0, 900.0), 400.0
    b50 = (700.0, 5000.0)
    curves = trait_curves(
        plain, {"use": "b"}, SHAPE_PRIOR, Quantity(*b50), survived, 0.1, LEAD, 2.0
    )
    parts = parts_of(plain, visible_lead=LEAD, reporting_ratio=2.0)
    mean = float(parts.weight @ parts.terms[:, 0] / parts.weight.sum())
    beta = np.linspace(math.log(0.5), math.log(9.0), 24)
    grid = np.meshgrid(beta, np.linspace(6.2, 9.4, 26), np.linspace(-1.6, 1.6, 21), indexing="ij")
    beta, y, g = (axis.ravel() for axis in grid)
    b = np.exp(beta)
    here = 1.0 if design(plain, 0.1, LEAD).columns[0].levels == ("b",) else 0.0

    def log_prior(x: Floats, low: float, high: float) -> Floats:
        middle, spread = math.log(low * high) / 2, math.log(high / low) / 2 / brute.Z90
        return -(((x - middle) / spread) ** 2) / 2

    def log_scale(terms: Floats) -> Floats:
        away = np.multiply.outer(g, terms - mean)
        return y[:, None] + away - math.log(math.log(2)) / b[:, None]

    own = np.exp(log_scale(np.array([here]))[:, 0])
    with np.errstate(divide="ignore"):  # no chance at all, far from where it matters
        density = brute.log_likelihood(
            parts, b, log_scale(parts.terms[:, 0]), (LEAD.low, LEAD.high), leads=60
        )
    whole = Likelihood(plain, 0.1, LEAD, 2.0)
    density *= surety_of(whole, SHAPE_PRIOR, Quantity(*b50), survived)
    density += log_prior(beta, SHAPE_PRIOR.low, SHAPE_PRIOR.high) + log_prior(y, *b50)
    density += -((g / S) ** 2) / 2 - (survived[1] / own) ** b
    weight = np.exp(density - density.max())
    chance = -np.expm1((survived[1] / own) ** b - ((survived[1] + ahead) / own) ** b)
    mean_chance = float(chance @ weight / weight.sum())
    found = chances(curves, survived[1], ahead)
    assert found[0] == pytest.approx(mean_chance, rel=0.003)
    order = np.argsort(chance)
    low, high = np.interp([0.05, 0.95], np.cumsum(weight[order]) / weight.sum(), chance[order])
    np.testing.assert_allclose(found[1:], [low, high], rtol=0.02)


@pytest.mark.parametrize("error", [0.1, 0.0])
@pytest.mark.parametrize("lead", [LEAD, Quantity(300.0, 310.0)])
def test_tables_of_intervals_and_looks(error: float, lead: Quantity) -> None:
    """A spline against the terms themselves, wherever they are more than e^-30."""
    b = np.array([0.7, 3.0, 12.0])
    mu = np.random.default_rng(0).uniform(-25.0, 6.0, (3, 300))
    for group in design(looked_at(), error, lead).groups:
        direct = group.looks.log(b, mu)
        if len(group.intervals):
            direct = direct + group.intervals.log(b, mu)
        table = Tables([group], lead, b).at(np.arange(3)[:, None], mu[..., None])
        likely = direct > -30
        np.testing.assert_allclose(table[likely], direct[likely], atol=5e-4)
