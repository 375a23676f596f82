"""What looks at removed parts say: integrals, closed forms, and counting simulated parts."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import integrate, stats

from riskmodel.life.likelihood import Likelihood
from riskmodel.records.quantity import Quantity, exactly
from tests.life.made import joined, records

LEADS = (
    Quantity(1e4, 6e4),
    Quantity(2e4, 3e4),
    Quantity(1e3, 1e5),
    Quantity(1e2, 1e6),
    Quantity(2.5e4, 2.51e4),
)


def share_hidden(age: float, shape: float, scale: float, lead: Quantity) -> float:
    """P(T > age + V | T > age) by adaptive quadrature over ln V, cut where it bends."""
    centre, spread = math.log(lead.median), lead.spread

    def integrand(log_lead: float) -> float:
        log_end = shape * math.log((age + math.exp(log_lead)) / scale)
        ahead = math.exp(min(log_end, 690.0)) - (age / scale) ** shape
        density = math.exp(-(((log_lead - centre) / spread) ** 2) / 2)
        return density / (spread * math.sqrt(2 * math.pi)) * math.exp(-min(ahead, 745.0))

    edges = centre + spread * np.linspace(-7.5, 7.5, 31)
    bend = max(scale * (1 + (age / scale) ** shape) ** (1 / shape) - age, 1e-6 * scale)
    edges = np.unique(np.append(edges, math.log(bend) + np.linspace(-4, 1, 21) / max(shape, 1)))
    parts = [
        integrate.quad(integrand, low, high, epsabs=1e-13, epsrel=1e-11)[0]
        for low, high in itertools.pairwise(edges)
    ]
    return math.fsum(parts)


@pytest.mark.parametrize("lead", LEADS, ids=lambda lead: f"{lead.low:g}-{lead.high:g}")
@pytest.mark.parametrize("shape", [0.3, 1.0, 2.5, 5.0, 12.0, 50.0])
@pytest.mark.parametrize("error", [0.01, 0.1])
def test_looks_agree_with_adaptive_quadrature_to_1e_6(
    lead: Quantity, shape: float, error: float
) -> None:
    for age in (2e4, 1.6e5):
        for scale in (8e4, 1.5e5, 6e5):
            hidden = share_hidden(age, shape, scale, lead)
            for outcome, share in (("removed_worn", 1 - hidden), ("removed_unworn", hidden)):
                found = Likelihood(records(age, outcome), error, lead).log(shape, scale)
                wanted = math.log(error + (1 - 2 * error) * share) - (age / scale) ** shape
                assert float(found) == pytest.approx(wanted, rel=1e-12, abs=1e-6)


@pytest.mark.parametrize("shape", [0.5, 2.0, 30.0])
def test_a_lead_known_exactly_has_a_closed_form(shape: float) -> None:
    """W = S(a) - S(a + V) and N = S(a + V)."""
    curve = stats.weibull_min(shape, scale=100.0)
    lead = exactly(15.0)
    for age in (0.0, 40.0, 95.0, 130.0):
        more = ((age + 15.0) / 100.0) ** shape - (age / 100.0) ** shape
        worn = curve.sf(age) * -math.expm1(-more)  # S(a) - S(a + V) without cancellation
        unworn = curve.sf(age + 15.0)
        for error in (0.0, 0.1, 0.5):
            for outcome, seen in (("removed_worn", worn), ("removed_unworn", unworn)):
                wanted = (1 - error) * seen + error * (curve.sf(age) - seen)
                found = math.exp(
                    float(Likelihood(records(age, outcome), error, lead).log(shape, 100.0))
                )
                assert found == pytest.approx(wanted, rel=1e-9, abs=1e-290)


def test_looks_agree_with_counting_simulated_parts() -> None:
    """Two million lives and leads drawn; every share within four standard errors."""
    rng = np.random.default_rng(11)
    lead, error, shape, scale = Quantity(8.0, 60.0), 0.1, 2.5, 100.0
    n = 2_000_000
    life = scale * rng.weibull(shape, n)
    ahead = lead.quantile(rng.standard_normal(n))
    wrong = rng.uniform(size=n) < error
    for age in (20.0, 70.0, 120.0):
        alive = life > age
        distress = (life <= age + ahead) ^ wrong
        for outcome, seen in (("removed_worn", distress), ("removed_unworn", ~distress)):
            share = np.mean(alive & seen)
            chance = math.exp(Likelihood(records(age, outcome), error, lead).log(shape, scale))
            assert abs(share - chance) < 4 * math.sqrt(chance * (1 - chance) / n)


def probabilities(age: float, entered: float, shape: NDArray[np.float64]) -> NDArray[np.float64]:
    """Sum over everything that an inspection at `age` can find of a part met at `entered`."""
    lead = Quantity(5.0, 80.0)
    cases = [records(age, "removed_worn", entered_at=entered)]
    cases.append(records(age, "removed_unworn", entered_at=entered))
    if age > entered:
        cases.append(records(age, "failed", age_from=entered, entered_at=entered))
    logs = [Likelihood(case, 0.1, lead).log(shape, 100.0) for case in cases]
    return np.exp(logs).sum(axis=0)


@pytest.mark.parametrize(
    ("age", "entered"), [(60.0, 0.0), (60.0, 25.0), (150.0, 149.0), (0.0, 0.0)]
)
def test_all_that_an_inspection_can_find_sums_to_one(age: float, entered: float) -> None:
    shape = np.array([0.4, 1.0, 2.5, 9.0, 40.0])
    np.testing.assert_allclose(probabilities(age, entered, shape), 1.0, atol=2e-6)


def test_a_look_that_tells_nothing_is_a_plain_removal() -> None:
    shape = np.array([0.5, 2.0, 8.0])
    plain = Likelihood(records(70.0, "removed")).log(shape, 90.0)
    for outcome in ("removed_worn", "removed_unworn"):
        coin = Likelihood(records(70.0, outcome), 0.5, Quantity(5.0, 50.0)).log(shape, 90.0)
        np.testing.assert_allclose(coin - math.log(0.5), plain, rtol=1e-9)


def test_many_nodes_and_rows_are_worked_in_blocks_alike() -> None:
    rng = np.random.default_rng(4)
    ages = rng.uniform(5.0, 150.0, 60)
    looks = rng.choice(["removed_worn", "removed_unworn"], 60).tolist()
    lead = Quantity(3.0, 90.0)
    shape = rng.uniform(0.5, 30.0, 700)
    scale = rng.uniform(50.0, 300.0, 700)
    together = Likelihood(records(ages, looks), 0.1, lead).log(shape, scale)
    alone = sum(
        Likelihood(records(age, look), 0.1, lead).log(shape, scale)
        for age, look in zip(ages, looks, strict=True)
    )
    np.testing.assert_allclose(together, alone, rtol=1e-11)


def test_derivatives_agree_with_differences_of_the_likelihood() -> None:
    data = joined(
        records([30.0, 55.0, 80.0], ["removed_worn", "removed_unworn", "removed_worn"]),
        records([70.0, 95.0]),
    )
    likelihood = Likelihood(data, 0.1, Quantity(5.0, 60.0))
    b, mu = 2.3, 0.4
    jet = likelihood.jet(b, mu)

    def at(x: float, y: float) -> float:
        return float(likelihood.at(np.array([x]), np.array([y]))[0])

    h = 1e-3  # the rules over V may change within it: their error of 1e-8 over h
    assert jet.value == pytest.approx(at(b, mu), abs=1e-9)
    assert jet.b == pytest.approx((at(b + h, mu) - at(b - h, mu)) / (2 * h), rel=1e-4, abs=1e-4)
    assert jet.mu == pytest.approx((at(b, mu + h) - at(b, mu - h)) / (2 * h), rel=1e-4, abs=1e-4)
