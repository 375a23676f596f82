"""The posterior's grid against a dense one, and what priors do to it."""

from __future__ import annotations

import numpy as np
import pytest

from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import posterior
from riskmodel.life.quantile import weighted_quantile
from riskmodel.life.weibull import conditional_failure
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.life_table import read_records
from riskmodel.records.quantity import Quantity, exactly
from tests.life.test_published import REFERENCE

PRIOR = Quantity(1.2, 5.0)


def likelihood(name: str) -> Likelihood:
    return Likelihood(read_records((REFERENCE / f"{name}.csv").read_bytes(), name))


@pytest.mark.parametrize(
    ("name", "age", "ahead"), [("shock_absorber", 15000, 3000), ("bearing_cage", 1500, 500)]
)
def test_against_a_dense_grid(name: str, age: float, ahead: float) -> None:
    """Mean and ends of a chance ahead, by 500 x 500 points laid out without any cleverness."""
    found = posterior(likelihood(name), PRIOR, None, None)
    chance = conditional_failure(age, ahead, found.shape, found.scale)
    beta = np.linspace(np.log(0.5), np.log(9), 500)
    b50 = np.linspace(np.log(found.scale.min() / 2), np.log(found.scale.max() * 2), 500)
    x, y = (a.ravel() for a in np.meshgrid(beta, b50, indexing="ij"))
    shape = np.exp(x)
    scale = np.exp(y) / np.log(2) ** (1 / shape)
    log = likelihood(name).log(shape, scale) - ((x - np.log(PRIOR.median)) / PRIOR.spread) ** 2 / 2
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    dense = conditional_failure(age, ahead, shape, scale)
    assert found.mean(chance) == pytest.approx(float(dense @ weight), rel=1e-3)
    order = np.argsort(dense)
    cumulative = np.cumsum(weight[order])
    for level in (0.05, 0.95):
        truth = dense[order][np.searchsorted(cumulative, level)]
        ours = weighted_quantile(chance, found.weight, [level])[0]
        assert ours == pytest.approx(truth, rel=0.015)


def test_exact_beliefs_fix_the_curve() -> None:
    found = posterior(None, exactly(2.5), exactly(1000.0), None)
    assert len(found) == 1
    assert found.shape[0] == pytest.approx(2.5)
    assert np.exp(-((1000.0 / found.scale[0]) ** 2.5)) == pytest.approx(0.5)


def test_without_failures_a_belief_in_life_is_required() -> None:
    survivors = Likelihood(read_records(b"age,outcome\n50,running\n70,running\n", "a"))
    with pytest.raises(CannotAnswer, match=r"life\.b50_prior"):
        posterior(survivors, PRIOR, None, None)
    found = posterior(survivors, PRIOR, Quantity(40.0, 200.0), None)
    alone = posterior(None, PRIOR, Quantity(40.0, 200.0), None)
    # survivors can only lengthen what is believed of life
    assert found.mean(found.scale) > alone.mean(alone.scale)


def test_a_small_change_of_an_input_moves_the_answer_a_little() -> None:
    table = b"age,outcome\n50,failed\n61,failed\n%.4f,failed\n70,running\n90,running\n"
    means = []
    for step in range(30):
        made = Likelihood(read_records(table % (80 * (1 + 0.001 * step)), "a"))
        found = posterior(made, PRIOR, None, (0.0, 60.0))
        means.append(found.mean(conditional_failure(60.0, 10.0, found.shape, found.scale)))
    slope = np.diff(means)
    assert np.all(slope < 0)  # a longer life makes failure less likely, at every step
    assert np.abs(np.diff(slope)).max() < 0.05 * np.abs(slope).max()


def test_failures_known_only_as_by_some_age_beside_this_engine() -> None:
    """Only this engine sets a lower limit to life: against the integral over a dense grid."""
    failed = Likelihood(read_records(b"age,outcome,age_from\n500,failed,0\n600,failed,0\n", "a"))
    found = posterior(failed, exactly(2.5), None, (0.0, 1000.0))
    chance = found.mean(conditional_failure(1000.0, 200.0, found.shape, found.scale))
    # by hand: prior flat in ln scale, likelihood F(500) F(600) S(1000)
    scale = np.exp(np.linspace(np.log(50), np.log(2e5), 200_001))
    hazard = (np.array([[500.0], [600.0], [1000.0]]) / scale) ** 2.5
    weight = -np.expm1(-hazard[0]) * -np.expm1(-hazard[1]) * np.exp(-hazard[2])
    ahead = -np.expm1(hazard[2] - (1200.0 / scale) ** 2.5)
    assert chance == pytest.approx(float(ahead @ weight / weight.sum()), rel=1e-4)
