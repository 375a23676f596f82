"""Effects of covariates: what must not move them, what the records cannot tell, and harshness."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from riskmodel.life.covariate_curves import trait_curves
from riskmodel.life.covariates import fit_covariates, harshness_from
from riskmodel.life.fit import fit
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.covariates_made import (
    LEAD,
    NONE_FAILED,
    SHAPE_PRIOR,
    given_by,
    looked_at,
    mixed_columns,
    term,
    two_levels,
)
from tests.life.made import joined, records

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


@pytest.mark.parametrize("hopeless", [ALL_SAME, ONE_AGE_EACH, NONE_FAILED])
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
