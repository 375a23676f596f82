"""Chances with samples: the integrals against scipy, the trade's facts, and what must hold."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad

from riskmodel.life.posterior import Curves
from riskmodel.life.weibull import conditional_survival, hazard
from riskmodel.oil.history import History, Nodes, history
from riskmodel.records.case import Case
from riskmodel.records.files import read_case
from riskmodel.risk.forecast import chance_ahead
from riskmodel.risk.life_curves import life_curves
from riskmodel.risk.with_oil import (
    DRAWN,
    WithOil,
    ages_ahead,
    by_node,
    chance_with_oil,
    masses,
    told_with_oil,
)
from tests.oil.made import case_with_oil, element

Floats = NDArray[np.float64]

AHEAD = np.array([1_000.0, 5_000.0, 10_000.0, 30_000.0])
USUAL = [f"{10_000 * i},10000,4,6" for i in range(4, 10)]  # the last one at 90,000
CLEAN = [*USUAL, "99000,9000,4,6"]
SURGE = [*USUAL, "99000,9000,20,12"]
UNSURE = {"shape_prior": [1.8, 4.5], "b50_prior": [100_000, 220_000]}
LEAD = {"lead": [4_000, 30_000], "lead_factor": [0.5, 2.0], "silent": [0.1, 0.5]}


def weighed(case: Case, ahead: Floats = AHEAD) -> WithOil:
    return chance_with_oil(case, life_curves(case), ahead)


def made(rows: list[str] | None, columns: str = "reading,oil_age,Pb,Cu", **more: Any) -> Case:
    return case_with_oil(rows, columns, **{"life": UNSURE, "warning": LEAD, **more})


def found(case: Case) -> History:
    known = history(case)
    assert known is not None
    return known


# --- the integrals -------------------------------------------------------------------------


@pytest.mark.parametrize("near", [50.0, 3_000.0, 40_000.0])
@pytest.mark.parametrize("height", [-0.95, 0.5, 1e4])
def test_integrals_over_the_failure_age(
    near: float, height: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Against scipy, with a likelihood of known form, on slack, steep and outlived curves."""
    case = made(CLEAN)
    known = found(case)
    today = known.today

    def told(age: float | Floats) -> Floats:
        return np.asarray(1 + height * np.exp(-(np.asarray(age) - today) / near))

    monkeypatch.setattr(
        "riskmodel.risk.with_oil.likelihood_ahead", lambda _, age: np.tile(told(age), (5, 1))
    )
    shape = np.array([0.7, 1.0, 2.5, 3.0, 8.0, 8.0, 4.0])
    scale = np.array([200_000.0, 50_000.0, 90_000.0, 180_000.0, 150_000.0, 60_000.0, 2_000_000.0])
    curves = Curves(shape, scale, np.full(len(shape), 1 / len(shape)))
    ahead = np.array([20.0, 1_000.0, 30_000.0])
    within, total = masses(curves, known, ahead)
    for k, (b, n) in enumerate(zip(shape, scale, strict=True)):

        def density(age: float, b: float = b, n: float = n) -> float:
            lived = conditional_survival(today, age - today, b, n)
            return float(told(age) * hazard(age, b, n) * lived)

        step = 1 / float(hazard(today, b, n))
        breaks = sorted({today, *(today + v for v in (near, 5 * near, step, 5 * step, 30 * step))})
        for p, d in enumerate(ahead):
            ends = [v for v in breaks if v < today + d] + [today + d]
            exact = sum(quad(density, a, c, epsrel=1e-10, epsabs=0)[0] for a, c in pairwise(ends))
            assert within[p, k, 0] == pytest.approx(exact, rel=1e-5)
        beyond = today + max(1e7, 100 * step)
        ends = [*breaks, *np.geomspace(breaks[-1] + 1, beyond, 12).tolist()]
        exact = sum(quad(density, a, c, epsrel=1e-10, epsabs=1e-14)[0] for a, c in pairwise(ends))
        assert total[k, 0] == pytest.approx(exact, rel=1e-4 if near > 10_000 else 1e-5)


def test_more_nodes_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    surge = [*USUAL[:-1], "90000,10000,9,9", "99000,9000,20,14"]
    cases = [made(CLEAN), made(SURGE), made(surge)]
    coarse = [weighed(case) for case in cases]
    many = Nodes(panels=20, order=6, rise_step=0.2, rise_end=4.6)
    monkeypatch.setattr("riskmodel.oil.history_ahead.WIDTH", 0.25)
    monkeypatch.setattr("riskmodel.risk.with_oil.BEND", 0.5)
    for case, rough in zip(cases, coarse, strict=True):
        fine = chance_with_oil(case, life_curves(case), AHEAD, replace(found(case), nodes=many))
        for name in ("value", "low", "high"):
            got, exact = (getattr(w.with_oil, name) for w in (rough, fine))
            assert got == pytest.approx(exact, rel=2e-3)


# --- what must hold ------------------------------------------------------------------------


def test_without_samples_nothing_changes() -> None:
    case = made(None)
    got = weighed(case)
    value, low, high = chance_ahead(life_curves(case), case.age, AHEAD)
    assert got.with_oil == got.without
    assert got.without.value == pytest.approx(value)
    assert got.without.low == pytest.approx(low)
    assert got.without.high == pytest.approx(high)
    assert np.all(got.factor == 1)


def test_all_silent_is_as_without_samples() -> None:
    got = weighed(made(SURGE, warning={**LEAD, "silent": 1.0}))
    assert got.with_oil.value == pytest.approx(got.without.value, rel=1e-9)
    assert got.with_oil.low == pytest.approx(got.without.low, rel=2e-3)
    assert got.with_oil.high == pytest.approx(got.without.high, rel=2e-3)


@pytest.mark.parametrize("rows", [CLEAN, SURGE])
def test_a_chance_is_one(rows: list[str]) -> None:
    ahead = np.array([0.0, 1.0, 100.0, 5_000.0, 5_000.0001, 50_000.0, 500_000.0, 1e7])
    got = weighed(made(rows), ahead)
    assert got.with_oil.value[0] == 0
    assert np.all(np.diff(got.with_oil.value) >= 0)
    assert got.with_oil.value[-1] == pytest.approx(1.0, abs=1e-6)
    assert np.all(got.with_oil.low <= got.with_oil.value + 1e-7)
    assert np.all(got.with_oil.value <= got.with_oil.high + 1e-7)
    assert got.weight.sum() == pytest.approx(1.0)
    assert got.with_oil.value[3] == pytest.approx(got.with_oil.value[4], rel=1e-6)


def test_samples_weigh_the_curves_the_lead_and_the_silent_share_together() -> None:
    """By Bayes: prior times the integral of f G beyond today, each integral by scipy."""
    case = made(SURGE)
    known = found(case)
    curves = Curves(np.array([2.0, 4.0]), np.array([150_000.0, 120_000.0]), np.array([0.7, 0.3]))
    got = chance_with_oil(case, curves, AHEAD, known)
    ages = known.today + np.concatenate([[0.0], np.geomspace(1, 3e6, 3_000)])
    told = known.likelihood(ages)
    silent, share = known.silent_points
    raw = np.empty((2, 5, 5))
    for k in range(2):
        lived = conditional_survival(
            known.today, ages - known.today, curves.shape[k], curves.scale[k]
        )
        middle = (told[:, 1:] + told[:, :-1]) / 2
        beyond = middle @ (lived[:-1] - lived[1:])
        for f in range(5):
            raw[k, f] = silent + (1 - silent) * beyond[f]
            raw[k, f] *= curves.weight[k] * known.factor_points[1][f] * share
    assert got.weight == pytest.approx(raw / raw.sum(), rel=2e-3)
    assert got.weight.sum(axis=(1, 2))[1] > curves.weight[1]  # the curve that fails sooner
    assert (got.weight.sum(axis=(0, 1)) @ silent) < known.silent.mean  # not silent, it seems


# --- what the trade knows (common practice, no source) -------------------------------------


def test_a_clear_history_says_little_where_the_lead_is_short() -> None:
    """Oil 9,000 old, failures that announce themselves 1,000 to 4,000 ahead: the last sample
    says next to nothing of the next 10,000."""
    short = {"lead": [1_000, 4_000], "lead_factor": 1.0, "silent": 0.25}
    factor = weighed(made(CLEAN, warning=short)).factor
    assert np.all(np.abs(np.log(factor)) < 0.1)
    longer = weighed(made(CLEAN, warning={**short, "lead": [10_000, 40_000]})).factor
    assert longer[2] < 0.75


def test_a_surge_of_the_parts_own_metal_is_strong_evidence() -> None:
    alone = [row.rsplit(",", 1)[0] for row in SURGE]
    lead_only = weighed(made(alone, "reading,oil_age,Pb"))
    assert lead_only.factor[2] > 2.5
    both = weighed(made(SURGE))
    assert both.factor[2] > 4
    assert both.with_oil.value[2] > 0.3


def test_a_surge_of_another_metal_says_nothing() -> None:
    rows = [f"{row},15" for row in USUAL]
    columns = "reading,oil_age,Pb,Cu,Fe"
    plain, iron = (weighed(made([*rows, f"99000,9000,4,6,{fe}"], columns)) for fe in (15, 120))
    assert iron.with_oil.value == pytest.approx(plain.with_oil.value, rel=1e-12)


def test_one_surge_is_no_proof() -> None:
    """With one sample in fifty misleading, one surge leaves a real doubt; two in a row far less;
    and with one in five misleading one surge says far less still."""
    one = weighed(made(SURGE)).with_oil.value[2]
    two = weighed(made([*USUAL[:-1], "90000,10000,18,12", "99000,9000,20,14"])).with_oil.value[2]
    doubtful = weighed(made(SURGE, misleading=0.2)).with_oil.value[2]
    assert doubtful < one < two
    assert one < 0.85


def test_a_clear_retest_after_a_surge_brings_it_down() -> None:
    """Drained after the surge and sampled again 4,000 on: what was left of the old oil, no more."""
    surge = [*USUAL, "95000,5000,12,9"]
    retest = [*surge, "99000,4000,3,3"]
    before, after = weighed(made(surge)), weighed(made(retest))
    assert after.with_oil.value[2] < before.with_oil.value[2] / 3
    assert after.factor[2] < 1


def test_without_a_chance_to_mislead_a_retest_weighs_less() -> None:
    """If samples never mislead, the surge was real, and a clear retest has to be chance."""
    rows = [*USUAL, "95000,5000,12,9", "99000,4000,3,3"]
    never, sometimes = (weighed(made(rows, misleading=m)).with_oil.value[2] for m in (0.0, 0.02))
    assert never > sometimes


def test_examples() -> None:
    """Judgement: the samples of the two examples are unremarkable, and move the chance by less
    than a half."""
    for name in ("road-car", "work-boat"):
        case = read_case(Path(__file__).parents[2] / "data" / name)
        got = weighed(case, np.array([case.next_change_in, case.machine.usage_per_year, case.keep]))
        assert np.all(np.abs(np.log(got.factor)) < 0.5)


def test_noise_at_low_readings_weakens_a_surge() -> None:
    loud = [element("Pb", noise=3), element("Cu", noise=3)]
    sure, noisy = weighed(made(SURGE)), weighed(made(SURGE, elements=loud))
    assert 1 < noisy.factor[2] < sure.factor[2]


def test_many_curves_are_weighed_a_part_at_a_time_as_all_at_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    case = case_with_oil(["80000,10000,5,6", "90000,10000,14,12"])
    found, ahead = history(case), np.array([5_000.0, 20_000.0])
    assert found is not None
    shape = np.linspace(1.5, 4.0, 23)
    many = Curves(shape, np.linspace(120_000.0, 300_000.0, 23), np.full(23, 1 / 23))
    whole = masses(many, found, ahead)
    ages = len(ages_ahead(many, found, ahead, np.full(23, found.today)).age)
    monkeypatch.setattr("riskmodel.risk.with_oil.BLOCK", 5 * ages)
    for part, all_of_them in zip(masses(many, found, ahead), whole, strict=True):
        np.testing.assert_allclose(part, all_of_them, rtol=1e-12)


def test_ends_for_a_chart_are_those_over_all_to_a_hundredth() -> None:
    case = made(SURGE)
    curves, known, ahead = life_curves(case), found(case), np.linspace(0, 40_000.0, 12)
    whole, _ = told_with_oil(curves, known, ahead, case.age)
    drawn, weight = told_with_oil(curves, known, ahead, case.age, 3)
    assert weight.size > 3 * DRAWN
    np.testing.assert_array_equal(drawn.value, whole.value)
    for few, all_nodes in ((drawn.low, whole.low), (drawn.high, whole.high)):
        np.testing.assert_array_equal(few[:3], all_nodes[:3])
        np.testing.assert_allclose(few, all_nodes, rtol=0.01)
        assert (few[3:] != all_nodes[3:]).all()


def test_the_mean_is_over_every_curve_factor_and_silent_share() -> None:
    case = made(SURGE)
    curves, known = life_curves(case), found(case)
    chances, weight = by_node(curves, known, AHEAD, case.age)
    told, _ = told_with_oil(curves, known, AHEAD, case.age)
    mean = chances.reshape(len(AHEAD), -1) @ weight.ravel()
    np.testing.assert_allclose(told.value, mean, rtol=1e-12)
