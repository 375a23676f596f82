"""Values in order, against a stable sort of the library."""

import numpy as np
import pytest

from riskmodel.life.in_order import in_order

RANDOM = np.random.default_rng(5)
EVEN = RANDOM.random(3000)
VALUES = {
    "apart": EVEN,
    "many alike": np.round(EVEN, 2),
    "alike but for their last bits": 1 - 1e-14 * EVEN,
    "far apart": np.exp(150 * RANDOM.standard_normal(3000)),
    "hardly above 0": 5e-320 * EVEN,
    "noughts of both signs": np.where(EVEN < 0.5, -0.0, np.round(EVEN, 1)),
    "some infinite": np.where(EVEN < 0.1, np.inf, EVEN),
    "some below 0": RANDOM.standard_normal(3000),
    "some no number": np.where(EVEN < 0.1, np.nan, EVEN),
    "one": EVEN[:1],
    "none": EVEN[:0],
}


@pytest.mark.parametrize("name", VALUES)
def test_order_is_that_of_a_stable_sort(name: str) -> None:
    values = VALUES[name]
    before = values.copy()
    place, found = in_order(values)
    np.testing.assert_array_equal(place, np.argsort(values, kind="stable"))
    np.testing.assert_array_equal(found, values[place])
    np.testing.assert_array_equal(values, before)
