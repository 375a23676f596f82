"""What a range means, and what follows from the inputs of a case, against values from outside."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, stats

from riskmodel.records.errors import InputError
from riskmodel.records.files import case_from_files, changed
from riskmodel.records.quantity import Quantity, exactly, scaled
from riskmodel.records.template import template
from riskmodel.records.units import factor

PRICE, SHARE = Quantity(2000, 6000), Quantity(0.1, 0.5, share=True)


@pytest.mark.parametrize(("low", "high"), [(2000.0, 6000.0), (0.2, 0.21), (1e-3, 1e3)])
def test_a_range_is_the_central_nine_tenths_of_a_lognormal(low: float, high: float) -> None:
    """Median the geometric mean of the ends, mean median * exp(spread^2 / 2); scipy's lognormal."""
    found = Quantity(low, high)
    z = stats.norm.ppf(0.95)
    curve = stats.lognorm(math.log(high / low) / (2 * z), scale=math.sqrt(low * high))
    assert found.median == pytest.approx(curve.median(), rel=1e-12)
    assert found.mean == pytest.approx(curve.mean(), rel=1e-12)
    assert found.spread == pytest.approx(curve.args[0], rel=1e-12)
    assert curve.cdf([found.low, found.high]) == pytest.approx([0.05, 0.95], abs=1e-12)
    assert found.quantile(stats.norm.ppf(0.3)) == pytest.approx(curve.ppf(0.3), rel=1e-12)


def test_a_share_is_the_central_nine_tenths_of_a_logit_normal() -> None:
    """Mean by numerical integration over the normal score."""
    low, high = (math.log(p / (1 - p)) for p in (0.1, 0.5))
    middle, spread = (low + high) / 2, (high - low) / (2 * stats.norm.ppf(0.95))

    def share(z: float) -> float:
        return 1 / (1 + math.exp(-(middle + spread * z)))

    assert SHARE.median == pytest.approx(share(0.0), rel=1e-12)
    assert SHARE.quantile(1.3) == pytest.approx(share(1.3), rel=1e-12)
    mean, _ = integrate.quad(lambda z: share(z) * stats.norm.pdf(z), -12, 12)
    assert SHARE.mean == pytest.approx(mean, rel=1e-9)


@pytest.mark.parametrize("power", [1, 2, 3])
def test_points_have_the_moments_of_the_range(power: int) -> None:
    """E[x^k] = median^k exp(k^2 spread^2 / 2) of a lognormal (any textbook)."""
    values, weight = PRICE.points(15)
    expected = PRICE.median**power * math.exp(power**2 * PRICE.spread**2 / 2)
    assert weight.sum() == pytest.approx(1)
    assert values**power @ weight == pytest.approx(expected, rel=1e-9)


def test_an_exact_quantity_is_a_point() -> None:
    found = exactly(2.5)
    assert (found.median, found.mean, found.spread) == (2.5, 2.5, 0.0)
    assert np.array_equal(found.quantile(np.array([-3.0, 3.0])), [2.5, 2.5])
    assert scaled(PRICE, 0.5) == Quantity(1000, 3000)


def test_miles_and_kilometres() -> None:
    """1 mile is 1,609.344 m (international yard and pound agreement, 1959)."""
    assert factor("mi", "km") == pytest.approx(1.609344, rel=1e-15)
    assert factor("km", "mi") == pytest.approx(1 / 1.609344, rel=1e-15)
    assert factor("mi", "km") * factor("km", "mi") == pytest.approx(1, rel=1e-15)
    with pytest.raises(ValueError, match="no factor"):
        factor("h", "km")


@pytest.mark.parametrize("ends", [[0.6, 0.2], [2000.5, 2000], [1e-9, 1e-10]])
def test_a_range_the_wrong_way_round_is_refused_however_near_its_ends(ends: list[float]) -> None:
    case = case_from_files(template("km"))
    key = "warning.silent" if ends[0] < 1 and ends[1] > 1e-3 else "cost.planned"
    with pytest.raises(InputError, match="the lower number first"):
        changed(case, {key: ends})
