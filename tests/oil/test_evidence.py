"""The likelihood of the samples against scipy's quadrature and against the plain model."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm, t

from riskmodel.oil.evidence import weigh_samples
from riskmodel.oil.evidence_data import side_by_side
from riskmodel.oil.evidence_student import normal_between, student_between, student_tail
from riskmodel.oil.history import History, history, roughly
from riskmodel.oil.rise import log_fill_mean
from riskmodel.records.case import Case
from tests.oil.made import case_with_oil, element
from tests.oil.plain_model import PlainModel

ROWS = ["60000,10000,4,6", "70000,10000,3,<7", "80000,10000,,7", "90000,10000,9,12"]


def found(case: Case) -> History:
    made = history(case)
    assert made is not None
    return made


def test_student_between() -> None:
    low = np.array([-np.inf, -1e4, -3.0, -0.2, 0.0, 2.0, 50.0, 1e4, -np.inf])
    high = np.array([-1e3, -9e3, -2.0, 0.1, 2.0, np.inf, 51.0, 1.1e4, np.inf])
    small = np.minimum(np.abs(low), np.abs(high)) > 1
    exact = np.where(low > 0, t.sf(low, 4) - t.sf(high, 4), t.cdf(high, 4) - t.cdf(low, 4))
    assert student_between(low, high) == pytest.approx(exact, rel=1e-9)
    assert small.any()
    z = np.array([-30.0, -1.0, 0.0, 1.0, 1e3, 1e8])
    assert student_tail(z) == pytest.approx(t.sf(z, 4), rel=1e-12)


def test_normal_between() -> None:
    low, high = np.array([-np.inf, -9.0, -1.0, 8.0]), np.array([-8.0, -8.5, 0.5, np.inf])
    exact = [norm.cdf(-8), norm.cdf(-8.5) - norm.cdf(-9), norm.cdf(0.5) - norm.cdf(-1), norm.sf(8)]
    assert normal_between(low, high) == pytest.approx(exact, rel=1e-9)


def test_one_reading_by_quadrature() -> None:
    """One element, two readings, none misleading: the integral over mu by scipy."""
    case = case_with_oil(
        ["60000,10000,4", "70000,10000,9"],
        "reading,oil_age,Pb",
        elements=[element("Pb", rise=8, noise=0.8)],
        misleading=0,
        carry_over=0,
    )
    centre, spread = math.log(0.4), math.log(0.8 / 0.2) / 2 / 1.6448536269514722
    scale = math.hypot(math.log(1.3), 0.8 / 4)
    shift = [
        float(log_fill_mean(58_000.0, 78_000.0, at, 10_000.0, math.log(8)))
        for at in (60_000.0, 70_000.0)
    ]

    def chance(level: float, n: float, d: float) -> float:
        ends = [(math.log(v / 10) - level - d) / scale for v in (n - 0.5, n + 0.5)]
        return float(t.cdf(ends[1], 4) - t.cdf(ends[0], 4))

    def whole(lift: float) -> float:
        return quad(
            lambda x: (
                norm.pdf(x, centre, spread)
                * chance(x, 4, lift * shift[0])
                * chance(x, 9, lift * shift[1])
            ),
            centre - 4,
            centre + 4,
            epsrel=1e-10,
            limit=200,
        )[0]

    got = found(case).log_likelihood(78_000.0, 20_000.0)
    assert got.shape == (1,)
    assert got[0] == pytest.approx(math.log(whole(1) / whole(0)), abs=1e-3)


@pytest.mark.parametrize("misleading", [0.0, 0.02, 0.3])
@pytest.mark.parametrize("wide", [True, False])
def test_agrees_with_the_plain_model(
    misleading: float, wide: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two elements, one reading missing and one "<n", failures and leads of all kinds."""
    monkeypatch.setattr("tests.oil.plain_model.CELLS", 600)
    monkeypatch.setattr("riskmodel.oil.history.PLACES", (1.0,))  # the plain model tries no others
    lead = element("Pb", noise=0.8) if wide else element("Pb", typical=0.4)
    case = case_with_oil(ROWS, elements=[lead, element("Cu")], misleading=misleading)
    if not wide:  # the plain model wants a range: a very narrow one
        narrow = replace(
            case.oil.element[0], typical=replace(case.oil.element[0].typical, high=0.400001)
        )
        plain = replace(case, oil=replace(case.oil, element=(narrow, case.oil.element[1])))
    made = found(case)
    failure = np.array([90_001.0, 91_000.0, 95_000.0, 110_000.0, 95_000.0, 120_000.0])
    leads = np.array([9_000.0, 2_500.0, 20_000.0, 70_000.0, 200_000.0, 20_000.0])
    got = made.log_likelihood(failure, leads)
    z = made.rise_points[0]
    for k in (2, len(z) // 2, len(z) - 3):
        model = PlainModel(case if wide else plain)
        exact = np.log(model.likelihood(failure, leads, np.full(len(failure), z[k])))
        assert got[:, k] == pytest.approx(exact, abs=3e-3)
    assert np.all(got[-1] == 0)  # began after the last sample


def test_more_than_one_surge_cannot_be_one_misleading_sample() -> None:
    """Judgement: two surges of both elements outweigh one by far more than one outweighs none."""
    usual = [f"{10_000 * i},10000,4,6" for i in range(3, 8)]
    logs = []
    for rows in (
        [*usual, "80000,10000,4,6", "90000,10000,4,6"],
        [*usual, "80000,10000,4,6", "90000,10000,20,18"],
        [*usual, "80000,10000,20,18", "90000,10000,20,18"],
    ):
        logs.append(float(np.log(found(case_with_oil(rows)).factor(np.array([92_000.0]))[0])))
    assert logs[0] < 0 < logs[1] < logs[2]


def test_an_element_that_is_not_from_the_part_is_no_evidence() -> None:
    """A surge of iron: the same as if iron had never been measured."""
    columns = "reading,oil_age,Pb,Fe"
    surge = ["60000,10000,4,15", "70000,10000,4,15", "80000,10000,4,150"]
    plain = [row.rsplit(",", 1)[0] for row in surge]
    ages = np.array([81_000.0, 90_000.0, 120_000.0])
    with_iron = found(case_with_oil(surge, columns)).factor(ages)
    assert with_iron == pytest.approx(
        found(case_with_oil(plain, "reading,oil_age,Pb")).factor(ages), rel=1e-12
    )


def test_engines_side_by_side_are_as_alone() -> None:
    one = found(case_with_oil(ROWS))
    two = found(case_with_oil(ROWS[2:], elements=[element("Cu"), element("Pb", scatter=1.6)]))
    both = side_by_side([one.samples, two.samples])
    z = one.rise_points[0]
    together = weigh_samples(both, both.last, z)
    failure = np.array([[90_500.0, 100_000.0], [91_000.0, 110_000.0]])
    onset = np.array([[84_000.0, 60_000.0], [0.0, 88_000.0]])
    got = together.log_likelihood(onset, failure)
    for m, alone in enumerate((one, two)):
        exact = weigh_samples(alone.samples, alone.samples.last, z).log_likelihood(
            onset[[m]], failure[[m]]
        )
        assert got[m] == pytest.approx(exact[0], abs=2e-3)


def test_many_shifts_at_once_are_read_off_as_one_by_one() -> None:
    table = found(case_with_oil(["60000,10000,4,6", "70000,10000,9,7"])).evidence.tables[0]
    shift = np.random.default_rng(2).uniform(0.0, 1.5, 4000)
    whole = table.shifted(1, np.zeros(4000, dtype=int), shift)
    for i in range(0, 4000, 200):
        alone = table.shifted(1, np.zeros(1, dtype=int), shift[[i]])
        np.testing.assert_allclose(whole[[i]], alone, rtol=1e-14)


def test_hundreds_of_samples_do_not_underflow() -> None:
    rows = [f"{1_000 * i},1000,0.5,0.7" for i in range(1, 300)]
    made = found(case_with_oil(rows, reading=300_000, resolution=0.01))
    told = made.likelihood(np.array([300_000.0, 310_000.0, 400_000.0]))
    assert np.all(np.isfinite(told))
    assert np.all(told > 0)
    assert np.all(told < 1.5)


def test_what_is_worked_out_at_one_share_of_misleading_samples_serves_another() -> None:
    case = case_with_oil(ROWS, "reading,oil_age,Pb,Cu", misleading=0.02)
    often = replace(case, oil=replace(case.oil, misleading=0.2))
    never = replace(case, oil=replace(case.oil, misleading=0.0))
    usual = roughly(found(case))
    assert usual is not None
    failure, lead = np.linspace(92_000, 130_000, 7)[:, None], np.array([3_000.0, 20_000, 60_000])
    told = usual.log_likelihood(failure, lead)
    fewer = case_with_oil(ROWS[:-1], "reading,oil_age,Pb,Cu", misleading=0.2)
    for other in (often, never, fewer):
        alone = roughly(found(other))
        assert alone is not None
        shared = alone.as_alike(usual)
        assert (shared is alone) == (other is not often)
        np.testing.assert_allclose(
            shared.log_likelihood(failure, lead), alone.log_likelihood(failure, lead), atol=1e-12
        )
        assert not np.allclose(shared.log_likelihood(failure, lead), told)
