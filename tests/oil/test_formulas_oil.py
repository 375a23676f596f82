"""What the samples say, against the plain second model and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from riskmodel.oil.history import history
from riskmodel.oil.retest import retest_alarm
from riskmodel.oil.surge import held
from tests.oil.made import case_with_oil, element
from tests.oil.plain_model import PlainModel

ROWS = ["60000,10000,4,6", "70000,10000,3,5", "80000,10000,5,7", "90000,10000,8,11"]


def test_leads_longer_than_the_part_is_old_began_with_it() -> None:
    """A lead of a million km on a part of 100,000: distress from new on, whatever the lead."""
    rise = {"Pb": element("Pb", rise=8.0), "Cu": element("Cu", rise=4.0)}
    case = case_with_oil(
        ROWS,
        elements=list(rise.values()),
        warning={"lead": [900_000, 1_100_000], "lead_factor": 1.0, "silent": 0.0},
    )
    found = history(case)
    assert found is not None
    ages = np.array([101_000.0, 115_000.0, 150_000.0])
    plain = PlainModel(case).likelihood(ages, np.full(3, 1e6), np.zeros(3))
    assert found.factor(ages) == pytest.approx(plain, rel=0.02)
    case = case_with_oil(
        ROWS,
        elements=list(rise.values()),
        warning={"lead": [100_000, 400_000], "lead_factor": 1.0, "silent": 0.0},
    )
    found = history(case)
    assert found is not None
    spread = math.log(4) / (2 * stats.norm.ppf(0.95))
    z = np.linspace(-6, 6, 1001)
    lead, weight = 200_000 * np.exp(spread * z), stats.norm.pdf(z) * (z[1] - z[0])
    for age in ages.tolist():
        told = PlainModel(case).likelihood(np.full(1001, age), lead, np.zeros(1001))
        assert found.factor(age) == pytest.approx(told @ weight, rel=0.01)


def test_a_place_rests_on_earlier_samples_weighed_by_their_precision() -> None:
    """By hand: level = (centre / s^2 + sum y / sigma^2) / (1 / s^2 + n / sigma^2)."""
    centre, spread, scale, mark = math.log(0.4), 0.5, 0.2, 1.0
    seen = [math.log(0.6), math.log(0.7)]
    level = (centre / spread**2 + sum(seen) / scale**2) / (1 / spread**2 + 2 / scale**2)
    low = np.array([*(y - 0.05 for y in seen), 4.0])
    high = np.array([*(y + 0.05 for y in seen), 4.2])
    kept, top = held(low, high, np.full(3, scale), centre, spread, np.full(3, mark))
    assert kept[:2] == pytest.approx(low[:2])
    assert (kept[2] + top[2]) / 2 == pytest.approx(level + mark, rel=1e-12)


def test_a_retest_is_scored_where_its_scatter_is_even() -> None:
    """Two elements by hand: y = asinh(s C / a) / s, a the laboratory's, rounding r / sqrt(12)."""
    case = case_with_oil(
        None,
        "reading,oil_age,Pb,Cu",
        elements=[
            element("Pb", typical=0.5, scatter=1.3, rise=8.0, noise=0.4),
            element("Cu", typical=1.2, scatter=1.2, rise=3.0, noise=0.2),
        ],
    )
    found = retest_alarm(case.oil.element, 2_000.0, 1.0, {}, 0.05)
    usual, rise = np.array([1.0, 2.4]), np.array([8.0, 3.0])
    scatter = np.log([1.3, 1.2])
    noise = np.sqrt(np.array([0.4, 0.2]) ** 2 + 1 / 12)  # the level is exact: nothing to learn

    def even(ppm: object) -> object:
        return np.arcsinh(scatter * ppm / noise) / scatter

    pull = even(usual * rise) - even(usual)  # type: ignore[operator]
    assert found.noise == pytest.approx(noise, rel=1e-12)
    assert found.weight == pytest.approx(pull / np.linalg.norm(pull), rel=1e-12)
    assert float(found.chance(np.zeros(2))) == pytest.approx(0.05, abs=1e-9)
    alone = found.alone()["Pb"]
    shift = (even(np.array([alone, 2.4])) - even(usual)) @ found.weight  # type: ignore[operator]
    assert shift == pytest.approx(found.limit, rel=1e-9)
