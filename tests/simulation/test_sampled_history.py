"""The likelihood of past samples, against hand work, drawing and rejection."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.stats import t

from .sampled import draw_sampled_worlds
from .sampled_case import Floats, SampledCase, sampled_case_from
from .sampled_oil import evidence, log_rates, rise_mean, student4_cdf
from .test_sampled import BASE

METAL = {"symbol": "Pb", "typical": [300, 900], "scatter": 1.3, "rise": [3, 12], "noise": 0.4}
TIN = {"symbol": "Sn", "typical": [100, 300], "scatter": 1.5, "rise": [2, 8], "noise": 0.2}


def build(history: list[dict[str, Any]], **changes: Any) -> SampledCase:
    usual = {"elements": [METAL], "lead": [4, 40], "history": history, "sump": 6.0}
    return sampled_case_from({**BASE, **usual, **changes})


def test_student() -> None:
    x = np.linspace(-30, 30, 61)
    assert student4_cdf(x) == pytest.approx(t.cdf(x, 4), abs=1e-14)


def test_mass_balance_by_hand() -> None:
    """Rates in ppm per 1,000 from C = C0 exp(-q) + r o (1 - exp(-q)) / (1000 q), q the top-up as
    a share of the sump; C0 a tenth of the last reading before the drain, of this one if none."""
    rows = [
        {"age": 100, "oil_age": 5, "readings": {"Pb": 4}},
        {"age": 105, "oil_age": 5, "top_up": 1.5, "readings": {"Pb": 9}},
        {"age": 106, "oil_age": 1, "readings": {"Pb": "<1"}},
        {"age": 111, "oil_age": 5, "readings": {"Pb": 0}},
    ]
    found = [(low, math.exp(high)) for _, low, high in log_rates(build(rows), "Pb")]
    assert math.exp(found[0][0]) == pytest.approx((3.5 - 0.4) * 200)
    assert found[0][1] == pytest.approx((4.5 - 0.4) * 200)
    q = 0.25
    left, per = 0.4 * math.exp(-q), 200 * q / (1 - math.exp(-q))
    assert math.exp(found[1][0]) == pytest.approx((8.5 - left) * per)
    assert found[1][1] == pytest.approx((9.5 - left) * per)
    # Less than 1 ppm with 0.9 ppm left behind: up to what lifts it by half a ppm.
    assert found[2][0] == found[3][0] == -math.inf
    assert found[2][1] == pytest.approx(500)
    assert found[3][1] == pytest.approx(100)  # 0.05 ppm left: half a ppm again


def test_own_level_by_drawing() -> None:
    """L with the own levels integrated out: against the mean over levels drawn from `typical`,
    product over elements and samples written out, at most one sample misleading."""
    rows = [
        {"age": 110, "oil_age": 5, "readings": {"Pb": 3, "Sn": 1}},
        {"age": 115, "oil_age": 5, "readings": {"Pb": 7, "Sn": 2}},
    ]
    case = build(rows, elements=[METAL, TIN], misleading=0.1, carry_over=0.2)
    life, onset, score = 128.0, 107.0, 0.7
    rng = np.random.default_rng(8)
    n = 100_000

    def likelihood(onset: float) -> float:
        parts = {}
        for e in case.elements:
            level = e.typical.at(rng.standard_normal(n))
            for j, (s, low, high) in enumerate(log_rates(case, e.symbol)):
                m = rise_mean(
                    np.array([e.rise.at(score)]), np.array([life]), np.array([onset]), s.age, 5.0
                )
                sigma = e.deviation(5.0)
                middle = np.log(level) + math.log(m[0])
                chance = t.cdf((high - middle) / sigma, 4) - t.cdf((low - middle) / sigma, 4)
                wide = math.hypot(e.typical.sigma, 1.5)
                z = (np.array([low, high]) - e.typical.mu) / wide
                ends = [0.5 * math.erfc(-float(a) / math.sqrt(2)) for a in z]
                parts[e.symbol, j] = (chance, ends[1] - ends[0])
        true = {j: [parts[e.symbol, j][0] for e in case.elements] for j in (0, 1)}
        wrong = [math.prod(parts[e.symbol, j][1] for e in case.elements) for j in (0, 1)]

        def both(*which: int) -> float:
            return math.prod(
                float(np.mean(np.prod([true[j][i] for j in which], axis=0))) for i in (0, 1)
            )

        return 0.81 * both(0, 1) + 0.09 * (both(1) * wrong[0] + both(0) * wrong[1])

    expected = likelihood(onset) / likelihood(life - 1)
    found = evidence(case, np.array([life]), np.array([onset]), np.array([score]))
    assert found[0] == pytest.approx(expected, rel=0.03)
    assert expected > 2


def forward(case: SampledCase, n: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Draw parts, levels and both readings; keep those that read as the history does. Returns
    the life left and the lead factor of those kept."""
    base, (e,) = case.base, case.elements
    total = (base.age / base.scale) ** base.shape + rng.standard_exponential(n)
    life = base.scale * total ** (1 / base.shape)
    factor = case.lead_factor.at(rng.standard_normal(n))
    onset = np.maximum(life - factor * case.lead.at(rng.standard_normal(n)), 0.0)
    rise = e.rise.at(rng.standard_normal(n))
    silent = rng.random(n) < case.silent.at(rng.standard_normal(n))
    level = e.typical.at(rng.standard_normal(n))
    m = case.misleading
    weights = np.array([(1 - m) ** 2, m * (1 - m), m * (1 - m)])
    wrong = rng.choice(3, size=n, p=weights / weights.sum())
    keep = np.ones(n, dtype=np.bool_)
    before = case.history[0].readings["Pb"][1]  # where none is known: this one itself
    for number, s in enumerate(case.history):
        mean = rise_mean(rise, life, onset, s.age, s.oil_age, s.top_up)
        rate = level * np.where(silent, 1.0, mean)
        rate = rate * np.exp(e.deviation(s.oil_age) * t.rvs(4, size=n, random_state=rng))
        wide = math.hypot(e.typical.sigma, 1.5)
        stray = e.typical.at(rng.standard_normal(n) * wide / e.typical.sigma)
        rate = np.where(wrong == number + 1, stray, rate)
        q = s.top_up
        grown = rate * s.oil_age / 1000 * ((1 - math.exp(-q)) / q if q else 1.0)
        reading = np.round(case.carry_over * before * math.exp(-q) + grown)
        low, before, high = s.readings["Pb"]
        keep &= (reading > low) & (reading < high)
    return life[keep] - base.age, factor[keep]


def test_weighted_lives_by_rejection() -> None:
    """The weighted lives against lives whose own drawn readings came out as the history did."""
    rows = [
        {"age": 113, "oil_age": 5, "top_up": 0.6, "readings": {"Pb": 3}},
        {"age": 118, "oil_age": 5, "readings": {"Pb": 8}},
    ]
    more: dict[str, Any] = {"lead_factor": [0.5, 2], "silent": [0.1, 0.5], "misleading": 0.05}
    case = build(rows, **more)
    worlds = draw_sampled_worlds(case, 200_000, seed=2)
    left, factor = forward(case, 1_000_000, np.random.default_rng(6))
    assert left.size > 2000
    w = worlds.weight / worlds.weight.sum()
    prior = float(np.mean(worlds.base.life < 10))
    for drawn, kept in (
        (worlds.base.life < 10, left < 10),
        (worlds.base.life < 30, left < 30),
        (worlds.factor > 1.2, factor > 1.2),
    ):
        found, expected = float(w @ drawn), float(np.mean(kept))
        errors = (
            math.sqrt(float(np.sum((w * (drawn - found)) ** 2))),
            math.sqrt(expected * (1 - expected) / kept.size),
        )
        assert abs(found - expected) < 4 * math.hypot(*errors)
    assert float(w @ (worlds.base.life < 10)) > prior + 0.05  # the hint tells
