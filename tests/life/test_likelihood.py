"""The likelihood against other libraries, and against what must not change it."""

from __future__ import annotations

import math
import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from riskmodel.life.fit import fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords
from tests.life.made import joined, observed, records

SHAPES = np.array([0.3, 1.0, 2.5, 11.0])
LEAD = Quantity(40.0, 300.0)


def by_scipy(data: LifeRecords, shape: float, scale: float) -> float:
    """Row by row from scipy's distribution, in the plainest way."""
    curve = stats.weibull_min(shape, scale=scale)
    total = 0.0
    for age, outcome, since, entry, count in zip(
        data.age, data.outcome, data.age_from, data.entered_at, data.count, strict=True
    ):
        if outcome != "failed":
            value = curve.logsf(age)
        elif math.isnan(since):
            value = curve.logpdf(age)
        else:
            lived = curve.logsf(max(since, entry))
            value = lived + math.log(-math.expm1(curve.logsf(age) - lived))
        total += count * (value - curve.logsf(entry))
    return total


@pytest.mark.parametrize("seed", range(6))
def test_every_outcome_agrees_with_scipy_row_by_row(seed: int) -> None:
    rng = np.random.default_rng(seed)
    data = observed(rng, 60, 2.0, 1000.0, enter=0.5, between=0.4)
    likelihood = Likelihood(data)
    for shape in (0.5, 1.0, 2.5, 6.0):
        for scale in (400.0, 1000.0, 5000.0):
            wanted = by_scipy(data, shape, scale)
            assert float(likelihood.log(shape, scale)) == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("enter", [0.0, 0.6])
def test_intervals_entry_and_weights_agree_with_lifelines(enter: float) -> None:
    from lifelines import WeibullFitter

    rng = np.random.default_rng(21)
    data = observed(rng, 400, 2.3, 150.0, enter=enter, between=1.0)
    counts = rng.integers(1, 4, len(data)).astype(float)
    data = LifeRecords(**{**vars(data), "count": counts})
    failed = np.array([o == "failed" for o in data.outcome])
    lower = np.where(failed, np.fmax(data.age_from, data.entered_at), data.age)
    upper = np.where(failed, data.age, np.inf)
    theirs = WeibullFitter().fit_interval_censoring(
        lower, upper, entry=data.entered_at, weights=counts
    )
    ours = fit(data)
    # lifelines stops at a gradient tolerance of its own; 1e-5 is what it reaches here
    assert ours.shape.estimate == pytest.approx(theirs.rho_, rel=1e-5)
    assert ours.scale.estimate == pytest.approx(theirs.lambda_, rel=1e-5)
    assert ours.loglik == pytest.approx(theirs.log_likelihood_, rel=1e-9)


def test_covariance_matches_lifelines_variance() -> None:
    """The second derivatives at the maximum, in its parameters (scale, shape)."""
    from lifelines import WeibullFitter

    data = observed(np.random.default_rng(2), 300, 2.3, 150.0)
    failed = np.array([o == "failed" for o in data.outcome])
    theirs = WeibullFitter().fit(data.age, failed)
    top = fit(data).maximum
    assert top is not None
    scale = fit(data).likelihood.reference * math.exp(-top.mu / top.b)
    # mu = -b ln(scale / reference): d mu / d scale = -b / scale, d mu / d b = mu / b
    change = np.array([[0.0, -top.b / scale], [1.0, top.mu / top.b]])
    information = -np.array([[top.jet.bb, top.jet.bmu], [top.jet.bmu, top.jet.mumu]])
    found = np.linalg.inv(change @ information @ change.T)
    np.testing.assert_allclose(found, theirs.variance_matrix_.to_numpy(), rtol=2e-3)


rows = st.lists(
    st.tuples(
        st.floats(1.0, 500.0),
        st.sampled_from(["failed", "running", "removed", "removed_worn", "removed_unworn"]),
        st.floats(0.0, 0.9),
        st.one_of(st.none(), st.floats(0.0, 0.9)),
        st.integers(1, 4),
    ),
    min_size=1,
    max_size=8,
)


def table(
    some: list[tuple[float, str, float, float | None, int]], unit: float = 1.0
) -> LifeRecords:
    ages = [unit * row[0] for row in some]
    since = [
        math.nan if row[3] is None or row[1] != "failed" else unit * row[0] * row[3] for row in some
    ]
    return records(
        ages,
        [row[1] for row in some],
        entered_at=[unit * row[0] * row[2] for row in some],
        age_from=since,
        count=[float(row[4]) for row in some],
    )


@settings(max_examples=40, deadline=None)
@given(rows)
def test_a_count_is_so_many_rows(some: list[tuple[float, str, float, float | None, int]]) -> None:
    repeated = [(*row[:4], 1) for row in some for _ in range(row[4])]
    once = Likelihood(table(some), 0.1, LEAD).log(SHAPES, 250.0)
    each = Likelihood(table(repeated), 0.1, LEAD).log(SHAPES, 250.0)
    np.testing.assert_allclose(once, each, rtol=1e-9, atol=1e-9)


@settings(max_examples=40, deadline=None)
@given(rows, st.randoms())
def test_order_does_not_matter(
    some: list[tuple[float, str, float, float | None, int]], random: object
) -> None:
    mixed = list(some)
    random.shuffle(mixed)  # type: ignore[attr-defined]
    first = Likelihood(table(some), 0.1, LEAD).log(SHAPES, 250.0)
    second = Likelihood(table(mixed), 0.1, LEAD).log(SHAPES, 250.0)
    np.testing.assert_allclose(first, second, rtol=1e-10, atol=1e-10)


@settings(max_examples=40, deadline=None)
@given(rows, st.sampled_from([1e-3, 0.6213711922, 1e6]))
def test_a_change_of_unit_only_rescales(
    some: list[tuple[float, str, float, float | None, int]], unit: float
) -> None:
    """Densities carry 1/unit each; nothing else changes."""
    exact = sum(row[4] for row in some if row[1] == "failed" and row[3] is None)
    first = Likelihood(table(some), 0.1, LEAD).log(SHAPES, 250.0)
    lead = Quantity(LEAD.low * unit, LEAD.high * unit)
    second = Likelihood(table(some, unit), 0.1, lead).log(SHAPES, 250.0 * unit)
    # to the rounding of ages in their new unit, where intervals may be narrow
    np.testing.assert_allclose(second + exact * math.log(unit), first, rtol=1e-6, atol=1e-6)


def test_an_interval_that_holds_everything_tells_nothing() -> None:
    shape = np.array([0.5, 2.0])
    found = Likelihood(records(1e9, age_from=0.0)).log(shape, 10.0)
    np.testing.assert_allclose(found, 0.0, atol=1e-12)


def test_a_narrow_interval_is_the_density_times_its_width() -> None:
    for width in (1e-3, 1e-6, 1e-9):
        age = 100.0 + width
        found = float(Likelihood(records(age, age_from=100.0)).log(2.5, 120.0))
        wanted = float(Likelihood(records(100.0 + width / 2)).log(2.5, 120.0))
        wanted += math.log(age - 100.0)
        assert found == pytest.approx(wanted, abs=2e-9)


def test_watching_in_two_stretches_is_watching_once() -> None:
    """Alive at 40, met again at 40 and failed at 90: the same as failed at 90."""
    two = joined(records(40.0, "running"), records(90.0, entered_at=40.0))
    one = records(90.0)
    np.testing.assert_allclose(
        Likelihood(two).log(SHAPES, 70.0), Likelihood(one).log(SHAPES, 70.0), rtol=1e-12
    )


def test_a_failure_of_another_cause_is_a_survivor_of_wear() -> None:
    data = records([50.0, 60.0, 70.0], cause=["wear", "other", "unknown"])
    as_wear = records([50.0, 60.0, 70.0], ["failed", "running", "failed"])
    as_other = records([50.0, 60.0, 70.0], ["failed", "running", "running"])
    assert np.array_equal(Likelihood(data).log(SHAPES, 80.0), Likelihood(as_wear).log(SHAPES, 80.0))
    assert np.array_equal(
        Likelihood(data, unknown_as="other").log(SHAPES, 80.0),
        Likelihood(as_other).log(SHAPES, 80.0),
    )
    assert Likelihood(data).failures == 2
    assert Likelihood(data, unknown_as="other").failures == 1


def test_the_reporting_ratio_weighs_survivors_only() -> None:
    outcomes = ["failed", "running", "removed", "removed_worn", "removed_unworn"]
    data = records([50.0, 60.0, 70.0, 75.0, 80.0], outcomes)
    weighed = records([50.0, 60.0, 70.0, 75.0, 80.0], outcomes, count=[1, 5, 5, 1, 5])
    np.testing.assert_allclose(
        Likelihood(data, 0.1, LEAD, 5.0).log(SHAPES, 80.0),
        Likelihood(weighed, 0.1, LEAD).log(SHAPES, 80.0),
        rtol=1e-12,
    )


def test_any_shape_of_nodes() -> None:
    likelihood = Likelihood(records([50.0, 60.0]))
    found = likelihood.log(np.full((3, 1, 1), 2.0), np.full((4, 5), 70.0))
    assert found.shape == (3, 4, 5)
    assert likelihood.log(2.0, 70.0).shape == ()


@pytest.mark.parametrize(
    ("data", "named", "said"),
    [
        (records([5.0, 0.0, 7.0]), "row 2", "age 0"),
        (records([5.0], age_from=5.0), "row 1", "after age_from"),
        (records([5.0, 9.0], entered_at=[0.0, 9.5]), "row 2", "enter"),
        (records([5.0, math.inf]), "row 2", "number"),
        (records([5.0, 6.0], count=[-1.0, 1.0]), "row 1", "count"),
        (records([5.0, 6.0], ["failed", "removed_worn"]), "row 2", "warning.visible_lead"),
    ],
)
def test_what_no_likelihood_can_carry_is_refused(data: LifeRecords, named: str, said: str) -> None:
    with pytest.raises(CannotAnswer) as refusal:
        Likelihood(data)
    assert named in str(refusal.value)
    assert said in str(refusal.value)


def test_all_faults_are_told_together() -> None:
    with pytest.raises(CannotAnswer) as refusal:
        Likelihood(records([0.0, 5.0, 6.0], entered_at=[0.0, 7.0, 0.0], count=[1.0, 1.0, -2.0]))
    assert all(f"row {i}" in str(refusal.value) for i in (1, 2, 3))


def test_survivors_and_other_failures_at_age_zero_tell_nothing() -> None:
    data = records([0.0, 0.0, 0.0, 9.0], ["running", "removed", "failed", "running"],
                   cause=["wear", "wear", "other", "wear"])  # fmt: skip
    alone = Likelihood(records(9.0, "running")).log(SHAPES, 10.0)
    np.testing.assert_allclose(Likelihood(data).log(SHAPES, 10.0), alone, rtol=1e-12)


def test_no_node_however_far_makes_a_warning_or_a_nan() -> None:
    """Warnings are errors here."""
    data = joined(
        records([1e-3, 50.0, 1e9], ["failed", "running", "running"], entered_at=[0, 20, 0]),
        records(70.0, age_from=60.0),
        records([30.0, 40.0], ["removed_worn", "removed_unworn"]),
    )
    shape, scale = np.meshgrid(np.geomspace(0.05, 50, 12), np.geomspace(1e-9, 1e18, 28))
    found = Likelihood(data, 0.1, LEAD).log(shape, scale)
    assert not np.isnan(found).any()
    assert (found < 0).all()


def test_many_rows_and_nodes_need_little_memory() -> None:
    rng = np.random.default_rng(0)
    n = 200_000
    age = rng.uniform(1.0, 100.0, n)
    data = records(age, ["failed", "running"] * (n // 2),
                   age_from=np.where(np.arange(n) % 4 == 0, age / 2, np.nan))  # fmt: skip
    likelihood = Likelihood(data)
    shape = np.linspace(1.0, 3.0, 50)
    tracemalloc.start()
    likelihood.log(shape, 80.0)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    # rows times nodes would be 80 MB an array, and several at once; blocks are of 8 MB
    assert peak < 80e6
