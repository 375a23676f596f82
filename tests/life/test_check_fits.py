"""The record checks that fit: rows that move B10, and a few that failed early."""

from __future__ import annotations

import math

import numpy as np
import pytest

from riskmodel.life.check import check
from riskmodel.life.check_early import early_kind
from riskmodel.life.check_fits import Fits
from riskmodel.life.check_influence import b10_shifts, row_logs
from riskmodel.life.check_mixture import weibull_part
from riskmodel.life.fit import fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.rows import rows_of
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.check_made import of_kind, only, plain_club, rng
from tests.life.made import joined, observed, records
from tests.studies.check_power import club, complete


class TestInfluence:
    def test_row_logs_add_up_to_the_likelihood(self) -> None:
        some = joined(
            observed(rng(), 60, 2.0, 100.0, enter=0.5, between=0.3),
            records([50.0, 80, 90], ["removed_worn", "removed_unworn", "removed"], count=[2, 1, 3]),
        )
        lead = Quantity(8.0, 40.0)
        likelihood = Likelihood(some, 0.1, lead)
        shape, scale = np.array([0.8, 2.0, 5.0]), np.array([60.0, 100.0, 150.0])
        rows = likelihood.rows
        logs = row_logs(rows, shape, scale, 0.1, lead)
        assert logs @ rows.weight == pytest.approx(likelihood.log(shape, scale), rel=1e-6)

    def test_one_step_agrees_with_leaving_out(self) -> None:
        fits = Fits(club(rng(), 200, 2.5))
        shifts = b10_shifts(fits)
        assert fits.b10 is not None
        for row in np.argsort(-np.abs(shifts))[:5]:
            without = fits.b10_without(int(row))
            assert without is not None
            assert shifts[row] == pytest.approx(math.log(without / fits.b10), abs=0.01)

    def test_leaving_out_agrees_with_a_fresh_fit(self) -> None:
        some = plain_club(80)
        fits = Fits(some)
        keep = np.arange(80) != 17
        left = fit(rows_like(some, keep))
        assert fits.b10_without(17) == pytest.approx(left.b10.estimate, rel=1e-6)
        assert fits.b10 == pytest.approx(fit(some).b10.estimate, rel=1e-9)

    def test_standard_error_of_b10(self) -> None:
        some = complete(rng(), 2000, 2.0)
        fits, b10 = Fits(some), fit(some).b10
        assert b10.low is not None
        assert b10.high is not None
        width = math.log(b10.high / b10.low) / (2 * 1.96)
        assert fits.log_b10_error == pytest.approx(width, rel=0.02)

    def test_a_count_that_slipped(self) -> None:
        some = plain_club(60)
        row = some.outcome.index("running")
        some.count[row] = 300
        remark = only(check(some, "km"), "influence")
        assert remark.lines == (row + 1,)
        assert "rather than" in remark.sentence


class TestEarly:
    def test_names_the_early_ones(self) -> None:
        some = joined(club(rng(), 150, 2.8), records([700.0, 2_100.0, 2_900.0]))
        remark = only(check(some, "km"), "early failures")
        assert set(remark.lines) == {151, 152, 153}
        assert "fitting fault" in remark.sentence
        assert not of_kind(check(some, "km"), "influence")

    def test_mixture_parts_agree_with_the_likelihood(self) -> None:
        rows = rows_of(observed(rng(), 80, 2.0, 100.0, enter=0.5, between=0.3))
        part = weibull_part(rows, 1.7, 90.0)
        whole = Likelihood(rows).log(1.7, 90.0)
        assert (part.row - part.entered) @ rows.weight == pytest.approx(float(whole), rel=1e-10)
        step = 1e-6
        for axis, (shape, scale) in enumerate(((1.7 * (1 + step), 90.0), (1.7, 90 * (1 + step)))):
            moved = weibull_part(rows, shape, scale)
            assert part.row_slope[axis] == pytest.approx((moved.row - part.row) / step, abs=1e-3)
            assert part.entered_slope[axis] == pytest.approx(
                (moved.entered - part.entered) / step, abs=1e-3
            )

    def test_the_share_is_found(self) -> None:
        random = rng(4)
        life = 180_000 * random.weibull(3.0, 400)
        life[:40] = random.exponential(2_500, 40)
        found = early_kind(rows_of(records(life)))
        assert found is not None
        assert found.mixture.share == pytest.approx(0.1, abs=0.04)
        assert found.mixture.shape == pytest.approx(3.0, rel=0.15)
        assert found.mixture.scale == pytest.approx(180_000, rel=0.05)
        early = found.mixture.belongs > 0.5
        assert early[:40].mean() > 0.9
        assert not early[40:].mean() > 0.02


def rows_like(some: LifeRecords, keep: np.ndarray) -> LifeRecords:
    where = np.flatnonzero(keep)
    return records(
        some.age[where],
        [some.outcome[i] for i in where],
        age_from=some.age_from[where],
        entered_at=some.entered_at[where],
        count=some.count[where],
    )
