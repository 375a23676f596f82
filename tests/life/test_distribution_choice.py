"""The choice of distribution: published fits, another library, and whether the choice matters."""

from __future__ import annotations

import math

import numpy as np
import pytest
from lifelines import ExponentialFitter, LogNormalFitter, WeibullFitter

from riskmodel.life import weibull
from riskmodel.life.comparison import compare
from riskmodel.life.curves import distribution_choice
from riskmodel.life.fit import fit
from riskmodel.life.rows import rows_of
from tests.life.made import observed as seen
from tests.life.made import records, reference


class TestDistributionChoice:
    def test_nist_example(self) -> None:
        # NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3: AIC 154.27 and 154.39
        fits = {
            one.name: one for one in distribution_choice(reference("nist_weibull"), 300, 100).fits
        }
        assert fits["Weibull"].aic == pytest.approx(154.27, abs=0.005)
        assert fits["lognormal"].aic == pytest.approx(154.39, abs=0.005)
        assert fits["Weibull"].parameters == pytest.approx((1.7208, 606.528), rel=1e-4)

    def test_locomotive_controls(self) -> None:
        # Nelson 1982, Applied Life Data Analysis: lognormal 2.2223, .3064 in base 10 (from memory)
        fits = distribution_choice(reference("locomotive_controls"), 50, 30).fits
        median, spread = next(one.parameters for one in fits if one.name == "lognormal")
        assert math.log10(median) == pytest.approx(2.2223, abs=6e-5)
        assert spread / math.log(10) == pytest.approx(0.3064, abs=6e-5)

    @pytest.mark.parametrize("between", [0.0, 0.4])
    def test_agrees_with_the_library(self, between: float) -> None:
        some = seen(np.random.default_rng(11), 150, 2.0, 100.0, enter=0.5, between=between)
        failed = np.array([outcome == "failed" for outcome in some.outcome])
        exact = failed & np.isnan(some.age_from)
        low = np.where(failed & ~exact, np.fmax(some.age_from, some.entered_at), some.age)
        high = np.where(failed, some.age, np.inf)
        fits = {str(one.name): one for one in distribution_choice(some, 60.0, 30.0).fits}
        for name, fitter in (
            ("Weibull", WeibullFitter()),
            ("lognormal", LogNormalFitter()),
            ("exponential", ExponentialFitter()),
        ):
            library = fitter.fit_interval_censoring(
                np.maximum(low, 1e-9), high, event_observed=exact, entry=some.entered_at
            )
            alive = library.survival_function_at_times([60.0, 90.0]).to_numpy()
            assert fits[name].probability == pytest.approx(1 - alive[1] / alive[0], rel=2e-3), name
            assert fits[name].loglik == pytest.approx(library.log_likelihood_, abs=1e-3), name

    def test_same_likelihoods_as_the_comparison_table(self) -> None:
        for name in ("nist_weibull", "shock_absorber", "locomotive_controls"):
            table = {one.distribution: one.loglik for one in compare(rows_of(reference(name)))}
            for one in distribution_choice(reference(name), 100.0, 10.0).fits:
                assert one.loglik == pytest.approx(table[one.name.lower()], abs=2e-3), (name, one)

    def test_threshold_is_found(self) -> None:
        rng = np.random.default_rng(12)
        some = records(500 + 100 * rng.weibull(1.5, 300))
        fits = {one.name: one for one in distribution_choice(some, 520, 20).fits}
        threshold, shape, scale = fits["Weibull with threshold"].parameters
        assert threshold == pytest.approx(500, abs=3)
        assert shape == pytest.approx(1.5, rel=0.1)
        assert scale == pytest.approx(100, rel=0.1)
        assert fits["Weibull with threshold"].plausible
        assert not fits["Weibull"].plausible
        truth = 1 - math.exp((20 / 100) ** 1.5 - (40 / 100) ** 1.5)
        assert fits["Weibull with threshold"].probability == pytest.approx(truth, rel=0.2)

    def test_interval_is_close_to_the_likelihood_ratio_one(self) -> None:
        some = seen(np.random.default_rng(13), 400, 2.0, 100.0)
        one = distribution_choice(some, 60.0, 30.0).fits[0]
        # the fit's is at 95 %: 1.645 against 1.96 standard errors on the log(-log) scale
        wide = fit(some).conditional(60.0, 30.0)
        chances = (one.probability, one.low, one.high, wide.low, wide.high)
        level, low, high, *ends = (math.log(-math.log1p(-(p or 0.0))) for p in chances)
        assert [low - level, high - level] == pytest.approx(
            [(end - level) * 1.645 / 1.96 for end in ends], rel=0.05
        )

    def test_interval_with_a_threshold_against_random_search(self) -> None:
        some = records(200 + 100 * np.random.default_rng(16).weibull(2.0, 60))
        one = distribution_choice(some, 240.0, 40.0).fits[-1]
        assert one.name == "Weibull with threshold"
        best = [*one.parameters]
        rng, ages = np.random.default_rng(17), some.age[:, None]
        shape = np.maximum(best[1] * np.exp(0.4 * rng.normal(size=40_000)), 1.0)
        scale = best[2] * np.exp(0.4 * rng.normal(size=40_000))
        threshold = np.minimum(best[0] + 25 * rng.normal(size=40_000), some.age.min() - 1e-3)
        with np.errstate(all="ignore"):
            heights = weibull.log_density(ages - threshold, shape, scale).sum(axis=0)
        inside = heights >= one.loglik - 1.35277
        assert inside.sum() > 300
        start = np.maximum(240.0 - threshold[inside], 0.0)
        chances = weibull.conditional_failure(start, 40.0, shape[inside], scale[inside])
        assert one.low is not None
        assert one.high is not None
        # what random search finds lies inside and nearly reaches the ends
        width = one.high - one.low
        assert one.low - 0.05 * width < chances.min() < one.low + 0.1 * width
        assert one.high - 0.1 * width < chances.max() < one.high + 0.05 * width

    def test_warns_where_the_choice_matters(self) -> None:
        some = seen(np.random.default_rng(14), 25, 2.0, 100.0, censor=0.6)
        far = distribution_choice(some, 200.0, 60.0, unit="km")
        assert far.warning is not None
        assert "Weibull" in far.warning
        assert " to " in far.warning  # intervals
        plausible = [one for one in far.fits if one.plausible]
        low, high = (f(one.probability for one in plausible) for f in (min, max))
        assert high > 1.5 * low

    def test_is_silent_where_it_does_not(self) -> None:
        some = seen(np.random.default_rng(15), 2000, 2.0, 100.0)
        assert distribution_choice(some, 60.0, 10.0).warning is None

    def test_implausible_fits_do_not_count(self) -> None:
        some = seen(np.random.default_rng(15), 400, 4.0, 100.0)
        fits = {one.name: one for one in distribution_choice(some, 20.0, 10.0).fits}
        assert not fits["exponential"].plausible
        assert fits["exponential"].aic > fits["Weibull"].aic + 10
