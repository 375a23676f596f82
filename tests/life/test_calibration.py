"""Credible intervals hold the truth as often as they say, over truths from the prior."""

from __future__ import annotations

import math

import numpy as np
import pytest

from riskmodel.life import weibull
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import posterior
from riskmodel.life.quantile import weighted_quantile
from riskmodel.records.quantity import Quantity
from tests.life.made import joined, observed, records


def inspected(
    rng: np.random.Generator, n: int, shape: float, scale: float, lead: Quantity, error: float
) -> list[tuple[float, str]]:
    """Parts removed at a planned age with their look, or failed before it."""
    found = []
    for _ in range(n):
        life = scale * rng.weibull(shape)
        age = rng.uniform(200.0, 1200.0)
        if life <= age:
            found.append((life, "failed"))
            continue
        worn = life <= age + float(lead.quantile(rng.standard_normal()))
        if rng.uniform() < error:
            worn = not worn
        found.append((age, "removed_worn" if worn else "removed_unworn"))
    return found


@pytest.mark.parametrize("kind", ["watched", "inspected"])
def test_ninety_per_cent_intervals_hold_the_truth(kind: str) -> None:
    """400 truths drawn from the prior, records drawn from each truth.

    The ranks of the truths are uniform if the posterior is right (Talts et al. 2018,
    arXiv:1804.06788). 90 % of 400 has a standard error of 1.5 %: four of them either way; a
    chi-squared of the ranks in ten classes exceeds 27.9 once in a thousand times.
    """
    rng = np.random.default_rng(2024 if kind == "watched" else 2025)
    shape_prior, b50_prior, lead = (
        Quantity(1.2, 5.0),
        Quantity(500.0, 1500.0),
        Quantity(50.0, 500.0),
    )
    ranks = []
    for _ in range(400):
        shape, b50 = (float(q.quantile(rng.standard_normal())) for q in (shape_prior, b50_prior))
        scale = b50 / math.log(2) ** (1 / shape)
        if kind == "watched":
            data = observed(rng, 12, shape, scale, enter=0.5, between=0.3)
        else:
            rows = inspected(rng, 12, shape, scale, lead, 0.1)
            data = records([r[0] for r in rows], [r[1] for r in rows])
            data = joined(data, records([100.0], "running"))
        found = posterior(Likelihood(data, 0.1, lead), shape_prior, b50_prior)
        chance = weibull.conditional_failure(600.0, 200.0, found.shape, found.scale)
        truth = float(weibull.conditional_failure(600.0, 200.0, shape, scale))
        ranks.append(float(found.weight[chance < truth].sum()))
        low, high = weighted_quantile(chance, found.weight, [0.05, 0.95])
        # the quantiles and the ranks tell the same story, but for the weight of a node
        assert (low < truth < high) == (0.05 < ranks[-1] < 0.95) or min(
            abs(ranks[-1] - 0.05), abs(ranks[-1] - 0.95)
        ) < 0.05
    inside = np.mean([0.05 < rank < 0.95 for rank in ranks])
    assert abs(inside - 0.9) < 4 * 0.015
    counts = np.histogram(ranks, bins=10, range=(0, 1))[0]
    assert float(((counts - 40) ** 2 / 40).sum()) < 27.9
