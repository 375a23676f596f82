"""What is usual, against published variance components, closed forms, sums and known truths."""

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import minimize

from riskmodel.oil.usual import BETWEEN_PRIOR, WITHIN_PRIOR, restricted_log_likelihood, usual
from riskmodel.records.quantity import Quantity

# Yields of dyestuff, six batches of five: Davies (ed.) 1947, Statistical Methods in Research and
# Production; Box & Tiao 1973, Bayesian Inference in Statistical Analysis, section 5.1.2.
DYESTUFF = np.array(
    [
        [1545, 1440, 1440, 1520, 1580],
        [1540, 1555, 1490, 1560, 1495],
        [1595, 1550, 1605, 1510, 1560],
        [1445, 1440, 1595, 1465, 1545],
        [1595, 1630, 1515, 1635, 1625],
        [1520, 1455, 1450, 1480, 1445],
    ],
    dtype=float,
)


def made(engines, each, between=0.5, within=0.26, seed=0):
    """Rates of engines about 0.4, with the heavy tails of the model."""
    draw = np.random.default_rng(seed)
    level = np.log(0.4) + between * draw.normal(size=engines)
    names = [f"engine {i}" for i in np.repeat(np.arange(engines), each)]
    return np.exp(np.repeat(level, each) + within * draw.standard_t(4, size=len(names))), names


def test_restricted_maximum_likelihood_of_a_published_example():
    """By the analysis of variance, between and within batches: 1764.05 and 2451.25 (Box & Tiao;
    any REML program agrees, as the design is balanced)."""
    values, batch = DYESTUFF.ravel() / 50, [str(i) for i in np.repeat(np.arange(6), 5)]

    def lack(log):
        s, sigma = np.exp(log)
        return -restricted_log_likelihood(values, batch, [s], [sigma], degrees=np.inf)[0, 0]

    best = minimize(lack, [0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-11})
    between, within = (np.exp(best.x) * 50) ** 2
    assert between == pytest.approx(1764.05, rel=1e-5)
    assert within == pytest.approx(2451.25, rel=1e-5)


def test_restricted_likelihood_of_the_normal_in_closed_form():
    """Balanced one-way layout, k groups of n (Searle, Casella & McCulloch 1992, Variance
    Components, section 3.8, from memory): SSW / sigma^2 and SSB / (sigma^2 + n s^2) are
    independent chi-squares with k (n - 1) and k - 1 degrees of freedom."""
    values = DYESTUFF / 50
    k, n = values.shape
    ssw = ((values - values.mean(axis=1, keepdims=True)) ** 2).sum()
    ssb = n * ((values.mean(axis=1) - values.mean()) ** 2).sum()
    s, sigma = np.array([0.1, 0.5, 1.0, 2.0]), np.array([0.6, 1.0, 1.7])
    a, b = sigma**2, sigma**2 + n * s[:, None] ** 2
    closed = -(k * (n - 1) * np.log(a) + (k - 1) * np.log(b) + ssw / a + ssb / b) / 2
    closed = closed - (k * n - 1) / 2 * np.log(2 * np.pi) - np.log(k * n) / 2
    batch = [str(i) for i in np.repeat(np.arange(k), n)]
    found = restricted_log_likelihood(values.ravel(), batch, s, sigma, degrees=np.inf)
    np.testing.assert_allclose(found, closed, rtol=0, atol=1e-6)


def test_heavy_tails_against_integration():
    values, names, noise = np.array([0.1, 0.4, -0.9, -0.2, 1.1]), list("aabbb"), [0, 0.2, 0, 0, 0.3]
    s, sigma = 0.6, 0.3

    scale = np.hypot(sigma, noise)
    level, mean = np.linspace(-8, 8, 4001), np.linspace(-8, 8, 321)

    def engine_told(mine):
        of_samples = stats.t.pdf((values[mine, None] - level) / scale[mine, None], 4)
        own = np.prod(of_samples / scale[mine, None], axis=0)
        return stats.norm.pdf(level, mean[:, None], s) @ own * (level[1] - level[0])

    # Smooth, and nothing at the ends: the sums are the integrals.
    told = engine_told(slice(0, 2)) * engine_told(slice(2, 5))
    exact = np.log(told.sum() * (mean[1] - mean[0]))
    found = restricted_log_likelihood(values, names, [s], [sigma], noise)
    assert found[0, 0] == pytest.approx(exact, abs=1e-5)


def test_many_engines_tell_the_truth():
    found = usual(*made(150, 8, between=0.5, within=0.26))
    assert found.scatter == pytest.approx(np.exp(0.26), rel=0.02)
    assert found.between == pytest.approx(0.5, rel=0.1)
    width = 1.6448536 * 0.5
    assert found.typical.low == pytest.approx(0.4 * np.exp(-width), rel=0.15)
    assert found.typical.high == pytest.approx(0.4 * np.exp(width), rel=0.15)
    assert (found.engines, found.samples) == (150, 1200)


def test_few_engines_leave_a_wide_range():
    one = usual(*made(1, 10))
    two = usual(*made(2, 10))
    many = usual(*made(60, 10))
    assert one.typical.spread > two.typical.spread > many.typical.spread
    assert one.typical.spread > BETWEEN_PRIOR.median  # never narrower than what is believed
    assert one.between == pytest.approx(BETWEEN_PRIOR.median, rel=0.02)
    assert one.between_range == pytest.approx((BETWEEN_PRIOR.low, BETWEEN_PRIOR.high), rel=0.03)


@pytest.mark.slow
def test_ranges_hold_what_they_promise():
    """Truths drawn from the priors: in nine cases of ten another engine's level lies in `typical`,
    and the scatter and the spread between engines in their ranges."""
    draw, runs, held = np.random.default_rng(6), 250, np.zeros(3)
    for run in range(runs):
        between = float(BETWEEN_PRIOR.quantile(draw.normal()))
        within = float(WITHIN_PRIOR.quantile(draw.normal()))
        found = usual(
            *made(int(draw.integers(2, 9)), int(draw.integers(2, 7)), between, within, run)
        )
        another = 0.4 * np.exp(between * draw.normal())
        held += [
            found.typical.low < another < found.typical.high,
            found.scatter_range[0] < np.exp(within) < found.scatter_range[1],
            found.between_range[0] < between < found.between_range[1],
        ]
    np.testing.assert_allclose(held / runs, 0.9, atol=3.3 * np.sqrt(0.09 / runs))


def test_an_odd_sample_moves_little():
    rates, names = made(12, 6)
    odd = rates.copy()
    odd[5] *= 40
    plain, found = usual(rates, names), usual(odd, names)
    assert found.scatter == pytest.approx(plain.scatter, rel=0.06)
    assert found.typical.median == pytest.approx(plain.typical.median, rel=0.06)


def test_the_laboratorys_noise_is_kept_out_of_the_scatter():
    rates, names = made(30, 6, within=0.2, seed=3)
    noisy = rates * np.exp(0.3 * np.random.default_rng(1).standard_t(4, size=len(rates)) / 1.2)
    blind, told = usual(noisy, names), usual(noisy, names, noise=0.25)
    assert blind.scatter > 1.3
    assert told.scatter == pytest.approx(np.exp(0.2), rel=0.05)


def test_units_and_order_do_not_matter():
    rates, names = made(6, 5)
    shuffled = np.random.default_rng(9).permutation(len(rates))
    plain = usual(rates, names)
    other = usual(70 * rates[shuffled], [names[i] for i in shuffled])
    assert other.typical.low == pytest.approx(70 * plain.typical.low, rel=1e-6)
    assert other.typical.high == pytest.approx(70 * plain.typical.high, rel=1e-6)
    assert other.scatter == pytest.approx(plain.scatter, rel=1e-9)


def test_a_prior_may_be_stated():
    rates, names = made(3, 5)
    sure = usual(rates, names, between=Quantity(0.09, 0.11))
    assert 0.088 < sure.between_range[0] < sure.between_range[1] < 0.112
    assert sure.typical.spread < usual(rates, names).typical.spread


@pytest.mark.parametrize(
    ("rates", "engine", "message"),
    [
        ([0.1, 0.2], ["a"], "2 rates but 1 engines"),
        ([], [], "no samples"),
        ([0.1, 0.0], ["a", "b"], "above 0"),
        ([0.1, np.nan], ["a", "b"], "above 0"),
    ],
)
def test_what_can_not_be_learned_from_is_refused(rates, engine, message):
    with pytest.raises(ValueError, match=message):
        usual(rates, engine)
