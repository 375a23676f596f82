"""An engine's readings by element and laboratory."""

from __future__ import annotations

import numpy as np
import pytest

from riskmodel.oil.columns import Column
from tests.oil.made import case_with_oil, element


def column(low: list[float], spread: float) -> Column:
    made = case_with_oil(["60000,10000,4"], "reading,oil_age,Pb", elements=[element("Pb")])
    ends = np.array(low), np.array(low) + 0.1
    return Column(made.oil.element[0], 0, *ends, np.full(len(low), 0.3), 0.0, spread)


def test_what_is_unknown_of_the_level_by_hand() -> None:
    """Precisions add up: of the range between engines, and of each sample before that measured."""
    found = column([0.1, np.inf, 0.2, 0.3], 0.5)
    parts = 1 / 0.5**2 + np.array([0, 1, 1, 2]) / 0.3**2
    assert found.unknown == pytest.approx(1 / np.sqrt(parts))


def test_a_level_known_exactly_leaves_nothing_unknown() -> None:
    assert column([0.1, 0.2], 0.0).unknown.tolist() == [0.0, 0.0]
