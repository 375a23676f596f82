"""Life curves and fits at figures far from any part's: numbers, or a refusal in words."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.life import weibull
from riskmodel.life.fit import fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.other_causes import other_causes
from riskmodel.life.posterior import posterior
from riskmodel.life.quantile import weighted_quantile
from riskmodel.life.summary import summarise
from riskmodel.life.weibayes import weibayes
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.life_table import read_records
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.records.tables import LifeRecords

SHAPES = st.sampled_from([0.1, 0.5, 1.0, 2.5, 10.0, 50.0]) | st.floats(0.1, 50)
AGES = st.sampled_from([0.0, 1e-6, 1.0, 1e9]) | st.floats(0, 1e9)
SCALES = st.floats(1e-3, 1e9)
QUICK = settings(max_examples=150, deadline=None)
PROBABILITIES = st.sampled_from([0.0, 1e-12, 0.5, 1 - 1e-12, 1.0]) | st.floats(0, 1)


@QUICK
@given(SHAPES, SCALES, AGES, AGES, PROBABILITIES)
def test_chances_lie_between_nothing_and_one_and_rise(
    shape: float, scale: float, at: float, ahead: float, share: float
) -> None:
    lasts, fails = weibull.survival(at, shape, scale), weibull.failure(at, shape, scale)
    assert 0 <= lasts <= 1
    assert lasts + fails == pytest.approx(1, abs=1e-12)
    soon = weibull.conditional_failure(at, ahead, shape, scale)
    more = weibull.conditional_failure(at, 2 * ahead, shape, scale)
    assert 0 <= soon <= more <= 1
    kept = weibull.conditional_survival(at, ahead, shape, scale)
    assert kept + soon == pytest.approx(1, abs=1e-12)
    assert weibull.hazard_ahead(at, ahead, shape, scale) >= 0
    for found in (  # of what is left, the shares that can be asked for: none and all are not
        weibull.density(at, shape, scale),
        weibull.hazard(at, shape, scale),
        weibull.cumulative_hazard(at, shape, scale),
        weibull.mean(shape, scale),
        weibull.quantile(share, shape, scale),
        weibull.remaining_quantile(np.clip(share, 1e-12, 1 - 1e-12), at, shape, scale),
    ):
        assert not np.isnan(found)
        assert found >= -1e-12 * (at + scale)


@QUICK
@given(SHAPES, SCALES, st.floats(0, 1e9), st.floats(0.001, 0.999))
def test_what_is_left_undoes_the_chance(
    shape: float, scale: float, at: float, share: float
) -> None:
    left = float(weibull.remaining_quantile(share, at, shape, scale))
    if 1e-290 < left < 1e290:
        back = weibull.conditional_failure(at, left, shape, scale)
        assert back == pytest.approx(share, rel=1e-6)


def table(rows: list[tuple[object, ...]]) -> LifeRecords:
    lines = [",".join(map(str, row)) for row in rows]
    return read_records("\n".join(["age,outcome,entered_at,count", *lines, ""]).encode())


RECORDS = {
    "one failure": [(1e5, "failed", 0, 1)],
    "one survivor": [(1e5, "running", 0, 1)],
    "a million of each": [(9e4, "failed", 0, 10**6), (1e5, "running", 0, 10**6)],
    "one in a million": [(9e4, "failed", 0, 1), (1e5, "running", 0, 10**6)],
    "all censored": [(x, "running", 0, 5) for x in (1e4, 5e4, 9e4)],
    "ages of a thousandth": [
        (1e-3, "failed", 0, 1), (2e-3, "failed", 0, 1), (3e-3, "running", 0, 1),
    ],
    "ages of a thousand million": [
        (9e8, "failed", 0, 3), (1e9, "failed", 0, 2), (1e9, "running", 0, 9),
    ],
    "far apart": [(1e-3, "failed", 0, 1), (1e9, "failed", 0, 1)],
    "watched for an instant": [(1e5, "failed", 1e5 - 1e-6, 1), (2e5, "running", 1e5, 1)],
    "all at one age": [(1e5, "failed", 0, 50)],
}  # fmt: skip


@pytest.mark.parametrize("name", RECORDS)
@pytest.mark.parametrize("belief", [None, Quantity(5e4, 4e5), exactly(1e5), Quantity(1e-3, 1e9)])
def test_curves_are_whole_or_refused(name: str, belief: Quantity | None) -> None:
    records = table(RECORDS[name])
    likelihood = Likelihood(records, visible_lead=Quantity(1e3, 1e4))
    for shape in (Quantity(1.2, 5), exactly(0.1), exactly(50.0)):
        for survived in (None, (0.0, likelihood.reference), (0.0, 1e3 * likelihood.reference)):
            try:
                curves = posterior(likelihood, shape, belief, survived)
            except CannotAnswer:  # which says why, see tests/life
                continue
            assert np.isfinite(curves.shape).all()
            assert (curves.shape > 0).all()
            assert np.isfinite(curves.scale).all()
            assert curves.weight.sum() == pytest.approx(1)
            chance = weibull.conditional_failure(1e5, 1e4, curves.shape, curves.scale)
            assert 0 <= float(curves.mean(chance)) <= 1 + 1e-12


@pytest.mark.parametrize("name", RECORDS)
def test_fits_say_what_they_cannot_say(name: str) -> None:
    records = table(RECORDS[name])
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = fit(records)
        told = summarise(records, [(5e4, 1e4), (1e9, 1e9)], shape=2.5)
    for figure in (found.shape, found.scale, found.b10):
        ends = [end for end in (figure.low, figure.estimate, figure.high) if end is not None]
        assert all(math.isfinite(end) and end > 0 for end in ends)
        assert ends == sorted(ends)
    assert found.maximum is not None or found.warnings
    for chance in told.conditional:
        for value in (chance.low, chance.probability, chance.high):
            assert value is None or 0 <= value <= 1
    assert told.weibayes is not None
    assert told.weibayes.lower > 0
    rate = other_causes(records)
    assert 0 <= rate.low <= rate.rate <= rate.high < math.inf


@pytest.mark.parametrize("shape", [0.1, 1.0, 50.0])
def test_a_bound_at_any_shape(shape: float) -> None:
    for rows in RECORDS.values():
        found = weibayes(Likelihood(table(rows)), shape)
        assert found.lower > 0
        assert found.scale is None or found.scale >= found.lower


@QUICK
@given(
    st.lists(st.floats(-1e9, 1e9), min_size=1, max_size=30),
    st.lists(st.floats(0, 1), min_size=30, max_size=30),
    st.lists(st.floats(0.001, 0.999), min_size=1, max_size=4),
)
def test_quantiles_never_leave_their_values(
    values: list[float], weights: list[float], wanted: list[float]
) -> None:
    weight = np.array(weights[: len(values)]) + 1e-6
    found = weighted_quantile(np.array(values), weight, sorted(wanted))
    assert np.isfinite(found).all()
    slack = 1e-9 * (1 + max(map(abs, values)))
    assert min(values) - slack <= found.min()
    assert found.max() <= max(values) + slack
