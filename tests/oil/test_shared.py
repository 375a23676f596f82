"""Scatter that the elements of a sample have in common."""

from __future__ import annotations

import numpy as np
import pytest

from riskmodel.oil.alarm import alarm
from riskmodel.oil.history import history
from riskmodel.oil.shared import widened
from riskmodel.records.case import Case, Element
from tests.oil.made import case_with_oil, element

INTERVAL = 10_000.0
ROWS = [
    f"{age},10000,{pb},{cu}" for age, pb, cu in ((70_000, 4, 6), (80_000, 5, 7), (90_000, 9, 14))
]
AGES = np.array([101_000.0, 105_000.0, 115_000.0, 140_000.0])


def metals(**more: float) -> tuple[Element, ...]:
    rows = [element(symbol, noise=0.4, **more) for symbol in ("Pb", "Cu")]
    return case_with_oil(None, elements=rows).oil.element


def surge(shared: float, **more: object) -> Case:
    return case_with_oil(ROWS, shared_scatter=shared, **more)


def test_a_score_scatters_as_widely_as_simulated() -> None:
    """Against draws of the model: a part of every element's normal scatter is one and the same."""
    rng = np.random.default_rng(7)
    scatter, noise = np.array([0.3, 0.5, 0.2]), np.array([0.1, 0.3, 0.0])
    rise, shared, draws = np.log([8.0, 4.0, 5.0]), 0.6, 400_000
    scale = np.hypot(scatter, noise)
    weight = rise / scale / np.hypot.reduce(rise / scale)
    common = rng.standard_normal((draws, 1)) * np.sqrt(shared) * scatter
    own = rng.standard_normal((draws, 3)) * np.sqrt(scale**2 - shared * scatter**2)
    seen = ((common + own) @ (weight / scale)).std()
    found = widened(scatter, scale[:, None], rise, shared)
    assert found[0] == pytest.approx(seen, rel=4 / np.sqrt(2 * draws))


def test_closed_forms() -> None:
    """n alike elements that share everything say no more than one; one shares with nobody."""
    alike = np.full(4, 0.3)
    rise = np.full(4, np.log(5.0))
    assert widened(alike, alike[:, None], rise, 1.0) == pytest.approx([2.0])
    assert widened(alike, alike[:, None], rise, 0.5) == pytest.approx([np.sqrt(2.5)])
    assert widened(alike, alike[:, None], rise, 0.0) == pytest.approx([1.0])
    alone = np.where(np.arange(4) == 2, 0.3, np.inf)[:, None]
    assert widened(alike, alone, rise, 1.0) == pytest.approx([1.0])


def test_elements_that_share_all_say_what_one_of_them_says() -> None:
    """Two columns of the same readings: shared wholly, half of the variance is in each, so that a
    Gaussian would give the factor of one alone; with Student's t it is close to it."""
    rows = [f"{age},10000,{pb},{pb}" for age, pb in ((70_000, 40), (80_000, 50), (90_000, 70))]
    twin = {**element("Pb", scatter=1.3), "symbol": "Cu"}
    both = [element("Pb", scatter=1.3), twin]
    more = {"misleading": 0.0, "resolution": 0.1}
    for each in both:
        each["typical"] = 4.5
    one = case_with_oil(
        [row.rsplit(",", 1)[0] for row in rows], "reading,oil_age,Pb", elements=both[:1], **more
    )
    pair = case_with_oil(rows, elements=both, shared_scatter=1.0, **more)
    free = case_with_oil(rows, elements=both, shared_scatter=0.0, **more)
    alone, shared, apart = (history(case).factor(AGES) for case in (one, pair, free))  # type: ignore[union-attr]
    assert np.all(np.abs(np.log(shared / alone)) < 0.35 * np.abs(np.log(apart / alone)))


def test_a_surge_of_all_metals_says_less_where_they_scatter_together() -> None:
    factors = [history(surge(shared)).factor(AGES[:2]) for shared in (0.0, 0.5, 1.0)]  # type: ignore[union-attr]
    assert np.all(np.diff(factors, axis=0) < 0)
    assert np.all(np.array(factors) > 1)


def test_the_alarm_keeps_its_false_alarms() -> None:
    """Against draws of Student's t, one of them common: the limit is passed as often as stated."""
    rng = np.random.default_rng(11)
    own = metals()
    shared, draws = 0.5, 1_000_000
    ring = alarm(own, INTERVAL, {"Pb": 9, "Cu": 9}, 0.02, shared)
    scatter = np.log([e.scatter for e in own])
    common = rng.standard_t(4, (draws, 1)) * np.sqrt(shared) * scatter
    alone = np.sqrt(ring.scale**2 - shared * scatter**2)
    score = (common + rng.standard_t(4, (draws, 2)) * alone) @ ring.slope
    error = np.sqrt(0.02 * 0.98 / draws)
    assert np.mean(score > ring.limit) == pytest.approx(0.02, abs=3 * error)


def test_what_is_shared_makes_the_alarm_slower() -> None:
    lift = np.log([4.0, 3.0])
    seen = [
        float(alarm(metals(), INTERVAL, {"Pb": 9, "Cu": 9}, 0.02, shared).chance(lift))
        for shared in (0.0, 0.5, 1.0)
    ]
    assert seen[0] > seen[1] > seen[2]
