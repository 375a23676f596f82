"""Time in service with wear and other causes, against adaptive quadrature (scipy's QUADPACK)."""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from riskmodel.life.in_service import InService, worn_out

SHAPES = [0.3, 0.7, 1.0, 1.4, 3.6, 9.0, 40.0]


def integral(shape: float, rate: float, age: float) -> float:
    """Over ln(t), in pieces that meet where the integrand turns."""
    end = math.log(min(age, 60.0 ** (1 / shape), 60.0 / rate))
    turns = [x for x in (0.0, -2 / shape, 1.5 / shape, -math.log(rate)) if end - 40 < x < end]
    marks = sorted([end - 45, *turns, end])
    pieces = (
        quad(
            lambda x: math.exp(x - math.exp(min(shape * x, 700.0)) - rate * math.exp(x)),
            a, b, limit=400, epsabs=0, epsrel=1e-11,
        )[0]
        for a, b in pairwise(marks)
    )  # fmt: skip
    return sum(pieces)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("rate", [5e-324, 1e-6, 0.01, 0.3, 5.0])
def test_the_integral_of_survival(shape: float, rate: float) -> None:
    ages = np.array([1e-8, 1e-3, 0.2, 0.8, 1.0, 1.1, 3.0, 500.0, math.inf])
    found = InService(np.array([shape]), np.array([1.0]), rate).until(ages[:, None])[:, 0]
    wanted = [integral(shape, rate, age) for age in ages.tolist()]
    assert found == pytest.approx(wanted, rel=1e-8, abs=0)


@pytest.mark.parametrize("rate", [0.02, 0.5])
def test_a_shape_of_one_in_closed_form(rate: float) -> None:
    """Two constant rates: (1 - exp(-(1/n + r) T)) / (1/n + r)."""
    scale, ages = 7.0, np.array([[0.01], [3.0], [40.0]])
    parts = InService(np.ones(1), np.full(1, scale), rate)
    whole = rate + 1 / scale
    assert parts.until(ages) == pytest.approx(-np.expm1(-whole * ages) / whole, rel=1e-9)


def test_many_parts_at_once_are_as_one_by_one() -> None:
    random = np.random.default_rng(5)
    shape, scale = random.uniform(0.4, 9, 30), np.exp(random.normal(0, 1, 30))
    rate, ages = random.uniform(0.001, 1, 30), np.exp(random.normal(0, 2, (6, 30)))
    together = InService(shape, scale, rate).until(ages)
    for i in range(30):
        alone = InService(shape[[i]], scale[[i]], rate[i]).until(ages[:, [i]])
        assert together[:, [i]] == pytest.approx(alone, rel=1e-8)


@pytest.mark.parametrize("shape", SHAPES)
def test_without_other_causes_a_part_lasts_its_mean_life(shape: float) -> None:
    found = worn_out(np.array([1e-9, math.inf]), np.full(2, shape), np.full(2, 3.0))
    first = 1e-9 * (1 - (1e-9 / 3) ** shape / (1 + shape))
    assert found == pytest.approx([first, 3 * math.gamma(1 + 1 / shape)], rel=1e-5)
