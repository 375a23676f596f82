"""The record checks: silent on records without a fault, plain about one put in."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.life.check import Remark, check
from riskmodel.life.check_early import early_kind
from riskmodel.life.check_fits import Fits
from riskmodel.life.check_influence import b10_shifts, row_logs
from riskmodel.life.check_mixture import weibull_part
from riskmodel.life.check_remark import MOST_NAMED
from riskmodel.life.check_units import thousandfold
from riskmodel.life.fit import fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.rows import rows_of
from riskmodel.records.life_table import read_records
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.made import joined, observed, records, reference
from tests.life.test_curves import HOSTILE
from tests.studies.check_power import CLEAN, FAULTS, club, complete, spoken

LEAD = Quantity(12_000.0, 60_000.0)


def rng(seed: int = 1) -> np.random.Generator:
    return np.random.default_rng(seed)


def of_kind(found: Iterable[Remark], kind: str) -> list[Remark]:
    return [remark for remark in found if remark.kind == kind]


def only(found: Iterable[Remark], kind: str) -> Remark:
    (remark,) = of_kind(found, kind)
    return remark


def plain_club(n: int = 60, seed: int = 1) -> LifeRecords:
    return club(rng(seed), n, 2.5)


class TestFalseAlarms:
    """The study in tests/studies/check_power.py measures them; here is a small part of it."""

    @pytest.mark.parametrize("name", ["club of 40, shape 2.5", "club of 150, shape 2.5"])
    def test_silent_on_true_reports(self, name: str) -> None:
        # each check speaks in at most about one of a hundred such lists
        told = spoken(CLEAN[name], 30, seed=21)
        assert sum(told.values()) <= 3, told

    def test_rounding_alone_is_told_as_rounding(self) -> None:
        told = spoken(CLEAN["club of 150, rounded ages"], 15, seed=22)
        assert told.pop("heaping") == 15
        assert sum(told.values()) <= 2, told

    @pytest.mark.parametrize("name", ["nist_weibull", "ball_bearings", "shock_absorber"])
    def test_published_data(self, name: str) -> None:
        kinds = {remark.kind for remark in check(reference(name))}
        # these say so of themselves: all but one failed, or the ages are rounded
        assert kinds <= {"no survivors", "heaping"}

    def test_another_worth_of_records_changes_nothing(self) -> None:
        some = plain_club()
        before = replace(some, age=some.age.copy(), count=some.count.copy())
        check(some, "km", at=100_000, ahead=10_000)
        assert some == before


class TestPower:
    @pytest.mark.parametrize(
        ("name", "least"),
        [
            ("1 of 150 told twice, exact ages", 0.9),
            ("5 of 150 in thousands", 0.8),
            ("a digit too many", 0.8),
            ("3 turned to miles", 0.8),
            ("8 came failing", 0.8),
            ("all late, one failed at 9,000", 0.8),
            ("2 early, mean 2,000", 0.8),
            ("count of 200 in one of 60 rows", 0.7),
        ],
    )
    def test_a_fault_put_in_is_told(self, name: str, least: float) -> None:
        fault, random = FAULTS[name], rng(31)
        seen = [
            any(remark.kind in fault.kinds for remark in check(fault.make(random), "km"))
            for _ in range(10)
        ]
        assert np.mean(seen) >= least


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


class TestTheListAsAWhole:
    def some(self) -> LifeRecords:
        return club(rng(), 60, 2.5, late=0.0)

    def test_suspicion(self) -> None:
        plain = self.some()
        rows = joined(
            plain,
            records(
                [70_000, 90_000, 60_000],
                ["removed", "removed_worn", "removed_unworn"],
                why="suspected",
            ),
        )
        remark = only(check(rows, "km"), "suspicion")
        assert remark.lines == (61, 62, 63)
        failed = replace(rows, outcome=(*plain.outcome, "failed", "failed", "removed"))
        b10 = fit(failed).b10.estimate
        assert b10 is not None
        assert figures(remark.sentence)[-1] == pytest.approx(b10, rel=0.005)

    def test_unknown_cause_both_ways(self) -> None:
        plain = self.some()
        where = [i for i, outcome in enumerate(plain.outcome) if outcome == "failed"][:4]
        some = replace(plain, cause=tuple("unknown" if i in where else "wear" for i in range(60)))
        remark = only(check(some, "km"), "unknown cause")
        assert remark.lines == tuple(i + 1 for i in where)
        ways = [fit(some, unknown_as=way).b10.estimate for way in ("wear", "other")]
        assert figures(remark.sentence)[-2:] == pytest.approx(ways, rel=0.005)

    def test_other_cause(self) -> None:
        some = joined(self.some(), records([30_000.0], cause="other"))
        remark = only(check(some, "km"), "other cause")
        assert remark.lines == (61,)
        lived = float(np.fmax(some.age_from, some.age).sum())
        assert figures(remark.sentence)[-4] == pytest.approx(lived, rel=0.01)

    def test_failures_alone(self) -> None:
        remark = only(check(complete(rng(), 30, 2.5), "km"), "no survivors")
        assert "Every part" in remark.sentence

    def test_hardly_a_survivor(self) -> None:
        some = joined(complete(rng(), 30, 2.5), records([99_000.0], "running"))
        sentence = only(check(some, "km"), "no survivors").sentence
        # 30 of 31 at a ratio of 10: 30 / (30 + 10) = 75 %
        assert "75\u00a0%" in sentence
        assert not of_kind(check(some, "km", reporting_ratio=5), "no survivors")

    def test_levels_with_few_failures(self) -> None:
        plain = self.some()
        words = tuple("track" if i < 5 else "town" for i in range(60))
        bad = sum(plain.outcome[i] == "failed" for i in range(5))
        some = replace(plain, covariates={"use": words, "litres": (2.0,) * 60})
        remark = only(check(some, "km"), "covariate")
        assert remark.lines == (1, 2, 3, 4, 5)
        assert f"track {bad}" in remark.sentence

    def test_reach(self) -> None:
        some = self.some()
        far = float(np.sort(some.age)[-3])
        remark = only(check(some, "km", at=far - 100, ahead=50), "extrapolation")
        assert "only 3 parts" in remark.sentence.lower()
        assert not of_kind(check(some, "km", at=30_000, ahead=1_000), "extrapolation")
        assert "No part" in only(check(some, "km", at=1e7), "extrapolation").sentence


class TestRemarks:
    def everything(self) -> list[Remark]:
        found: list[Remark] = []
        for fault in FAULTS.values():
            found += check(fault.make(rng(5)), "km", at=250_000, ahead=20_000)
        for name in ("road-car", "work-boat"):
            path = Path(__file__).parents[2] / "data" / name / "records.csv"
            some = read_records(path.read_bytes())
            found += check(some, "km" if name == "road-car" else "h", at=150_000, visible_lead=LEAD)
        return found

    def test_plain_sentences(self) -> None:
        for remark in self.everything():
            text = remark.sentence
            assert (
                text[0].isupper()
                or text[0].isdigit()
                or text.startswith(("entered_at", "use:", "oil_interval:"))
            )
            assert text.endswith(".")
            assert "nan" not in text.lower().split()
            assert not re.search(r"\b(safe|sound|healthy|fine|ok)\b", text, re.IGNORECASE)
            assert len(text) < 600

    def test_lines_are_lines_of_the_file(self) -> None:
        some = plain_club()
        twice = joined(some, records([some.age[7]], some.outcome[7], entered_at=some.entered_at[7]))
        numbered = replace(twice, lines=tuple(range(2, 63)))
        remark = only(check(numbered), "duplicates")
        assert remark.lines == (9, 62)
        assert remark.sentence.startswith("Lines 9 and 62")

    def test_long_lists_are_cut(self) -> None:
        some = joined(plain_club(), records(np.linspace(40_000, 90_000, 20), cause="other"))
        remark = only(check(some), "other cause")
        assert len(remark.lines) == 20
        assert f"{20 - MOST_NAMED} more" in remark.sentence


class TestHostileRecords:
    @pytest.mark.parametrize("name", HOSTILE)
    def test_no_traceback(self, name: str) -> None:
        for unit in (None, "km", "h"):
            for lead in (None, Quantity(5.0, 20.0)):
                check(HOSTILE[name], unit, at=25.0, ahead=10.0, visible_lead=lead)

    def test_no_record_at_all(self) -> None:
        assert check(empty()) == ()

    @settings(
        max_examples=15,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow],
        derandomize=True,
    )
    @given(st.data())
    def test_whatever_the_reader_accepts(self, data: st.DataObject) -> None:
        rows = ["age,outcome,age_from,entered_at,count,cause,why,use"]
        for _ in range(data.draw(st.integers(1, 12))):
            age = data.draw(st.sampled_from([1, 7, 80, 1000, 50_000, 100_000, 123_457, 900_000]))
            outcome = data.draw(
                st.sampled_from(["failed", "running", "removed", "removed_worn", "removed_unworn"])
            )
            since = data.draw(st.sampled_from(["", age / 2])) if outcome == "failed" else ""
            entry = data.draw(st.sampled_from(["", age / 4]))
            count = data.draw(st.sampled_from(["", 2, 10**9]))
            cause = (
                data.draw(st.sampled_from(["", "other", "unknown"])) if outcome == "failed" else ""
            )
            why = "suspected" if outcome.startswith("removed") and data.draw(st.booleans()) else ""
            use = data.draw(st.sampled_from(["town", "track"]))
            rows.append(f"{age},{outcome},{since},{entry},{count},{cause},{why},{use}")
        some = read_records("\n".join(rows).encode())
        for remark in check(some, "km", at=60_000.0, ahead=5_000.0, visible_lead=LEAD):
            assert set(remark.lines) <= set(some.lines)


def figures(text: str) -> list[float]:
    """The numbers in a sentence."""
    return [float(found.replace(",", "")) for found in re.findall(r"\d[\d,]*(?:\.\d+)?", text)]


def empty() -> LifeRecords:
    none = np.zeros(0)
    return LifeRecords(none, (), none, none, none, (), ())


def rows_like(some: LifeRecords, keep: np.ndarray) -> LifeRecords:
    where = np.flatnonzero(keep)
    return records(
        some.age[where],
        [some.outcome[i] for i in where],
        age_from=some.age_from[where],
        entered_at=some.entered_at[where],
        count=some.count[where],
    )
