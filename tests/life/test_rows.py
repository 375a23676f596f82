"""Rows: what equal and rounded rows keep."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.life.likelihood import Likelihood
from riskmodel.life.rows import Rows, rows_of
from tests.life.made import joined, observed, records


def mixed(seed: int, n: int) -> Rows:
    rng = np.random.default_rng(seed)
    some = observed(rng, n, 2.0, 100.0, enter=0.5, between=0.4)
    return rows_of(joined(some, some, records([30.0, 30.0], ["removed_worn", "removed"])))


@given(st.integers(0, 50), st.integers(1, 40))
def test_equal_rows_counted_together_say_the_same(seed: int, n: int) -> None:
    rows = mixed(seed, n).without_looks()
    merged = rows.merged()
    assert len(merged.age) <= len(rows.age) / 2 + 1
    assert merged.weight.sum() == pytest.approx(rows.weight.sum())
    assert (np.diff(merged.age) >= 0).all()
    shape, scale = np.array([0.7, 2.0, 4.0]), np.array([80.0, 100.0, 150.0])
    np.testing.assert_allclose(
        Likelihood(merged).log(shape, scale), Likelihood(rows).log(shape, scale), rtol=1e-12
    )


@given(st.integers(0, 50), st.integers(1, 4))
def test_rounded_rows_stay_possible_and_close(seed: int, figures: int) -> None:
    rows = mixed(seed, 30)
    rounded = rows.rounded(figures)
    assert (rounded.entry <= rounded.age).all()
    assert (rounded.since < rounded.age).all()
    assert rounded.weight.sum() == pytest.approx(rows.weight.sum())
    each, before = (
        np.sort(np.repeat(some.age, some.weight.astype(int))) for some in (rounded, rows)
    )
    assert each == pytest.approx(before, rel=10.0 ** (1 - figures))


def test_no_row_is_no_row() -> None:
    none = mixed(1, 3).keep(np.zeros(8, dtype=bool))
    assert len(none.merged().age) == len(none.rounded(3).age) == 0
