"""The record checks on the list as a whole: causes, removals, survivors, levels and reach."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from riskmodel.life.check import check
from riskmodel.life.fit import fit
from riskmodel.records.tables import LifeRecords
from tests.life.check_made import of_kind, only, rng
from tests.life.made import joined, records
from tests.studies.check_power import club, complete


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
        assert figures(remark.sentence)[-3] == pytest.approx(lived, rel=0.01)

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


def figures(text: str) -> list[float]:
    """The numbers in a sentence."""
    return [float(found.replace(",", "")) for found in re.findall(r"\d[\d,]*(?:\.\d+)?", text)]
