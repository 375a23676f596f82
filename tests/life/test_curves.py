"""Observed curves, Weibull paper and the choice of distribution, against references."""

from __future__ import annotations

import math

import numpy as np
import pytest
from lifelines import (
    ExponentialFitter,
    KaplanMeierFitter,
    LogNormalFitter,
    WeibullFitter,
)
from scipy.optimize import minimize

from riskmodel.life import weibull
from riskmodel.life.comparison import compare
from riskmodel.life.curves import (
    Observed,
    distribution_choice,
    fitted_curve,
    observed,
    probability_plot,
)
from riskmodel.life.fit import fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import Curves, posterior
from riskmodel.life.rows import rows_of
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.made import joined, records, reference
from tests.life.made import observed as seen

# Remission in weeks under 6-mercaptopurine: Freireich et al. 1963, Blood 21, 699-716, as
# tabulated in survival textbooks (data and estimates from memory)
REMISSION = {
    "failed": [6, 6, 6, 7, 10, 13, 16, 22, 23],
    "running": [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35],
}
REMISSION_CURVE = {
    6: (0.857, 0.0764),
    7: (0.807, 0.0869),
    10: (0.753, 0.0963),
    13: (0.690, 0.1068),
    16: (0.627, 0.1141),
    22: (0.538, 0.1282),
    23: (0.448, 0.1346),
}

# Breast retraction in months, radiotherapy alone: Finkelstein & Wolfe 1985, Biometrics 41,
# 933-945; data as in Klein & Moeschberger, Survival Analysis, section 5.2, and the maximum of
# the likelihood as printed in textbooks (both from memory)
RETRACTED = [
    (0, 7), (0, 8), (0, 5), (4, 11), (5, 12), (5, 11), (6, 10), (7, 16), (7, 14), (11, 15),
    (11, 18), (17, 25), (17, 25), (19, 35), (18, 26), (25, 37), (26, 40), (27, 34), (36, 44),
    (36, 48), (37, 44),
]  # fmt: skip
NOT_RETRACTED = [15, 17, 18, 22, 24, 24, 32, 33, 34, 36, 36, 37, 37, 37, 38, 40, 45, *[46] * 8]
RETRACTION_JUMPS = {5: 0.0463, 7: 0.0334, 8: 0.0887, 12: 0.0708, 25: 0.0926, 34: 0.0818, 40: 0.1209}


def remission() -> LifeRecords:
    return joined(*(records(ages, outcome) for outcome, ages in REMISSION.items()))


def retraction() -> LifeRecords:
    since, age = zip(*RETRACTED, strict=True)
    return joined(records(age, age_from=since), records(NOT_RETRACTED, "running"))


def product_limit(some: LifeRecords) -> tuple[np.ndarray, np.ndarray]:
    """Kaplan-Meier written out: at risk are those entered before and not gone before."""
    died = np.array([outcome == "failed" for outcome in some.outcome])
    ages, alive, left = np.unique(some.age[died]), [], 1.0
    for age in ages:
        at_risk = some.count[(some.entered_at < age) & (some.age >= age)].sum()
        left *= 1 - some.count[died & (some.age == age)].sum() / at_risk
        alive.append(left)
    return ages, 1 - np.array(alive)


class TestKaplanMeier:
    def test_remission_times(self) -> None:
        curve = observed(remission())
        assert curve.method == "Kaplan-Meier"
        assert curve.age.tolist() == list(REMISSION_CURVE)
        alive = [alive for alive, _ in REMISSION_CURVE.values()]
        assert 1 - curve.failed == pytest.approx(alive, abs=5.1e-4)
        assert (curve.from_age, curve.to_age, curve.notes) == (0.0, 35.0, ())

    def test_band_is_greenwoods_on_the_log_log_scale(self) -> None:
        curve = observed(remission(), level=0.95)
        assert curve.low is not None
        assert curve.high is not None
        for i, (alive, error) in enumerate(REMISSION_CURVE.values()):
            # Kalbfleisch & Prentice, The Statistical Analysis of Failure Time Data, section 1.4
            spread = math.exp(1.959964 * error / (alive * abs(math.log(alive))))
            assert 1 - curve.low[i] == pytest.approx(alive ** (1 / spread), abs=2e-3)
            assert 1 - curve.high[i] == pytest.approx(alive**spread, abs=2e-3)

    @pytest.mark.parametrize("enter", [0.0, 0.6])
    def test_agrees_with_the_library_and_with_hand(self, enter: float) -> None:
        some = seen(np.random.default_rng(3), 120, 2.0, 100.0, enter=enter)
        some.count[:] = np.random.default_rng(4).integers(1, 4, len(some))
        curve = observed(some, level=0.9)
        ages, share = product_limit(some)
        assert curve.age == pytest.approx(ages)
        assert curve.failed == pytest.approx(share, abs=1e-12)
        library = KaplanMeierFitter(alpha=0.1).fit(
            some.age,
            [outcome == "failed" for outcome in some.outcome],
            entry=some.entered_at,
            weights=some.count.astype(int),
        )
        assert 1 - curve.failed == pytest.approx(
            library.survival_function_.loc[ages].to_numpy()[:, 0]
        )
        band = library.confidence_interval_.loc[ages].to_numpy()
        assert curve.low is not None
        assert curve.high is not None
        inside = slice(0, -1) if curve.failed[-1] == 1 else slice(None)  # at 1 it gives [1, 1]
        assert curve.high[inside] == pytest.approx(1 - band.min(axis=1)[inside])
        assert curve.low[inside] == pytest.approx(1 - band.max(axis=1)[inside])
        assert ((curve.low >= 0) & (curve.low <= curve.failed)).all()
        assert ((curve.high <= 1) & (curve.high >= curve.failed)).all()

    def test_an_entry_at_the_age_of_a_failure_was_not_at_risk(self) -> None:
        some = records([50, 80, 90], ["failed", "running", "running"], entered_at=[0, 50, 0])
        assert observed(some).failed == pytest.approx([0.5])

    def test_counts_are_rows_told_once(self) -> None:
        once = records([40, 60, 80], ["failed", "failed", "running"], count=[2, 1, 3])
        told = records([40, 40, 60, 80, 80, 80], ["failed"] * 3 + ["running"] * 3)
        one, other = observed(once), observed(told)
        assert one.failed == pytest.approx(other.failed)
        assert one.low == pytest.approx(other.low)

    def test_survivors_weighed_by_the_reporting_ratio(self) -> None:
        some = records([40, 60, 80], ["failed", "running", "running"])
        curve = observed(some, 2.5)
        assert curve.failed == pytest.approx([1 / 6])
        assert any("reporting ratio" in note for note in curve.notes)

    def test_band_holds_the_truth_about_as_often_as_it_says(self) -> None:
        rng, hits = np.random.default_rng(5), []
        for _ in range(150):
            curve = observed(seen(rng, 80, 2.5, 100.0, enter=0.4), level=0.9)
            if curve.from_age > 0 or curve.low is None or curve.high is None:
                continue
            at = np.searchsorted(curve.age, 80.0, side="right") - 1
            truth = float(weibull.failure(80.0, 2.5, 100.0))
            hits.append(curve.low[at] <= truth <= curve.high[at])
        assert 0.83 < np.mean(hits) < 0.96  # 0.9, give or take 2.8 standard errors


class TestLateEntry:
    def test_starts_where_watching_starts(self) -> None:
        some = records(
            [50, 80, 90, 95],
            ["failed", "running", "failed", "running"],
            entered_at=[20, 30, 40, 10],
        )
        curve = observed(some)
        assert curve.from_age == 10
        assert "starts there" in curve.notes[0]

    def test_early_collapse_does_not_swallow_the_rest(self) -> None:
        late = seen(np.random.default_rng(1), 40, 3.0, 100.0)
        late = records(late.age + 50, late.outcome, entered_at=50.0)
        some = joined(records([12.0]), late)
        curve = observed(some)
        assert curve.from_age == 50
        assert curve.failed == pytest.approx(observed(late).failed)
        assert "do not hang together" in curve.notes[0]

    def test_a_gap_in_which_nobody_was_watched(self) -> None:
        young = records([10, 12, 15], ["failed", "running", "running"])
        old = records([60, 70, 80, 90], ["failed", "failed", "running", "running"], entered_at=40)
        curve = observed(joined(young, old))
        assert (curve.from_age, curve.to_age) == (40, 90)
        assert curve.failed == pytest.approx([0.25, 0.5])


class TestTurnbull:
    def test_breast_retraction(self) -> None:
        curve = observed(retraction())
        assert curve.method == "Turnbull"
        assert curve.low is None
        assert any("no confidence band" in note for note in curve.notes)
        assert curve.age[:-1].tolist() == list(RETRACTION_JUMPS)
        jumps = np.diff(curve.failed, prepend=0.0)
        assert jumps[:-1] == pytest.approx(list(RETRACTION_JUMPS.values()), abs=6e-5)
        assert jumps[-1] == pytest.approx(0.4656, abs=6e-5)

    def test_agrees_with_the_library(self) -> None:
        rng = np.random.default_rng(7)
        low = rng.uniform(0, 80, 60)
        high = low + rng.uniform(5, 40, 60)
        alive = rng.uniform(30, 120, 30)
        curve = observed(joined(records(high, age_from=low), records(alive, "running")))
        library = KaplanMeierFitter().fit_interval_censoring(
            np.concatenate((low, alive)), np.concatenate((high, np.full(30, np.inf))), tol=1e-10
        )
        # at ages outside the intervals in which it rises both say the same
        for age, share in zip(curve.age, curve.failed, strict=True):
            assert 1 - share == pytest.approx(
                library.survival_function_.loc[age].to_numpy()[1], abs=2e-3
            )

    @pytest.mark.parametrize("enter", [0.0, 0.6])
    def test_of_known_ages_it_is_kaplan_meier(self, enter: float) -> None:
        some = seen(np.random.default_rng(8), 60, 2.0, 100.0, enter=enter)
        # one interval beyond all failures makes it Turnbull's without touching them
        top = some.age.max()
        more = joined(some, records([top + 10], "running"), records([top + 9], age_from=[top + 5]))
        curve = observed(more)
        exact = observed(joined(some, records([top + 10, top + 7], "running")))
        assert curve.method == "Turnbull"
        assert curve.age[:-1] == pytest.approx(exact.age)
        assert curve.failed[:-1] == pytest.approx(exact.failed, abs=1e-5)

    def test_late_entry_reaches_the_greatest_likelihood(self) -> None:
        """Against a general optimiser over masses on every piece between two ages."""
        rng = np.random.default_rng(9)
        low, gap = rng.integers(3, 10, 14), rng.integers(1, 4, 14)
        entry = np.where(rng.uniform(size=14) < 0.6, rng.integers(0, 4, 14), 0).astype(float)
        alive, alive_entry = rng.integers(6, 14, 8), rng.integers(0, 5, 8)
        some = joined(
            records(low + gap, age_from=low, entered_at=np.minimum(entry, low)),
            records(alive, "running", entered_at=alive_entry),
        )
        curve = observed(some)
        first, last = some.age_from, some.age.copy()
        running = np.isnan(first)
        first, last = np.where(running, some.age, first), np.where(running, 99.0, last)
        edges = np.arange(0, 16)  # mass in (k, k + 1], the last for everything later

        def misfit(logits: np.ndarray) -> float:
            mass = np.exp(logits - logits.max())
            mass /= mass.sum()
            inside = (edges >= first[:, None]) & (
                edges + 1 <= np.maximum(last, 99 * running)[:, None]
            )
            seen_at_all = edges >= some.entered_at[:, None]
            return -float(np.sum(np.log(inside @ mass + 1e-300) - np.log(seen_at_all @ mass)))

        best = min(minimize(misfit, rng.normal(size=16), method="BFGS").fun for _ in range(3))
        masses = np.full(16, 1e-300)
        for i, age in enumerate(curve.age):
            masses[int(age) - 1] += curve.failed[i] - (curve.failed[i - 1] if i else 0.0)
        masses[15] += 1 - curve.failed[-1]
        assert misfit(np.log(masses)) == pytest.approx(best, abs=2e-3)

    def test_current_status_only(self) -> None:
        """Each part looked at once: failed before, or still running (Ayer et al. 1955)."""
        ages = [10, 20, 30, 40, 50, 60]
        failed = [False, True, False, False, True, True]
        some = records(
            ages,
            ["failed" if bad else "running" for bad in failed],
            age_from=[0.0 if bad else np.nan for bad in failed],
        )
        curve = observed(some)
        # isotonic regression of 0 1 0 0 1 1: pools to 0, 1/3, 1/3, 1/3, 1, 1
        at = np.searchsorted(curve.age, [20, 50])
        assert curve.failed[at] == pytest.approx([1 / 3, 1.0], abs=1e-6)


HOSTILE: dict[str, LifeRecords] = {
    "no failure": records([10, 20], "running"),
    "one failure alone": records([10]),
    "one failure last": records([10, 20, 30], ["running", "running", "failed"]),
    "all at one age": records([10, 10, 10]),
    "all at one age, one alive": records([10, 10, 10], ["failed", "failed", "running"]),
    "all late": records([50, 60, 70], ["failed", "running", "failed"], entered_at=[40, 45, 48]),
    "all late, no overlap": records([50, 60, 70], entered_at=[45, 55, 65]),
    "current status": records(
        [10, 20, 30], ["failed", "running", "failed"], age_from=[0, np.nan, 0]
    ),
    "one interval": records([20], age_from=[10]),
    "interval from entry": records(
        [20, 30], ["failed", "running"], age_from=[10, np.nan], entered_at=10
    ),
    "other causes only": records([10, 20], cause="other"),
    "unknown causes": records([10, 20, 30], cause="unknown"),
    "looks": records([10, 20, 30, 40], ["removed_worn", "removed_unworn", "failed", "removed"]),
    "failure at age 0": records([0, 20]),
    "tiny ages": records([1e-3, 2e-3, 5e-3]),
    "huge ages and counts": records([1e8, 2e8, 5e8], count=[1e9, 3, 1]),
    "decreasing": records([1, 2, 3, 1000, 1000, 1000], ["failed"] * 3 + ["running"] * 3),
}


class TestHostileRecords:
    @pytest.mark.parametrize("name", HOSTILE)
    def test_a_curve_or_a_reason(self, name: str) -> None:
        some = HOSTILE[name]
        for ratio in (1.0, 3.7):
            curve = observed(some, ratio)
            assert (curve.reason is None) == (len(curve.age) > 0)
            assert ((curve.failed >= 0) & (curve.failed <= 1)).all()
            assert (np.diff(curve.failed) >= -1e-12).all()
            if curve.low is not None and curve.high is not None:
                assert ((curve.low >= 0) & (curve.low <= curve.failed + 1e-12)).all()
                assert ((curve.high <= 1) & (curve.high >= curve.failed - 1e-12)).all()
            plot = probability_plot(curve, 2.0, 30.0)
            assert np.isfinite(plot.y).all()
            assert np.isfinite(plot.line_y).all()
            choice = distribution_choice(some, 15.0, 10.0, ratio)
            assert (choice.reason is None) == (len(choice.fits) > 0)
            for one in choice.fits:
                assert 0 <= one.probability <= 1
                assert one.low is None or one.low <= one.probability <= (one.high or 1)

    def test_reasons_are_sentences(self) -> None:
        assert observed(HOSTILE["no failure"]).reason == (
            "No part on record failed by wear, so there is no observed curve to draw."
        )
        reason = observed(HOSTILE["failure at age 0"]).reason
        assert reason is not None
        assert "age 0" in reason


class TestProbabilityPlot:
    def test_a_weibull_sample_lies_on_a_straight_line(self) -> None:
        ages = weibull.quantile((np.arange(1, 200) - 0.5) / 199, 2.5, 100.0)
        plot = probability_plot(observed(records(ages)), 2.5, 100.0)
        assert plot.y == pytest.approx(2.5 * (plot.x - math.log(100.0)), abs=1e-9)
        assert plot.line_y == pytest.approx(plot.y[[0, -1]], abs=1e-9)

    def test_so_does_one_watched_from_late_on(self) -> None:
        grid = (np.arange(1, 400) - 0.5) / 399
        ages = 60 + weibull.remaining_quantile(grid, 60.0, 2.5, 100.0)
        plot = probability_plot(observed(records(ages, entered_at=60.0)), 2.5, 100.0)
        assert plot.y == pytest.approx(2.5 * (plot.x - math.log(100.0)), abs=1e-9)

    def test_band_on_the_same_scale(self) -> None:
        curve = observed(remission())
        plot = probability_plot(curve, 1.5, 30.0)
        assert plot.low is not None
        assert curve.low is not None
        assert 1 - np.exp(-np.exp(plot.low)) == pytest.approx(curve.low)


class TestFittedCurve:
    def test_of_one_curve_it_is_that_curve(self) -> None:
        one = Curves(np.array([2.0]), np.array([100.0]), np.ones(1))
        ages = np.array([0.0, 50.0, 100.0])
        found = fitted_curve(one, ages)
        assert found.failed == pytest.approx(weibull.failure(ages, 2.0, 100.0))
        assert found.low == pytest.approx(found.high)

    def test_band_against_many_draws(self) -> None:
        some = seen(np.random.default_rng(2), 60, 2.5, 100.0)
        curves = posterior(Likelihood(some), Quantity(1.2, 5.0), None)
        found = fitted_curve(curves, [30.0, 90.0, 150.0], from_age=20.0)
        pick = np.random.default_rng(0).choice(len(curves), 200_000, p=curves.weight)
        for i, age in enumerate(found.age):
            ahead = age - 20.0
            drawn = weibull.conditional_failure(20.0, ahead, curves.shape[pick], curves.scale[pick])
            assert found.failed[i] == pytest.approx(float(drawn.mean()), rel=0.01)
            ends = np.quantile(drawn, [0.05, 0.95])
            assert [found.low[i], found.high[i]] == pytest.approx(ends, rel=0.05)


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


def test_curve_is_a_plain_record() -> None:
    curve = observed(remission())
    assert isinstance(curve, Observed)
    with pytest.raises(AttributeError):
        curve.level = 0.5  # type: ignore[misc]
