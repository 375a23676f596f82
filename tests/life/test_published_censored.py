"""Interval-censored, current-status and late-entry sets against R, lifelines and print.

The values of R are kept in tests/reference (r_weibull.csv, r_curves.csv), as written by
tests/studies/reference_values.R; lifelines is run here. Sources of the sets beside them.
"""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from lifelines import WeibullFitter

from riskmodel.life.curves import Observed, observed
from riskmodel.life.fit import Fit, fit
from riskmodel.records.life_table import read_records
from riskmodel.records.tables import LifeRecords

REFERENCE = Path(__file__).parent.parent / "reference"

CURRENT_STATUS = ["turbine_wheels"]
BETWEEN = ["part_cracks", "heat_exchanger", "breast_radiation", "breast_chemotherapy"]
LATE = ["channing_men", "channing_women", "psychiatric"]
SETS = CURRENT_STATUS + BETWEEN + LATE


def table_of(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


WEIBULL = {row["set"]: row for row in table_of("r_weibull.csv")}
CURVES = table_of("r_curves.csv")


@cache
def data(name: str) -> LifeRecords:
    return read_records((REFERENCE / f"{name}.csv").read_bytes(), name)


@cache
def fitted(name: str) -> Fit:
    return fit(data(name))


@cache
def curve(name: str) -> Observed:
    return observed(data(name), level=0.9)


def test_the_tables_speak_of_these_sets() -> None:
    assert list(WEIBULL) == SETS
    assert list(dict.fromkeys(row["set"] for row in CURVES)) == SETS
    for name, row in WEIBULL.items():
        assert fitted(name).n == float(row["parts"])
        assert fitted(name).failures == float(row["failures"])


TURNBULL = 2e-8
"""Turnbull's iteration closes in slowly where each part was inspected once."""


def tolerance(name: str) -> float:
    """Late entry: R's simplex search settles to about 5e-8. The rest: ten printed digits."""
    return 2e-7 if name in LATE else 2e-9


@pytest.mark.parametrize("name", SETS)
def test_weibull_against_r(name: str) -> None:
    """survreg of R's survival package, or for late entry R's own pweibull maximised."""
    row, found = WEIBULL[name], fitted(name)
    assert found.loglik == pytest.approx(float(row["loglik"]), rel=1e-9)
    for which in ("shape", "scale", "b10"):
        estimate = getattr(found, which).estimate
        assert estimate == pytest.approx(float(row[which]), rel=tolerance(name))


@pytest.mark.parametrize("name", SETS)
def test_likelihood_ratio_intervals_against_r(name: str) -> None:
    """Shape: survreg's own profile; scale, B10 and the chance ahead: R's pweibull, profiled.

    R's ends are roots to 1e-11 of a profile searched to about 1e-9.
    """
    row, found = WEIBULL[name], fitted(name)
    for which in ("shape", "scale", "b10"):
        for end in ("low", "high"):
            ours = getattr(getattr(found, which), end)
            assert ours == pytest.approx(float(row[f"{which}_{end}"]), rel=5e-9), (which, end)
    ahead = found.conditional(float(row["at"]), float(row["ahead"]))
    assert ahead.probability == pytest.approx(float(row["chance"]), rel=5 * tolerance(name))
    assert ahead.low == pytest.approx(float(row["chance_low"]), rel=5e-9)
    assert ahead.high == pytest.approx(float(row["chance_high"]), rel=5e-9)


@pytest.mark.parametrize("name", SETS)
def test_weibull_against_lifelines(name: str) -> None:
    """In units of the greatest age, in which lifelines converges without a warning."""
    table = pd.read_csv(REFERENCE / f"{name}.csv")
    failed = (table["outcome"] == "failed").to_numpy()
    unit = float(table["age"].max())
    age, entry = table["age"].to_numpy() / unit, table["entered_at"].to_numpy() / unit
    weights = table["count"].to_numpy()
    if name in LATE:
        theirs = WeibullFitter().fit(age, failed, entry=entry, weights=weights)
    else:
        since = table["age_from"].fillna(table["age"]).to_numpy() / unit
        theirs = WeibullFitter().fit_interval_censoring(
            since, np.where(failed, age, np.inf), weights=weights
        )
    found = fitted(name)
    # lifelines stops at a gradient tolerance of its own
    assert found.shape.estimate == pytest.approx(theirs.rho_, rel=5e-5)
    assert found.scale.estimate == pytest.approx(theirs.lambda_ * unit, rel=5e-5)
    exact = float(weights[failed & table["age_from"].isna().to_numpy()].sum())
    assert found.loglik == pytest.approx(theirs.log_likelihood_ - exact * np.log(unit), rel=1e-8)


@pytest.mark.parametrize("name", SETS)
def test_observed_curve_against_r(name: str) -> None:
    """npsurv's maximum (current status, between ages) or survfit's product-limit (late)."""
    rows, found = [row for row in CURVES if row["set"] == name], curve(name)
    assert found.reason is None
    assert found.method == ("Kaplan-Meier" if name in LATE else "Turnbull")
    assert found.age.tolist() == [float(row["age"]) for row in rows]
    assert found.since.tolist() == [float(row["since"]) for row in rows]
    near = 1e-9 if name in LATE else TURNBULL
    assert found.failed == pytest.approx([float(row["failed"]) for row in rows], abs=near)
    if name not in LATE:
        assert found.low is None
        return
    assert found.low is not None
    assert found.high is not None
    for i, row in enumerate(rows):
        if row["low"]:  # R gives no band where all have failed
            assert found.low[i] == pytest.approx(float(row["low"]), abs=1e-9)
            assert found.high[i] == pytest.approx(float(row["high"]), abs=1e-9)


def test_men_of_channing_house_start_anew() -> None:
    """Both of the first two men watched died before the next was 782 months old.

    Klein & Moeschberger, Survival Analysis, example 4.3, therefore speak of men who reached
    a greater age (from memory: 68 years); so does the curve here.
    """
    assert curve("channing_men").from_age == 782
    assert any("do not hang together" in note for note in curve("channing_men").notes)


def test_printed_figures() -> None:
    """Figures from memory, each printed to so many digits; the data bear them out."""
    # Nelson 1982, Applied Life Data Analysis, chapter 9: shape 1.49, scale 71.7 months
    cracks = fitted("part_cracks")
    assert cracks.shape.estimate == pytest.approx(1.49, abs=0.0055)
    assert (cracks.scale.estimate or 0) / 30.44 == pytest.approx(71.7, abs=0.055)
    # Meeker & Escobar 1998, chapter 3, heat-exchanger tubes
    assert curve("heat_exchanger").failed == pytest.approx([0.0133, 0.0384, 0.0582], abs=5e-5)
    # Klein & Moeschberger, section 5.2, radiotherapy alone: rises by these ages
    rises = np.diff(curve("breast_radiation").failed, prepend=0)
    printed = [0.0463, 0.0334, 0.0887, 0.0708, 0.0926, 0.0818, 0.1209, 0.4656]
    assert rises == pytest.approx(printed, abs=1.01e-4)
    assert curve("breast_radiation").age.tolist() == [5, 7, 8, 12, 25, 34, 40, 48]


def test_current_status_is_isotonic_regression() -> None:
    """The closed form: shares found cracked, pooled where they would fall.

    Ayer, Brunk, Ewing, Reid & Silverman 1955, Annals of Mathematical Statistics 26, 641-647.
    """
    table = pd.read_csv(REFERENCE / "turbine_wheels.csv")
    counts = table.pivot_table(
        values="count", index="age", columns="outcome", aggfunc="sum", fill_value=0
    )
    blocks: list[list[float]] = []  # failed, inspected, number of ages pooled
    for failed, running in counts[["failed", "running"]].to_numpy(dtype=float):
        blocks.append([failed, failed + running, 1])
        while len(blocks) > 1 and blocks[-2][0] / blocks[-2][1] >= blocks[-1][0] / blocks[-1][1]:
            last = blocks.pop()
            blocks[-1] = [a + b for a, b in zip(blocks[-1], last, strict=True)]
    pooled = [block[0] / block[1] for block in blocks for _ in range(int(block[2]))]
    found = curve("turbine_wheels")
    at = np.searchsorted(found.age, counts.index.to_numpy(dtype=float), side="right")
    assert np.concatenate(([0.0], found.failed))[at] == pytest.approx(pooled, abs=TURNBULL)
