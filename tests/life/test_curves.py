"""Observed curves of known ages, late entry among them, and Weibull paper, against references."""

from __future__ import annotations

import math

import numpy as np
import pytest
from lifelines import KaplanMeierFitter

from riskmodel.life import weibull
from riskmodel.life.curves import (
    Observed,
    distribution_choice,
    fitted_curve,
    observed,
    probability_plot,
)
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import Curves, posterior
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.made import HOSTILE, joined, records
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


def remission() -> LifeRecords:
    return joined(*(records(ages, outcome) for outcome, ages in REMISSION.items()))


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


def test_curve_is_a_plain_record() -> None:
    curve = observed(remission())
    assert isinstance(curve, Observed)
    with pytest.raises(AttributeError):
        curve.level = 0.5  # type: ignore[misc]
