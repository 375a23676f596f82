"""Effects of covariates: against published fits and another library."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from riskmodel.life.covariates import fit_covariates
from riskmodel.records.tables import LifeRecords
from tests.life.covariates_made import given_by, term
from tests.life.made import observed, records

# --- published fits ------------------------------------------------------------------------

# Life of glass capacitors [h] at four voltages and two temperatures; of 8 on each test, 4 were
# watched until they failed and the other 4 taken off at the 4th failure. Zelen 1959, in Meeker &
# Escobar, Statistical Methods for Reliability Data (1998), table 17.2; open as `capacitor` in the
# R package survival.
CAPACITORS = {
    (170.0, 200.0): (439, 904, 1092, 1105),
    (170.0, 250.0): (572, 690, 904, 1090),
    (170.0, 300.0): (315, 315, 439, 628),
    (170.0, 350.0): (258, 258, 347, 588),
    (180.0, 200.0): (959, 1065, 1065, 1087),
    (180.0, 250.0): (216, 315, 455, 473),
    (180.0, 300.0): (241, 315, 332, 380),
    (180.0, 350.0): (241, 241, 435, 455),
}


def capacitors() -> LifeRecords:
    ages = [age for lives in CAPACITORS.values() for age in (*lives, lives[-1])]
    tests = [test for test in CAPACITORS for _ in range(5)]
    return given_by(
        records(ages, (["failed"] * 4 + ["running"]) * 8, count=[1.0, 1.0, 1.0, 1.0, 4.0] * 8),
        temperature=[temperature for temperature, _ in tests],
        voltage=[voltage for _, voltage in tests],
    )


def test_glass_capacitors() -> None:
    """Against Meeker & Escobar, example 17.9 (from memory): loglik -244.24, sigma 0.3638,
    intercept 13.4070, -0.0289 per degree and -0.00591 per volt."""
    fitted = fit_covariates(capacitors())
    assert fitted.loglik == pytest.approx(-244.24, abs=0.005)
    assert fitted.shape.estimate is not None
    assert 1 / fitted.shape.estimate == pytest.approx(0.3638, abs=5e-5)
    per_degree = term(fitted, "temperature").over(1.0).estimate
    per_volt = term(fitted, "voltage").over(1.0).estimate
    assert per_degree is not None
    assert per_volt is not None
    assert math.log(per_degree) == pytest.approx(-0.0289, abs=5e-5)
    assert math.log(per_volt) == pytest.approx(-0.00591, abs=5e-6)
    assert fitted.scale.estimate is not None
    # the tests average 175 degrees and 275 volts
    intercept = (
        math.log(fitted.scale.estimate) - 175 * math.log(per_degree) - 275 * math.log(per_volt)
    )
    assert intercept == pytest.approx(13.4070, abs=5e-5)


# Weeks lived after diagnosis of leukaemia, by white blood count and a test of the cells. Feigl &
# Zelen 1965, Biometrics 21, 826-838; open as `leuk` in the R package MASS.
PRESENT = (
    (2300, 65), (750, 156), (4300, 100), (2600, 134), (6000, 16), (10500, 108), (10000, 121),
    (17000, 4), (5400, 39), (7000, 143), (9400, 56), (32000, 26), (35000, 22), (100000, 1),
    (100000, 1), (52000, 5), (100000, 65),
)  # fmt: skip
ABSENT = (
    (4400, 56), (3000, 65), (4000, 17), (1500, 7), (9000, 16), (5300, 22), (10000, 3), (19000, 4),
    (27000, 2), (28000, 3), (31000, 8), (26000, 4), (21000, 3), (79000, 30), (100000, 4),
    (100000, 43),
)  # fmt: skip


def test_leukaemia() -> None:
    """Against Venables & Ripley, Modern Applied Statistics with S, section 13.2 (from memory):
    factor exp(1.0206) if present, exponent -0.3103 of the count, Weibull scale 1.04, loglik
    -146.5, and -153.6 without covariates."""
    people = (*PRESENT, *ABSENT)
    fitted = fit_covariates(
        given_by(
            records([float(weeks) for _, weeks in people]),
            test=["present"] * len(PRESENT) + ["absent"] * len(ABSENT),
            log_count=[math.log(count) for count, _ in people],
        )
    )
    present = term(fitted, "test", "absent").factor.estimate
    exponent = term(fitted, "log_count").over(1.0).estimate
    assert present is not None
    assert exponent is not None
    assert -math.log(present) == pytest.approx(1.0206, abs=1e-4)
    assert math.log(exponent) == pytest.approx(-0.3103, abs=1e-4)
    assert fitted.shape.estimate is not None
    assert 1 / fitted.shape.estimate == pytest.approx(1.04, abs=0.005)
    assert fitted.loglik == pytest.approx(-146.5, abs=0.05)
    assert fitted.loglik_without == pytest.approx(-153.6, abs=0.05)


# --- another library -----------------------------------------------------------------------


def test_against_lifelines_with_entry_and_weights() -> None:
    """lifelines stops when its own scaled gradient is small: parameters then agree to 1e-4."""
    pd = pytest.importorskip("pandas")
    lifelines = pytest.importorskip("lifelines")
    rng = np.random.default_rng(8)
    n = 120
    plain = observed(rng, n, 2.2, 1500.0, censor=0.8, enter=0.4)
    count = rng.integers(1, 4, n).astype(float)
    use = rng.choice(["soft", "hard", "rough"], n, p=[0.5, 0.3, 0.2])
    factor = {"soft": 1.0, "hard": 0.7, "rough": 1.4}
    interval = rng.uniform(5.0, 20.0, n)
    stretch = np.array([factor[u] for u in use]) * np.exp(-0.03 * (interval - 10.0))
    ours = given_by(
        replace(plain, age=plain.age * stretch, entered_at=plain.entered_at * stretch, count=count),
        use=use.tolist(),
        interval=interval.tolist(),
    )
    fitted = fit_covariates(ours)
    frame = pd.DataFrame(
        {
            "age": ours.age,
            "failed": [outcome == "failed" for outcome in ours.outcome],
            "entry": ours.entered_at,
            "count": count,
            "hard": (use == "hard").astype(float),
            "rough": (use == "rough").astype(float),
            "interval": interval,
        }
    )
    theirs = lifelines.WeibullAFTFitter().fit(
        frame,
        "age",
        "failed",
        entry_col="entry",
        weights_col="count",
        fit_options={"ftol": 1e-14},
    )
    base = "soft"
    assert term(fitted, "use", "hard").base == base
    scale, shape = theirs.params_["lambda_"], theirs.params_["rho_"]["Intercept"]
    for level in ("hard", "rough"):
        estimate = term(fitted, "use", level).factor.estimate
        assert estimate is not None
        assert math.log(estimate) == pytest.approx(scale[level], abs=1e-4)
    per_unit = term(fitted, "interval").over(1.0).estimate
    assert per_unit is not None
    assert math.log(per_unit) == pytest.approx(scale["interval"], abs=1e-4)
    assert fitted.shape.estimate == pytest.approx(math.exp(shape), rel=1e-4)
    at_mean = scale["Intercept"] + scale["interval"] * np.average(interval, weights=count)
    assert fitted.scale.estimate == pytest.approx(math.exp(at_mean), rel=1e-4)
    assert fitted.loglik == pytest.approx(theirs.log_likelihood_, abs=1e-4)


def test_against_lifelines_with_intervals() -> None:
    """The same tolerance, for the same reason; here failures lie between two ages."""
    pd = pytest.importorskip("pandas")
    lifelines = pytest.importorskip("lifelines")
    rng = np.random.default_rng(9)
    n = 100
    plain = observed(rng, n, 2.2, 1500.0, censor=0.8, between=1.0)
    hard = rng.uniform(size=n) < 0.4
    ours = given_by(plain, use=np.where(hard, "hard", "soft").tolist())
    fitted = fit_covariates(ours)
    failed = np.array([outcome == "failed" for outcome in ours.outcome])
    frame = pd.DataFrame(
        {
            "lower": np.where(failed, ours.age_from, ours.age),
            "upper": np.where(failed, ours.age, np.inf),
            "hard": hard.astype(float),
        }
    )
    theirs = lifelines.WeibullAFTFitter().fit_interval_censoring(
        frame, "lower", "upper", fit_options={"ftol": 1e-14}
    )
    estimate = term(fitted, "use", "hard").factor.estimate
    assert estimate is not None
    assert math.log(estimate) == pytest.approx(theirs.params_["lambda_"]["hard"], abs=1e-4)
    assert fitted.loglik == pytest.approx(theirs.log_likelihood_, abs=1e-4)
