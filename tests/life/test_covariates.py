"""Effects of covariates: against published fits, another library and brute force."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import optimize

from riskmodel.life.covariate_curves import trait_curves, trait_notes
from riskmodel.life.covariate_design import design
from riskmodel.life.covariate_likelihood import Accelerated
from riskmodel.life.covariate_table import Table
from riskmodel.life.covariates import CovariateFit, Term, fit_covariates, harshness_from
from riskmodel.life.fit import fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import Curves, posterior, surety_of
from riskmodel.life.quantile import weighted_quantile
from riskmodel.life.weibull import conditional_failure
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.made import joined, observed, records
from tests.studies import covariates_reference as brute

Floats = NDArray[np.float64]

SHAPE_PRIOR = Quantity(1.2, 5.0)
LEAD = Quantity(100.0, 600.0)


def given_by(plain: LifeRecords, **covariates: Sequence[float | str]) -> LifeRecords:
    return replace(plain, covariates={name: tuple(column) for name, column in covariates.items()})


def term(fitted: CovariateFit, column: str, level: str | None = None) -> Term:
    return next(t for t in fitted.terms if (t.column, t.level) == (column, level))


def two_levels(seed: int = 5) -> LifeRecords:
    """40 parts under soft and hard use: exact, interval and censored, some met late."""
    rng = np.random.default_rng(seed)
    kinds = {"censor": 0.8, "enter": 0.3, "between": 0.2}
    soft = observed(rng, 25, 2.5, 2000.0, **kinds)
    hard = observed(rng, 15, 2.5, 1300.0, **kinds)
    return given_by(joined(soft, hard), use=("soft",) * 25 + ("hard",) * 15)


def mixed_columns(seed: int = 5) -> LifeRecords:
    """The same parts with a number and a second column of words that do nothing."""
    rng = np.random.default_rng(seed + 1)
    plain = two_levels(seed)
    return given_by(
        plain,
        use=plain.covariates["use"],
        interval=[float(v) for v in rng.choice([5.0, 10.0, 15.0, 20.0], 40)],
        grade=[str(v) for v in rng.choice(["a", "b", "c"], 40)],
    )


def looked_at() -> LifeRecords:
    """A few parts of every outcome, among them removed ones that were looked at."""
    return given_by(
        records(
            [900, 1000, 1500, 700, 1200, 300, 800, 2000, 1000, 1100, 1500, 700, 950],
            [
                *("failed", "running", "running", "removed", "failed", "running", "running"),
                *("running", "removed_worn", "removed_unworn", "removed_unworn"),
                *("removed_worn", "failed"),
            ],
            age_from=[np.nan] * 12 + [600],
            entered_at=[0, 200, 0, 0, 300, 0, 100, 0, 0, 0, 500, 0, 0],
            count=[1, 2, 1, 1, 1, 3, 1, 1, 1, 1, 2, 1, 1],
        ),
        use=tuple("aaaabbbbabaab"),
    )


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


# --- brute force, by maximum likelihood ----------------------------------------------------


def parts_of(plain: LifeRecords, **design_options: Any) -> brute.Parts:
    coded = design(plain, **design_options)
    return brute.Parts(
        plain.age,
        plain.outcome,
        plain.age_from,
        plain.entered_at,
        coded.weight,
        coded.patterns[coded.pattern_of],
    )


@pytest.mark.parametrize("ratio", [1.0, 3.0])
def test_every_kind_of_record_enters(ratio: float) -> None:
    """The likelihood itself, looks of removed parts included, against a plain sum."""
    plain = looked_at()
    model = Accelerated(design(plain, 0.1, LEAD, ratio))
    parts = parts_of(plain, visible_lead=LEAD, reporting_ratio=ratio)
    rng = np.random.default_rng(2)
    for _ in range(4):
        b, log_scale, g = rng.uniform(1.5, 4), math.log(rng.uniform(900, 3000)), rng.normal() / 2
        theta = np.array([b, b * (math.log(model.reference) - log_scale), -b * g])
        plain_sum = brute.log_likelihood(
            parts, np.array([b]), log_scale + g * parts.terms.T, (LEAD.low, LEAD.high)
        )
        # averaging over 400 equally likely leads is good to about 1e-4
        assert model.at(theta).value == pytest.approx(plain_sum[0], abs=1e-3)


def test_derivatives() -> None:
    model = Accelerated(design(looked_at(), 0.1, LEAD))
    theta = np.array([2.3, -1.0, 0.4])
    here, h = model.at(theta), 1e-4
    for i, step in enumerate(h * np.eye(3)):
        up, down = model.at(theta + step), model.at(theta - step)
        assert here.gradient[i] == pytest.approx((up.value - down.value) / (2 * h), rel=1e-5)
        np.testing.assert_allclose(
            here.hessian[i], (up.gradient - down.gradient) / (2 * h), rtol=1e-3, atol=1e-3
        )


def test_intervals_against_a_searched_profile() -> None:
    """The ends are where the highest likelihood at a given factor has fallen by 1.9207."""
    plain = two_levels()
    fitted = fit_covariates(plain)
    parts = parts_of(plain)

    assert fitted.loglik is not None

    def profile(g: float) -> float:
        def minus(theta: Floats) -> float:
            b = np.exp(theta[:1])
            return -float(brute.log_likelihood(parts, b, theta[1] + g * parts.terms.T)[0])

        return -float(optimize.minimize(minus, [0.9, 7.5], method="Nelder-Mead", tol=1e-9).fun)

    factor = term(fitted, "use", "hard").factor
    assert factor.estimate is not None
    assert factor.low is not None
    assert factor.high is not None
    assert fitted.loglik == pytest.approx(profile(math.log(factor.estimate)), abs=1e-6)
    for end in (factor.low, factor.high):
        assert fitted.loglik - profile(math.log(end)) == pytest.approx(1.920729, abs=1e-4)
    harsh = harshness_from(fitted, "use", "hard")  # of 90 %: half of chi-squared is 1.3528
    for end in (1 / harsh.low, 1 / harsh.high):
        assert fitted.loglik - profile(math.log(end)) == pytest.approx(1.352772, abs=1e-4)
    without = profile(0.0)
    assert fitted.loglik_without == pytest.approx(without, abs=1e-6)
    # one term in one column: both tests are the same, p from chi-squared with 1 degree
    p = math.erfc(math.sqrt(fitted.loglik - without))
    assert term(fitted, "use", "hard").p == pytest.approx(p, abs=1e-6)
    assert fitted.columns[0].p == pytest.approx(p, abs=1e-6)
    assert fitted.aic == pytest.approx(6 - 2 * fitted.loglik)
    assert fitted.aic_without == pytest.approx(4 - 2 * without, abs=1e-5)


# --- what must not matter, and what must ---------------------------------------------------


def test_recoding_the_base_level_turns_the_factor_over() -> None:
    plain = two_levels()
    # three more parts under hard use make it the commoner
    more = replace(plain, count=np.where(np.array(plain.covariates["use"]) == "hard", 2.0, 1.0))
    fewer = replace(more, count=np.ones(len(plain)))
    assert fit_covariates(more).columns[0].base == "hard"
    assert fit_covariates(fewer).columns[0].base == "soft"
    renamed = given_by(
        more, use=[{"soft": "hard", "hard": "soft"}[str(u)] for u in more.covariates["use"]]
    )
    one = term(fit_covariates(more), "use", "soft").factor
    other = term(fit_covariates(renamed), "use", "hard").factor
    assert one == other
    # a tie is settled by name, so that doubling both levels' counts turns the coding over
    a_first = given_by(records([500, 900, 700, 1200]), use=("a", "a", "b", "b"))
    b_first = given_by(records([500, 900, 700, 1200]), use=("c", "c", "b", "b"))
    up = term(fit_covariates(a_first), "use", "b").factor
    down = term(fit_covariates(b_first), "use", "c").factor
    assert up.estimate == pytest.approx(1 / down.estimate, rel=1e-6)  # type: ignore[operator]
    assert up.low == pytest.approx(1 / down.high, rel=1e-5)  # type: ignore[operator]
    assert up.high == pytest.approx(1 / down.low, rel=1e-5)  # type: ignore[operator]


def test_the_unit_of_a_number_does_not_matter() -> None:
    plain = mixed_columns()
    numbers = [float(v) for v in plain.covariates["interval"]]
    moved = given_by(plain, **{**plain.covariates, "interval": [1000 * v + 7 for v in numbers]})
    one, other = fit_covariates(plain), fit_covariates(moved)
    here, there = term(one, "interval"), term(other, "interval")
    assert one.loglik == pytest.approx(other.loglik, abs=1e-7)
    for at in ("estimate", "low", "high"):
        assert getattr(here.factor, at) == pytest.approx(getattr(there.factor, at), rel=1e-5)
    assert there.step == pytest.approx(1000 * here.step)  # type: ignore[operator]
    assert here.over(3.0).low == pytest.approx(there.over(3000.0).low, rel=1e-5)
    assert here.over(-3.0).high == pytest.approx(1 / here.over(3.0).low, rel=1e-9)  # type: ignore[operator]
    for column in ("use", "grade"):
        assert [t.p for t in one.terms if t.column == column] == pytest.approx(
            [t.p for t in other.terms if t.column == column], abs=1e-5
        )


def test_rows_and_counts_say_the_same() -> None:
    plain = looked_at()
    rows = [i for i, count in enumerate(plain.count.tolist()) for _ in range(int(count))][::-1]
    spelled = given_by(
        records(
            plain.age[rows],
            [plain.outcome[i] for i in rows],
            age_from=plain.age_from[rows],
            entered_at=plain.entered_at[rows],
        ),
        use=[plain.covariates["use"][i] for i in rows],
    )
    one, other = fit_covariates(plain, 0.1, LEAD), fit_covariates(spelled, 0.1, LEAD)
    assert one.loglik == pytest.approx(other.loglik, abs=1e-8)
    assert one.n == other.n == len(rows)
    assert term(one, "use", "b").records == term(other, "use", "b").records
    assert term(one, "use", "b").factor.low == pytest.approx(
        term(other, "use", "b").factor.low, rel=1e-6
    )


def test_the_visible_lead_is_usage_and_does_not_stretch() -> None:
    """Ages and lead in another unit change nothing; stretching ages alone does."""
    plain = looked_at()
    miles = replace(
        plain, **{n: getattr(plain, n) / 1.609 for n in ("age", "age_from", "entered_at")}
    )
    one = fit_covariates(plain, 0.1, LEAD)
    other = fit_covariates(miles, 0.1, Quantity(LEAD.low / 1.609, LEAD.high / 1.609))
    kept = fit_covariates(miles, 0.1, LEAD)
    assert term(one, "use", "b").factor.estimate == pytest.approx(
        term(other, "use", "b").factor.estimate, rel=1e-6
    )
    assert term(kept, "use", "b").factor.estimate != pytest.approx(
        term(one, "use", "b").factor.estimate, rel=1e-3
    )


def test_other_causes_and_unknown_ones() -> None:
    plain = two_levels()
    cause = ["other" if i % 7 == 0 else "unknown" if i % 7 == 1 else "wear" for i in range(40)]
    cause = [c if o == "failed" else "wear" for c, o in zip(cause, plain.outcome, strict=True)]
    mixed = replace(plain, cause=tuple(cause))  # type: ignore[arg-type]
    as_wear, as_other = fit_covariates(mixed), fit_covariates(mixed, unknown_as="other")
    assert as_other.failures < as_wear.failures < fit_covariates(plain).failures
    told = sum(t.failures for t in as_wear.terms) + as_wear.columns[0].failures
    assert told == as_wear.failures


# --- what the records cannot tell ----------------------------------------------------------


def test_a_column_that_never_varies_is_refused_in_words() -> None:
    plain = two_levels()
    fitted = fit_covariates(given_by(plain, use=plain.covariates["use"], same=("x",) * 40))
    assert [t.column for t in fitted.terms] == ["use"]
    assert any('The column same is "x" on every record' in told for told in fitted.warnings)
    alone = fit_covariates(given_by(plain, same=(3.0,) * 40))
    assert alone.terms == ()
    assert alone.loglik == pytest.approx(fit(plain).loglik)
    assert alone.scale.low == pytest.approx(fit(plain).scale.low, rel=1e-5)
    assert any("The column same is 3 on every record" in told for told in alone.warnings)


def test_columns_that_follow_from_others() -> None:
    plain = two_levels()
    hard = [use == "hard" for use in plain.covariates["use"]]
    doubled = given_by(plain, use=plain.covariates["use"], km=[1.0 + 4 * h for h in hard])
    fitted = fit_covariates(doubled)
    assert fitted.loglik == pytest.approx(fit_covariates(plain).loglik)
    assert fitted.aic == pytest.approx(fit_covariates(plain).aic)
    assert term(fitted, "km").factor.estimate is None
    assert term(fitted, "km").p is None
    assert any("km cannot be told from that of use" in told for told in fitted.warnings)
    with pytest.raises(CannotAnswer, match="no range"):
        harshness_from(fitted, "km", 5.0)


def test_a_level_without_failures_has_no_upper_end() -> None:
    plain = two_levels()
    ages = [900.0, 1400.0, 700.0, 1100.0]
    more = given_by(
        joined(plain, records(ages, "running")), use=(*plain.covariates["use"], *("kept",) * 4)
    )
    fitted = fit_covariates(more)
    kept = term(fitted, "use", "kept")
    assert (kept.records, kept.failures) == (4, 0)
    assert kept.factor.estimate is None
    assert kept.factor.high is None
    assert kept.factor.low is not None
    # as the factor grows, these parts come to say nothing
    assert fitted.loglik == pytest.approx(fit_covariates(plain).loglik, abs=1e-6)
    assert any('No part with use "kept" failed by wear (4 on record)' in w for w in fitted.warnings)
    with pytest.raises(CannotAnswer, match="no range"):
        harshness_from(fitted, "use", "kept")
    # the base is a level with failures even where one without is commoner
    most = replace(more, count=np.where(np.arange(44) < 40, 1.0, 20.0))
    assert fit_covariates(most).columns[0].base == "soft"


def test_few_failures_are_warned_about() -> None:
    fitted = fit_covariates(given_by(records([900, 500, 700], "failed"), use=("a", "b", "a")))
    assert any("3 failures for 1 effect: with fewer than 10" in told for told in fitted.warnings)
    assert not fit_covariates(two_levels()).warnings  # 19 failures, one effect


ALL_SAME = given_by(records([1000.0] * 6, ["failed"] * 3 + ["running"] * 3), use=tuple("abcabc"))
ONE_AGE_EACH = given_by(records([1000.0] * 3 + [800.0] * 3), use=tuple("aaabbb"))
NONE_FAILED = given_by(records([1000.0, 700.0, 900.0], "running"), use=tuple("aba"))
ONE_FAILED = given_by(
    records([900, 1000, 1500, 700, 1200], ["running"] * 4 + ["failed"]), use=tuple("aabba")
)


@pytest.mark.parametrize("hopeless", [ALL_SAME, ONE_AGE_EACH, NONE_FAILED, ONE_FAILED][:3])
def test_without_a_best_curve_nothing_is_estimated(hopeless: LifeRecords) -> None:
    fitted = fit_covariates(hopeless)
    assert fitted.loglik is None
    assert fitted.aic is None
    assert fitted.shape.estimate is None
    assert all(t.factor.estimate is None and t.p is None for t in fitted.terms)
    assert any("no best-fitting curve" in told for told in fitted.warnings)
    curves = trait_curves(hopeless, {"use": "b"}, SHAPE_PRIOR, Quantity(500, 4000), (0.0, 600.0))
    assert curves.weight.sum() == pytest.approx(1)


def test_harshness() -> None:
    fitted = fit_covariates(two_levels())
    factor = term(fitted, "use", "hard").factor
    harsh = harshness_from(fitted, "use", "hard")
    assert harshness_from(fitted, "use", "soft") == Quantity(1.0, 1.0)
    assert factor.estimate is not None
    assert factor.low is not None
    assert factor.high is not None
    # a 90 % interval within the 95 % one, around one over the factor
    assert 1 / factor.high < harsh.low < 1 / factor.estimate < harsh.high < 1 / factor.low
    numbers = fit_covariates(mixed_columns())
    centre = next(c.centre for c in numbers.columns if c.column == "interval")
    assert centre is not None
    near, far = (harshness_from(numbers, "interval", centre + d) for d in (2.0, 4.0))
    assert far.high == pytest.approx(near.high**2)
    assert harshness_from(numbers, "interval", centre - 2.0).high == pytest.approx(1 / near.low)
    with pytest.raises(CannotAnswer, match="too far from"):
        harshness_from(numbers, "interval", 1e9)
    for column, level, told in (("us", "hard", "did you mean use"), ("use", "hrd", "hard or soft")):
        with pytest.raises(CannotAnswer, match=told):
            harshness_from(fitted, column, level)


# --- curves for one engine -----------------------------------------------------------------

S = math.log(2) / brute.Z90
"""Standard deviation of ln factor whose central 90 % is [0.5, 2]."""


def covariance(*columns: int) -> Floats:
    """Prior covariance of g: of each column the number of its levels less one, 0 a number."""
    size = sum(max(levels, 1) for levels in columns)
    whole, at = np.zeros((size, size)), 0
    for levels in columns:
        k = max(levels, 1)
        block = S**2 / 2 * (np.eye(k) + 1) if levels else np.array([[S**2]])
        whole[at : at + k, at : at + k] = block
        at += k
    return whole


Kinds = tuple[Floats, Floats]
"""Terms of the kinds of engine (Q, p) that it may be, and the shares of the kinds (Q,)."""


def kinds_of(plain: LifeRecords, traits: dict[str, float | str]) -> Kinds:
    coded = design(plain)
    rows = coded.patterns[coded.pattern_of].copy()
    for column, at in zip(coded.columns, coded.slices(), strict=True):
        if column.name in traits:
            rows[:, at] = column.coded([traits[column.name]])
    terms, kind = np.unique(rows, axis=0, return_inverse=True)
    share = np.bincount(kind.reshape(-1), coded.weight)
    return terms, share / share.sum()


def sampled_chances(
    plain: LifeRecords,
    kinds: Kinds,
    prior: Floats,
    b50: tuple[float, float] | None,
    survived: tuple[float, float],
    aheads: Sequence[float],
    draws: int,
) -> list[Floats]:
    """Mean, 5 % and 95 % point of the chance of failure ahead, by importance sampling."""
    parts = parts_of(plain)
    mean = parts.weight @ parts.terms / parts.weight.sum()
    terms, share = kinds

    def lived(b: Floats, y: Floats, g: Floats, start: float, end: float) -> Floats:
        scale = np.exp(y[:, None] + g @ (terms - mean).T) / math.log(2) ** (1 / b[:, None])
        return np.asarray((end / scale) ** b[:, None] - (start / scale) ** b[:, None])

    drawn = brute.sample(
        parts,
        prior,
        (SHAPE_PRIOR.low, SHAPE_PRIOR.high),
        b50,
        extra=lambda b, y, g: np.log(np.exp(-lived(b, y, g, *survived)) @ share),
        draws=draws,
    )
    keep = drawn.weight > 1e-12
    b, y, g = np.exp(drawn.beta[keep]), drawn.y[keep], drawn.g[keep]
    found = []
    alive = np.exp(-lived(b, y, g, *survived)) * share
    weight = (drawn.weight[keep] / alive.sum(axis=1))[:, None] * alive
    for ahead in aheads:
        chance = -np.expm1(-lived(b, y, g, survived[1], survived[1] + ahead)).ravel()
        order = np.argsort(chance)
        ranks = np.cumsum(weight.ravel()[order])
        ends = np.interp([0.05, 0.95], ranks / ranks[-1], chance[order])
        found.append(np.array([chance @ weight.ravel() / weight.sum(), *ends]))
    return found


def chances(curves: Curves, age: float, ahead: float) -> Floats:
    """Mean, 5 % and 95 % point of the chance of failure ahead."""
    chance = conditional_failure(age, ahead, curves.shape, curves.scale)
    low, high = weighted_quantile(chance, curves.weight, [0.05, 0.95])
    return np.array([chance @ curves.weight, low, high])


@pytest.mark.parametrize(
    ("make", "traits", "levels", "b50"),
    [
        (two_levels, {"use": "hard"}, (1,), None),
        (two_levels, {}, (1,), None),
        (two_levels, {}, (1,), (800.0, 6000.0)),
        pytest.param(
            mixed_columns,
            {"use": "hard", "interval": 20.0, "grade": "a"},
            (1, 0, 2),
            None,
            marks=pytest.mark.slow,
        ),
        pytest.param(mixed_columns, {"use": "hard"}, (1, 0, 2), None, marks=pytest.mark.slow),
    ],
)
def test_curves_against_importance_sampling(
    make: Callable[[], LifeRecords],
    traits: dict[str, float | str],
    levels: tuple[int, ...],
    b50: tuple[float, float] | None,
) -> None:
    """60,000 draws leave noise of 0.3 % in means and 1 % in 5 and 95 % points."""
    plain, survived = make(), (100.0, 1200.0)
    prior = None if b50 is None else Quantity(*b50)
    curves = trait_curves(plain, traits, SHAPE_PRIOR, prior, survived)
    assert len(curves) < 700
    kinds = kinds_of(plain, traits)
    aheads = (150.0, 600.0)
    sampled = sampled_chances(
        plain, kinds, covariance(*levels), b50, survived, aheads, draws=60_000
    )
    for ahead, expected in zip(aheads, sampled, strict=True):
        found = chances(curves, 1200.0, ahead)
        assert (np.abs(found / expected - 1) < [0.012, 0.03, 0.02]).all(), found / expected - 1


def test_curves_against_a_dense_grid() -> None:
    """One effect, a visible lead and a stated B50: all of (ln b, ln B50, g), summed up."""
    plain, survived, ahead = looked_at(), (0.0, 900.0), 400.0
    b50 = (700.0, 5000.0)
    curves = trait_curves(
        plain, {"use": "b"}, SHAPE_PRIOR, Quantity(*b50), survived, 0.1, LEAD, 2.0
    )
    parts = parts_of(plain, visible_lead=LEAD, reporting_ratio=2.0)
    mean = float(parts.weight @ parts.terms[:, 0] / parts.weight.sum())
    beta = np.linspace(math.log(0.5), math.log(9.0), 24)
    grid = np.meshgrid(beta, np.linspace(6.2, 9.4, 26), np.linspace(-1.6, 1.6, 21), indexing="ij")
    beta, y, g = (axis.ravel() for axis in grid)
    b = np.exp(beta)
    here = 1.0 if design(plain, 0.1, LEAD).columns[0].levels == ("b",) else 0.0

    def log_prior(x: Floats, low: float, high: float) -> Floats:
        middle, spread = math.log(low * high) / 2, math.log(high / low) / 2 / brute.Z90
        return -(((x - middle) / spread) ** 2) / 2

    def log_scale(terms: Floats) -> Floats:
        away = np.multiply.outer(g, terms - mean)
        return y[:, None] + away - math.log(math.log(2)) / b[:, None]

    own = np.exp(log_scale(np.array([here]))[:, 0])
    with np.errstate(divide="ignore"):  # no chance at all, far from where it matters
        density = brute.log_likelihood(
            parts, b, log_scale(parts.terms[:, 0]), (LEAD.low, LEAD.high), leads=60
        )
    whole = Likelihood(plain, 0.1, LEAD, 2.0)
    density *= surety_of(whole, SHAPE_PRIOR, Quantity(*b50), survived)
    density += log_prior(beta, SHAPE_PRIOR.low, SHAPE_PRIOR.high) + log_prior(y, *b50)
    density += -((g / S) ** 2) / 2 - (survived[1] / own) ** b
    weight = np.exp(density - density.max())
    chance = -np.expm1((survived[1] / own) ** b - ((survived[1] + ahead) / own) ** b)
    mean_chance = float(chance @ weight / weight.sum())
    found = chances(curves, survived[1], ahead)
    assert found[0] == pytest.approx(mean_chance, rel=0.003)
    order = np.argsort(chance)
    low, high = np.interp([0.05, 0.95], np.cumsum(weight[order]) / weight.sum(), chance[order])
    np.testing.assert_allclose(found[1:], [low, high], rtol=0.02)


@pytest.mark.parametrize("error", [0.1, 0.0])
@pytest.mark.parametrize("lead", [LEAD, Quantity(300.0, 310.0)])
def test_tables_of_intervals_and_looks(error: float, lead: Quantity) -> None:
    """A spline against the terms themselves, wherever they are more than e^-30."""
    b = np.array([0.7, 3.0, 12.0])
    mu = np.random.default_rng(0).uniform(-25.0, 6.0, (3, 300))
    for group in design(looked_at(), error, lead).groups:
        direct = group.looks.log(b, mu)
        if len(group.intervals):
            direct = direct + group.intervals.log(b, mu)
        table = Table(group, lead, b).at(np.arange(3)[:, None], mu)
        likely = direct > -30
        np.testing.assert_allclose(table[likely], direct[likely], atol=5e-4)


def test_without_columns_the_curves_are_the_plain_ones() -> None:
    plain = replace(two_levels(), covariates={})
    ours = trait_curves(plain, {}, SHAPE_PRIOR, None, (0.0, 900.0))
    theirs = posterior(Likelihood(plain), SHAPE_PRIOR, None, (0.0, 900.0))
    np.testing.assert_array_equal(ours.scale, theirs.scale)


@pytest.mark.parametrize("traits", [{"use": "hard", "interval": 12.0}, {"use": "hard"}, {}])
def test_coding_and_units_do_not_move_the_curves(traits: dict[str, float | str]) -> None:
    """Levels are exchangeable and numbers enter by their spread: only the nodes' last digits."""
    plain = mixed_columns()
    columns = {name: plain.covariates[name] for name in ("use", "interval")}
    plain = given_by(plain, **columns)
    other = {"soft": "usual", "hard": "Hard"}  # another word order, so another base on a tie
    moved = given_by(
        replace(plain, count=2 * plain.count),
        use=[other[str(use)] for use in columns["use"]],
        interval=[1000 * float(v) for v in columns["interval"]],
    )
    moved = replace(moved, count=plain.count)
    there = {
        name: other[value] if isinstance(value, str) else 1000 * value
        for name, value in traits.items()
    }
    one = trait_curves(plain, traits, SHAPE_PRIOR, None, (0.0, 900.0))
    two = trait_curves(moved, there, SHAPE_PRIOR, None, (0.0, 900.0))
    np.testing.assert_allclose(chances(one, 900, 300), chances(two, 900, 300), rtol=1e-3)


def test_the_base_level_does_not_move_the_curves() -> None:
    """Three levels, of which two are equally common: the word decides which is the base."""
    ages = [500.0, 900.0, 1300.0, 700.0, 1100.0, 1500.0, 800.0, 1000.0]
    outcomes = ["failed", "failed", "running", "failed", "running", "running", "failed", "running"]
    words = ("a", "a", "a", "b", "b", "b", "c", "c")
    plain = given_by(records(ages, outcomes), use=words)
    other = given_by(records(ages, outcomes), use=[{"a": "z"}.get(w, w) for w in words])
    assert design(plain).columns[0].base == "a"
    assert design(other).columns[0].base == "b"
    for one, two in (("a", "z"), ("b", "b"), ("c", "c")):
        np.testing.assert_allclose(
            chances(trait_curves(plain, {"use": one}, SHAPE_PRIOR, None), 800, 300),
            chances(trait_curves(other, {"use": two}, SHAPE_PRIOR, None), 800, 300),
            rtol=2e-3,
        )


def spread(curves: Curves) -> float:
    """Standard deviation of ln B50."""
    log_b50 = np.log(curves.scale) + math.log(math.log(2)) / curves.shape
    mean = log_b50 @ curves.weight
    return math.sqrt(((log_b50 - mean) ** 2) @ curves.weight)


def test_a_trait_not_stated_never_narrows() -> None:
    plain = two_levels()
    known = [trait_curves(plain, {"use": use}, SHAPE_PRIOR, None) for use in ("soft", "hard")]
    missing = trait_curves(plain, {}, SHAPE_PRIOR, None)
    share = [25 / 40, 15 / 40]
    variances = [spread(curves) ** 2 for curves in known]
    assert spread(missing) ** 2 >= float(np.dot(share, variances))
    # before any is seen to survive, the mixture's chance is the average of the known ones'
    apart = [chances(curves, 0.0, 900.0)[0] for curves in known]
    assert chances(missing, 0.0, 900.0)[0] == pytest.approx(float(np.dot(share, apart)), rel=3e-3)
    # having lived long, it is more likely to be of the kind that lives long
    late = [chances(trait_curves(plain, {"use": use}, SHAPE_PRIOR, None, (0, 1500)), 1500, 300)[0]
            for use in ("soft", "hard")]  # fmt: skip
    mixed = chances(trait_curves(plain, {}, SHAPE_PRIOR, None, (0, 1500)), 1500, 300)[0]
    assert min(late) < mixed < float(np.dot(share, late))


def test_many_different_numbers() -> None:
    """Each row its own pattern: rounded for the curves, and averaged over where not stated."""
    plain = two_levels()
    rng = np.random.default_rng(0)
    numbers = given_by(
        joined(*[plain] * 4),
        km=rng.uniform(0.0, 1.0, 160).tolist(),
        load=rng.uniform(0.0, 1.0, 160).tolist(),
    )
    assert len(design(numbers).groups) == 160
    coarse = design(numbers, patterns_wanted=100)
    assert len(coarse.groups) <= 160
    assert all("rounded to steps of" in note for note in coarse.notes)
    curves = trait_curves(numbers, {"km": 0.4}, SHAPE_PRIOR, None, (0.0, 900.0))
    assert curves.weight.sum() == pytest.approx(1)
    huge = given_by(
        joined(*[plain] * 30),
        **{f"c{i}": rng.uniform(0.0, 1.0, 1200).tolist() for i in range(5)},
    )
    with pytest.raises(CannotAnswer, match="leave columns out, or round the numbers"):
        design(huge)


def test_traits_that_cannot_be_are_refused_together() -> None:
    plain = given_by(mixed_columns(), **mixed_columns().covariates, same=("x",) * 40)
    with pytest.raises(CannotAnswer) as refused:
        trait_curves(
            plain,
            {"use": "hrad", "interval": "long", "grad": "a", "grade": 3.0, "same": "y"},
            SHAPE_PRIOR,
            None,
        )
    for told in (
        'the trait use is "hrad"; in the records it is one of hard or soft (did you mean hard?)',
        'the trait interval is "long"; in the records it is a number',
        'unknown trait "grad"; the records have one of use, interval, grade or same',
        "the trait grade is 3; in the records it is one of a, b or c",
        'the trait same is "y"; in the records it is x',
    ):
        assert told in str(refused.value)
    with pytest.raises(CannotAnswer, match="1000000, too far from what is on record, 5 to 20"):
        trait_curves(plain, {"interval": 1e6}, SHAPE_PRIOR, None)
    with pytest.raises(CannotAnswer, match=r"life\.b50_prior"):
        trait_curves(NONE_FAILED, {"use": "a"}, SHAPE_PRIOR, None)


def test_notes_on_traits() -> None:
    plain = given_by(mixed_columns(), **mixed_columns().covariates, same=(3.0,) * 40)
    notes = trait_notes(plain, {"use": "hard", "interval": 40.0, "same": 5.0})
    assert any("grade of this engine is not stated" in note for note in notes)
    assert any("interval 40 lies outside of what is on record, 5 to 20" in note for note in notes)
    assert any("same is 3 on every record" in note for note in notes)
    assert trait_notes(two_levels(), {"use": "hard"}) == ()
    more = given_by(joined(two_levels(), records([900.0], "running")), use=("a",) * 40 + ("b",))
    assert any("no part with it failed" in note for note in trait_notes(more, {"use": "b"}))


# --- anything at all -----------------------------------------------------------------------

rows = st.tuples(
    st.sampled_from([300.0, 700.0, 700.0, 1000.0, 1e-3, 1e7]),
    st.sampled_from(["failed", "failed", "running", "removed_worn", "removed_unworn"]),
    st.sampled_from(["a", "b", "c"]),
    st.sampled_from([0.0, 1.0, 1.0, 250.0, -1e9]),
    st.booleans(),
)


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(rows, min_size=1, max_size=7), st.sampled_from([None, Quantity(500.0, 4000.0)]))
def test_anything_is_answered_or_refused_in_words(
    table: list[tuple[float, str, str, float, bool]], b50: Quantity | None
) -> None:
    age, outcome, use, number, watched = zip(*table, strict=True)
    plain = given_by(
        records(
            age,
            outcome,
            entered_at=[a / 2 if w else 0.0 for a, w in zip(age, watched, strict=True)],
        ),
        use=use,
        number=number,
    )
    fitted = fit_covariates(plain, 0.1, LEAD)
    assert (fitted.loglik is None) <= any("no best-fitting" in w or "did not settle" in w
                                          for w in fitted.warnings)  # fmt: skip
    for told in fitted.terms:
        factor = told.factor
        ends = [x for x in (factor.low, factor.estimate, factor.high) if x is not None]
        assert ends == sorted(ends)
        assert all(x > 0 and math.isfinite(x) for x in ends)
        assert told.p is None or 0 <= told.p <= 1
    try:
        curves = trait_curves(plain, {"use": use[0]}, SHAPE_PRIOR, b50, (0.0, 500.0), 0.1, LEAD)
    except CannotAnswer:
        assert b50 is None
        return
    assert np.isfinite(curves.scale).all()
    assert curves.weight.sum() == pytest.approx(1)
    assert (curves.weight >= 0).all()
