"""Outside checks of what life records say."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy import stats

from riskmodel.life.covariates import CovariateFit, fit_covariates
from riskmodel.life.curves import distribution_choice, observed
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.weibayes import weibayes
from riskmodel.risk.said_and_seen import poisson_interval
from tests.life import made
from tests.life import test_covariates_published as covariates
from tests.life import test_curves as curves
from tests.life import test_few_failures as few
from tests.life import test_published as printed
from tests.life import test_published_censored as censored
from tests.life import test_turnbull as turnbull
from tests.life.covariates_made import given_by, term
from tests.proof.checks_kind import MEMORY, PROGRAM, READ, WORKED, Check
from tests.risk import test_said_and_seen as said

NIST = "NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3"
SETS = {
    "nist_weibull": ("20 units", NIST, READ),
    "ball_bearings": (
        "23 ball bearings",
        "Lawless, Statistical Models and Methods for Lifetime Data (lives: Lieblein & Zelen 1956)",
        MEMORY,
    ),
    "shock_absorber": (
        "38 shock absorbers", "O'Connor 1985, Practical Reliability Engineering, p. 85", MEMORY,
    ),
    "bearing_cage": (
        "1,703 bearing cages", "Abernethy et al. 1983, AFWAL-TR-83-2079", MEMORY,
    ),
    "locomotive_controls": (
        "96 locomotive controls", "Nelson 1982, Applied Life Data Analysis", MEMORY,
    ),
}  # fmt: skip
DEKKING = "Dekking et al., A Modern Introduction to Probability and Statistics"
PUBLISHED = "life/test_published.py"
CENSORED = "life/test_published_censored.py"
CURVES = "life/test_curves.py"
TURNBULL = "life/test_turnbull.py"
AFT = "life/test_covariates_published.py"


def checks() -> list[Check]:
    """All of them."""
    return [*_weibull(), *_curves(), *_between_ages(), *_by_r(), *_covariates(), *_few()]


def _estimate(name: str, which: str) -> Callable[[], float]:
    return lambda: float(getattr(printed.fitted(name), which).estimate)


def _weibull() -> list[Check]:
    found = []
    for name, (shape, scale, shape_digit, scale_digit) in printed.PRINTED.items():
        parts, source, standing = SETS[name]
        why = "the last digit printed"
        if name == "nist_weibull":
            why = "the last digit printed is an optimiser's"
        of_shape = (DEKKING, READ) if name == "ball_bearings" else (source, standing)
        found += [
            Check(f"Weibull shape of {parts}", *of_shape, shape, _estimate(name, "shape"),
                  PUBLISHED, shape_digit, "the last digit printed"),
            Check(f"Weibull scale of {parts}", source, standing, scale, _estimate(name, "scale"),
                  PUBLISHED, scale_digit, why),
        ]  # fmt: skip
    for name, shape, scale, loglik in printed.EXACT:
        found.append(
            Check(
                f"maximum of the likelihood of {SETS[name][0]}, shape and scale",
                "arbitrary-precision arithmetic", WORKED, (shape, scale),
                lambda name=name: (_estimate(name, "shape")(), _estimate(name, "scale")()),
                PUBLISHED,
            )
        )  # fmt: skip
        if loglik is not None:
            found.append(
                Check(
                    f"log-likelihood of {SETS[name][0]}", "arbitrary-precision arithmetic", WORKED,
                    loglik, lambda name=name: printed.fitted(name).loglik, PUBLISHED,
                )
            )  # fmt: skip
    found += [
        Check("log-likelihood of 20 units", NIST, READ, -75.135,
              lambda: printed.fitted("nist_weibull").loglik, PUBLISHED),
        Check("AIC of 20 units: Weibull, lognormal", NIST, READ, (154.27, 154.39),
              lambda: (_choice("nist_weibull", 300, 100)["Weibull"].aic,
                       _choice("nist_weibull", 300, 100)["lognormal"].aic),
              "life/test_precision.py"),
        Check("lognormal of 96 locomotive controls, base 10: mean, deviation",
              "Nelson 1982, Applied Life Data Analysis", MEMORY, (2.2223, 0.3064), _lognormal,
              "life/test_summary.py", 6e-5, "the last digit printed"),
    ]  # fmt: skip
    return [*found, *_lifelines()]


def _lifelines() -> list[Check]:
    """lifelines, run now; it stops at a gradient tolerance of its own."""
    from lifelines import KaplanMeierFitter, WeibullFitter

    def weibull() -> float:
        far = 0.0
        for name in ("nist_weibull", "shock_absorber", "bearing_cage"):
            data = made.reference(name)
            theirs = WeibullFitter().fit(
                data.age, [o == "failed" for o in data.outcome], weights=data.count.astype(int)
            )
            found = printed.fitted(name)
            far = max(far, abs(float(found.shape.estimate or 0) / theirs.rho_ - 1))
            far = max(far, abs(float(found.scale.estimate or 0) / theirs.lambda_ - 1))
        return float(far)

    def late() -> float:
        data = made.observed(np.random.default_rng(3), 120, 2.0, 100.0, enter=0.6)
        curve = observed(data, level=0.9)
        theirs = KaplanMeierFitter().fit(
            data.age, [o == "failed" for o in data.outcome], entry=data.entered_at
        )
        alive = theirs.survival_function_.loc[curve.age].to_numpy()[:, 0]
        return float(np.abs(1 - curve.failed - alive).max())

    return [
        Check("Weibull shape and scale of 20 units, shock absorbers, bearing cages: greatest "
              "difference in proportion", "lifelines, run now", PROGRAM, 0.0, weibull, PUBLISHED,
              1e-4, "its search stops at a tolerance of its own"),
        Check("Kaplan-Meier of 120 parts, half met late: greatest difference",
              "lifelines, run now", PROGRAM, 0.0, late, CURVES, 1e-9, "both are exact"),
    ]  # fmt: skip


def _choice(name: str, at: float, ahead: float) -> dict[str, Any]:
    return {one.name: one for one in distribution_choice(made.reference(name), at, ahead).fits}


def _lognormal() -> tuple[float, float]:
    median, spread = _choice("locomotive_controls", 50, 30)["lognormal"].parameters
    return math.log10(median), spread / math.log(10)


def _curves() -> list[Check]:
    alive = tuple(alive for alive, _ in curves.REMISSION_CURVE.values())
    return [
        Check("Kaplan-Meier of remission times at 6, 7, 10, 13, 16, 22, 23 weeks",
              "Freireich et al. 1963, Blood 21, as tabulated in survival textbooks", MEMORY, alive,
              lambda: tuple((1 - observed(curves.remission()).failed).tolist()), CURVES),
        Check("its 95 % band from the printed standard errors, log-log: greatest difference",
              "Kalbfleisch & Prentice, The Statistical Analysis of Failure Time Data, section 1.4",
              MEMORY, 0.0, _band, CURVES, 2e-3, "the errors are printed to three digits"),
        Check("Turnbull's rises, breast retraction, radiotherapy alone",
              "Finkelstein & Wolfe 1985, Biometrics 41; Klein & Moeschberger, section 5.2", MEMORY,
              (*turnbull.RETRACTION_JUMPS.values(), 0.4656),
              lambda: _rises(observed(turnbull.retraction()).failed), TURNBULL),
    ]  # fmt: skip


def _rises(failed: Any) -> tuple[float, ...]:
    return tuple(np.diff(failed, prepend=0.0).tolist())


def _band() -> float:
    curve, far = observed(curves.remission(), level=0.95), 0.0
    assert curve.low is not None
    assert curve.high is not None
    for i, (alive, error) in enumerate(curves.REMISSION_CURVE.values()):
        spread = math.exp(1.959964 * error / (alive * abs(math.log(alive))))
        far = max(far, abs(1 - curve.low[i] - alive ** (1 / spread)))
        far = max(far, abs(1 - curve.high[i] - alive**spread))
    return float(far)


def _between_ages() -> list[Check]:
    def cracks() -> tuple[float, float]:
        found = censored.fitted("part_cracks")
        return float(found.shape.estimate or 0), float(found.scale.estimate or 0) / 30.44

    return [
        Check("Weibull shape, and scale in months, of 167 parts looked at on eight days",
              "Nelson 1982, Applied Life Data Analysis, chapter 9", MEMORY, (1.49, 71.7), cracks,
              CENSORED, (0.0055, 0.055), "the last digit printed, a tenth over half of it"),
        Check("shares of heat-exchanger tubes cracked by 1, 2, 3 years",
              "Meeker & Escobar 1998, Statistical Methods for Reliability Data, chapter 3", MEMORY,
              (0.0133, 0.0384, 0.0582),
              lambda: tuple(censored.curve("heat_exchanger").failed.tolist()), CENSORED),
        Check("Turnbull's rises of the same radiotherapy set, as R's npsurv holds it",
              "Klein & Moeschberger, Survival Analysis, section 5.2", MEMORY,
              (0.0463, 0.0334, 0.0887, 0.0708, 0.0926, 0.0818, 0.1209, 0.4656),
              lambda: _rises(censored.curve("breast_radiation").failed), CENSORED, 1.01e-4,
              "the last digit printed"),
    ]  # fmt: skip


def _by_r() -> list[Check]:
    found = []
    for name in censored.SETS:
        row = censored.WEIBULL[name]
        found.append(
            Check(
                f"{name.replace('_', ' ')}: Weibull shape, scale, log-likelihood",
                f"R 4.2.2 ({row['by']}), kept in tests/reference/r_weibull.csv", PROGRAM,
                tuple(float(row[key]) for key in ("shape", "scale", "loglik")),
                lambda name=name: (
                    _of(name, "shape"), _of(name, "scale"), censored.fitted(name).loglik,
                ),
                CENSORED, tuple(censored.tolerance(name) * abs(float(row[key]))
                                for key in ("shape", "scale", "loglik")),
                "R's search settles to that",
            )
        )  # fmt: skip
        found.append(
            Check(
                f"{name.replace('_', ' ')}: B10, a chance ahead, both ends of all five intervals: "
                "greatest difference in proportion", "R 4.2.2, likelihood-ratio profiles", PROGRAM,
                0.0, lambda name=name: _profiles(name), CENSORED, 1e-6,
                "five times what R's search settles to, late entry the widest",
            )
        )  # fmt: skip
        found.append(
            Check(
                f"{name.replace('_', ' ')}: curve without a distribution, greatest difference",
                f"R 4.2.2 ({'survfit' if name in censored.LATE else 'npsurv'}), kept in "
                "tests/reference/r_curves.csv", PROGRAM, 0.0, lambda name=name: _curve(name),
                CENSORED, censored.TURNBULL, "both iterate",
            )
        )  # fmt: skip
    return found


def _of(name: str, which: str) -> float:
    return float(getattr(censored.fitted(name), which).estimate)


def _profiles(name: str) -> float:
    row, found = censored.WEIBULL[name], censored.fitted(name)
    pairs = [(_of(name, "b10"), row["b10"])]
    for which in ("shape", "scale", "b10"):
        ends = getattr(found, which)
        pairs += [(ends.low, row[f"{which}_low"]), (ends.high, row[f"{which}_high"])]
    ahead = found.conditional(float(row["at"]), float(row["ahead"]))
    pairs += [(ahead.probability, row["chance"]), (ahead.low, row["chance_low"]),
              (ahead.high, row["chance_high"])]  # fmt: skip
    return max(abs(float(ours or 0) / float(theirs) - 1) for ours, theirs in pairs)


def _curve(name: str) -> float:
    theirs = [float(row["failed"]) for row in censored.CURVES if row["set"] == name]
    return float(np.abs(censored.curve(name).failed - np.array(theirs)).max())


def _covariates() -> list[Check]:
    def capacitors() -> tuple[float, ...]:
        found = fit_covariates(covariates.capacitors())
        degree, volt = _log(found, "temperature"), _log(found, "voltage")
        scale = math.log(float(found.scale.estimate or 0))
        # the tests average 175 degrees and 275 volts
        return (
            found.loglik, 1 / float(found.shape.estimate or 0), scale - 175 * degree - 275 * volt,
            degree, volt,
        )  # fmt: skip

    return [
        Check("glass capacitors: log-likelihood, sigma, intercept, per degree, per volt",
              "Meeker & Escobar 1998, example 17.9 (data: Zelen 1959)", MEMORY,
              (-244.24, 0.3638, 13.4070, -0.0289, -0.00591), capacitors, AFT,
              (0.005, 5e-5, 5e-5, 5e-5, 5e-6), "half the last digit, a last nought counted"),
        Check("leukaemia: effect of the test, of log count, Weibull scale, log-likelihood with and "
              "without", "Venables & Ripley, Modern Applied Statistics with S, section 13.2 "
              "(data: Feigl & Zelen 1965)", MEMORY, (1.0206, -0.3103, 1.04, -146.5, -153.6),
              _leukaemia, AFT, (1e-4, 1e-4, 0.005, 0.05, 0.05), "the last digit printed"),
    ]  # fmt: skip


def _log(found: CovariateFit, column: str) -> float:
    return math.log(float(term(found, column).over(1.0).estimate or 0))


def _leukaemia() -> tuple[float, ...]:
    people = (*covariates.PRESENT, *covariates.ABSENT)
    tests = ["present"] * len(covariates.PRESENT) + ["absent"] * len(covariates.ABSENT)
    found = fit_covariates(
        given_by(
            made.records([float(weeks) for _, weeks in people]),
            test=tests, log_count=[math.log(count) for count, _ in people],
        )
    )  # fmt: skip
    present = float(term(found, "test", "absent").factor.estimate or 0)
    return (
        -math.log(present), _log(found, "log_count"), 1 / float(found.shape.estimate or 0),
        found.loglik, found.loglik_without,
    )  # fmt: skip


def _few() -> list[Check]:
    def bound(confidence: float) -> float:
        return weibayes(Likelihood(made.records(few.FIVE, "running")), 3.0, confidence).lower

    def two() -> tuple[float, float]:
        outcome = ["running", "failed", "running", "failed", "running"]
        found = weibayes(Likelihood(made.records(few.FIVE, outcome)), 3.0)
        return float(found.scale or 0), found.lower

    counts = tuple(limit for limits in said.LIMITS.values() for limit in limits)
    return [
        Check("lower bound of the scale without a failure, shape 3: 63.2, 50 and 95 % sure",
              "arithmetic on five ages (Abernethy et al. 1983, chapter 6, for the method)", WORKED,
              (140.30, 158.54, 97.33),
              lambda: (bound(-math.expm1(-1.0)), bound(0.5), bound(0.95)),
              "life/test_few_failures.py", 5e-3, "half its last digit, a last nought counted"),
        Check("scale and its lower bound with two failures, shape 3",
              "chi-squared with 2 r + 2 degrees of freedom", WORKED, (111.36, 75.98), two,
              "life/test_few_failures.py"),
        Check("upper end of a rate without a failure, in failures, 95 %",
              "Jeffreys' interval (Brown, Cai & DasGupta 2003, for the method): half a chi-squared",
              WORKED, float(stats.chi2.ppf(0.95, 1)) / 2, _no_failure, "life/test_few_failures.py",
              1e-9, "a closed form"),
        Check("95 % limits of a mean of which 0, 1, 5, 10 were seen",
              "Garwood 1936, Biometrika 28, 437-442, as tables give them", MEMORY, counts,
              lambda: tuple(
                  float(end) for count in said.LIMITS for end in poisson_interval(count, 0.95)
              ), "risk/test_said_and_seen.py", 0.006, "the last digit printed"),
    ]  # fmt: skip


def _no_failure() -> float:
    from riskmodel.life.other_causes import other_causes

    return other_causes(made.records([100.0, 50.0], ["running", "failed"])).high * 150.0
