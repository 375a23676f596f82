"""Turnbull's curve, of failures known to lie between two ages, against published and plain ones."""

from __future__ import annotations

import numpy as np
import pytest
from lifelines import KaplanMeierFitter
from scipy.optimize import minimize

from riskmodel.life.curves import observed
from riskmodel.records.tables import LifeRecords
from tests.life.made import joined, records
from tests.life.made import observed as seen

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


def retraction() -> LifeRecords:
    since, age = zip(*RETRACTED, strict=True)
    return joined(records(age, age_from=since), records(NOT_RETRACTED, "running"))


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
