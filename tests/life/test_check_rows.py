"""The record checks on what was written down: rows told twice, units, entries, round figures."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from riskmodel.life.check import check
from riskmodel.life.check_units import thousandfold
from riskmodel.life.fit import fit
from tests.life.check_made import of_kind, only, plain_club, rng
from tests.life.made import joined, records
from tests.studies.check_power import FAULTS, club, complete


class TestDuplicates:
    def test_names_both_rows(self) -> None:
        some = plain_club()
        twice = joined(some, records([some.age[7]], some.outcome[7], entered_at=some.entered_at[7]))
        assert only(check(twice), "duplicates").lines == (8, 61)

    def test_says_what_to_do(self) -> None:
        ages = [48_211.0, 48_211.0, 90_450.0, 120_344.0, 61_980.0]
        remark = only(check(records(ages, "running"), "km"), "duplicates")
        assert "the same engine twice" in remark.sentence
        assert "count" in remark.sentence

    def test_counts_are_no_duplicates(self) -> None:
        some = plain_club()
        some.count[:] = 3
        assert not of_kind(check(some), "duplicates")

    def test_equal_rows_on_round_figures_are_chance(self) -> None:
        ages = np.repeat(np.arange(40_000.0, 131_000.0, 5_000.0), 3)
        assert not of_kind(check(records(ages, "running"), "km"), "duplicates")

    def test_a_covariate_tells_rows_apart(self) -> None:
        some = records([48_211.0, 48_211.0, 90_450.0, 120_344.0], "running")
        apart = replace(some, covariates={"use": ("town", "track", "town", "town")})
        assert not of_kind(check(apart, "km"), "duplicates")


class TestUnits:
    def test_thousands(self) -> None:
        some = plain_club()
        some.age[[3, 9]], some.entered_at[[3, 9]] = [84.0, 121.5], 0.0
        found = of_kind(check(some, "km"), "units")
        assert found[0].lines == (4, 10)
        assert "thousand times too small" in found[0].sentence
        assert "84\u00a0km" in found[0].sentence

    def test_thousands_are_not_told_again_as_early_failures(self) -> None:
        some = complete(rng(), 60, 2.5)
        some.age[[3, 9]] = [84.0, 121.5]
        kinds = [remark.kind for remark in check(some, "km")]
        assert kinds.count("units") == 1
        assert "early failures" not in kinds
        assert "influence" not in kinds

    def test_entry_in_thousands(self) -> None:
        some = club(rng(), 60, 2.5, late=1.0)
        some.entered_at[5] = 61.0
        assert only(check(some, "km"), "units").lines == (6,)

    @pytest.mark.parametrize("factor", [1e-3, 1e3])
    def test_which_are_odd(self, factor: float) -> None:
        values = np.linspace(20_000, 180_000, 30)
        values[[2, 20]] *= factor
        assert np.flatnonzero(thousandfold(values)).tolist() == [2, 20]
        assert not thousandfold(np.linspace(20_000, 180_000, 30)).any()

    def test_a_young_machine_is_no_mistake(self) -> None:
        assert not thousandfold(np.append(np.linspace(2_000, 180_000, 30), 300.0)).any()

    def test_converted_figures(self) -> None:
        some = club(rng(), 60, 2.5, late=0.0, between=0.0, steps={100: 1.0})
        some.age[[4, 8, 30]] = [round(x / 1.609344) for x in (90_000, 100_000, 145_000)]
        remark = only(check(some, "km"), "units")
        assert remark.lines == (5, 9, 31)
        assert "turned into miles" in remark.sentence
        assert not of_kind(check(some, "mi"), "units")

    def test_properly_converted_figures_pass(self) -> None:
        some = club(rng(), 60, 2.5, late=0.0, between=0.0, steps={100: 1.0})
        some.age[[4, 8, 30]] = [round(x * 1.609344) for x in (40_000, 60_000, 85_000)]
        assert not of_kind(check(some, "km"), "units")

    def test_two_clusters(self) -> None:
        ages = 180_000 * rng().weibull(14.0, 80)
        ages[:10] /= 1.609344
        remark = only(check(records(ages), "km"), "units")
        assert set(remark.lines) <= set(range(1, 11))
        assert len(remark.lines) >= 8
        assert "used in a different way" in remark.sentence

    def test_lone_age(self) -> None:
        some = plain_club()
        some.age[11] = 9 * some.age.max()
        assert 12 in of_kind(check(some, "km"), "units")[0].lines


class TestEntry:
    def test_failed_soon_after_entry(self) -> None:
        age = np.array([50_000.0, 63_000, 90_000, 110_000, 120_000])
        some = joined(plain_club(), records(age, entered_at=age - 600))
        assert only(check(some, "km"), "entry").lines == (61, 62, 63, 64, 65)

    def test_failed_where_nobody_was_watched(self) -> None:
        some = joined(club(rng(), 60, 2.5, late=1.0), records([8_000.0]))
        remark = only(check(some, "km"), "entry")
        assert remark.lines == (61,)
        assert "8,000" in remark.sentence

    def test_forgotten_beside_failures(self) -> None:
        random = rng(3)
        found = check(FAULTS["entry left out beside failures"].make(random), "km")
        assert only(found, "entry").sentence.startswith("entered_at stands beside 0\u00a0% of")

    def test_never_stated(self) -> None:
        some = club(rng(), 80, 2.5, late=0.0, watch=(80_000.0, 200_000.0))
        remark = only(check(some, "km"), "no entry")
        assert "B10" in remark.sentence
        assert not of_kind(check(replace(some, age=some.age / 100), "km"), "no entry")
        assert not of_kind(check(some), "no entry")  # without a unit nobody knows what is high


class TestHeaping:
    def test_shares_and_what_it_does(self) -> None:
        some = complete(rng(), 200, 2.5)
        ages = np.where(np.arange(200) < 120, np.round(some.age, -4), np.round(some.age) + 0.5)
        some = replace(some, age=np.maximum(ages, 10_000.0))
        remark = only(check(some, "km"), "heaping")
        multiples = int((some.age % 10_000 == 0).sum())
        assert f"{multiples} of these are multiples of 10,000" in remark.sentence
        assert len(remark.lines) == multiples
        intervals = some.age_from.copy()
        upper = some.age.copy()
        heaped = some.age % 10_000 == 0
        intervals[heaped], upper[heaped] = some.age[heaped] - 5_000, some.age[heaped] + 5_000
        after = fit(replace(some, age=upper, age_from=intervals)).b10.estimate
        before = fit(some).b10.estimate
        assert before is not None
        assert after is not None
        assert (abs(math.log(after / before)) < 0.01) == ("less than 1" in remark.sentence)

    def test_hours(self) -> None:
        ages = 50.0 * np.arange(6, 40)
        assert "34 of 34" in only(check(records(ages, "running"), "h"), "heaping").sentence

    def test_a_list_written_to_tens_does_not_gather(self) -> None:
        # every hundredth such age is a multiple of 1,000 by chance
        ages = 10.0 * rng().integers(2_000, 20_000, 5_000)
        assert not of_kind(check(records(ages, "running"), "km"), "heaping")
        heaped = np.where(np.arange(5_000) % 20 == 0, np.round(ages, -4), ages)
        told = only(check(records(heaped, "running"), "km"), "heaping").sentence
        assert "(50 by chance)" in told

    def test_even_ages_do_not_gather(self) -> None:
        ages = np.arange(20_000, 180_000, 333, dtype=float)
        assert not of_kind(check(records(ages, "running"), "km"), "heaping")
