"""Curves for one engine by its traits: what must not move them, traits that are not stated or
cannot be, and any small table at all.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.life.covariate_curves import trait_curves, trait_notes
from riskmodel.life.covariate_design import design
from riskmodel.life.covariates import fit_covariates
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import Curves, posterior
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity
from tests.life.covariate_curves_made import chances
from tests.life.covariates_made import (
    LEAD,
    NONE_FAILED,
    SHAPE_PRIOR,
    given_by,
    mixed_columns,
    two_levels,
)
from tests.life.made import joined, records


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
