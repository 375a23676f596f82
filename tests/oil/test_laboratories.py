"""An engine whose oil is read by more than one laboratory."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import norm
from scipy.stats import t as student

from riskmodel.decision.pf_rule import warned
from riskmodel.oil.history import FINE, History, history, many_likelihoods
from riskmodel.oil.laboratories import OF_MEDIAN, apart, laboratory_of, level_elsewhere
from riskmodel.oil.rise import log_fill_mean
from riskmodel.records.tables import OilSample
from riskmodel.risk.oil_look import oil_look
from tests.oil.made import case_with_oil, element

Floats = NDArray[np.float64]

AGES = np.array([90_100.0, 95_000.0, 105_000.0, 130_000.0])
BEFORE = [(50_000, 4), (60_000, 5), (70_000, 4)]
AFTER = [(80_000, 7), (90_000, 8)]
Rows = Sequence[tuple[int, int]]


def read(rows: Rows, labs: Sequence[str], **lead: object) -> History:
    """Of one metal, each fill filled anew, no sample misleading."""
    lines = [f"{at},10000,{ppm},{lab}" for (at, ppm), lab in zip(rows, labs, strict=True)]
    known = [element("Pb", **{"scatter": 1.3, "rise": 3.0, "noise": 0.5, **lead})]
    made = history(
        case_with_oil(lines, "reading,oil_age,Pb,lab", elements=known, carry_over=0, misleading=0)
    )
    assert made is not None
    return made


def test_who_read_what() -> None:
    def told(*labs: str) -> list[int]:
        rows = [OilSample(None, 1.0, 1.0, None, 0.0, lab, {}) for lab in labs]
        return laboratory_of(rows).tolist()

    assert told("", "", "") == [0, 0, 0]
    assert told("A", "", "A") == [0, 0, 0]
    assert told("", "A", "") == [0, 0, 0]  # a laboratory that is not named is no other one
    assert told("Lab A", "lab  a", "LAB A ") == [0, 0, 0]
    assert told("A", "A", "B", "") == [0, 0, 1, 1]
    assert told("A", "B", "A") == [1, 0, 1]  # the one in use comes last


def test_two_laboratories_differ_by_what_the_standard_leaves() -> None:
    """Limits of repeatability and reproducibility for lead at 10 ppm, 3.3 and 6.9 ppm (ASTM D5185,
    as a trade article on the variability of oil analysis gives them) are 2.77 standard deviations;
    of the variance between laboratories the part that one alone has is no difference of two."""
    between = math.sqrt(2 * ((6.9 / 2.77) ** 2 - (3.3 / 2.77) ** 2)) / 10
    assert apart("Pb", 10.0) == pytest.approx(between, rel=0.01)
    assert apart("Pb", 5.0) > 1.4 * apart("Pb", 10.0)


def test_they_differ_by_no_less_than_other_methods_would() -> None:
    for symbol in ("Cu", "Fe", "Ag"):  # by the standard 0.11 and 0.16 at 10 ppm, and not told
        assert apart(symbol, 10.0) == 0.3


@pytest.mark.parametrize("apart_by", [0.3, 0.6])
def test_a_level_learned_elsewhere_is_as_true_as_it_is_said_to_be(apart_by: float) -> None:
    """Levels drawn, read in one laboratory, and looked for in another one."""
    rng, engines, spread = np.random.default_rng(3), 4_000, 0.5
    scale = np.full(5, 0.35)
    # each sees engines so far apart, and the two differ so much: neither is the one to go by
    common, own_way = math.sqrt(spread**2 - apart_by**2 / 2), apart_by / math.sqrt(2)
    away = []
    for usual in rng.normal(1.0, common, engines):
        level, elsewhere = usual + own_way * rng.standard_normal(2)
        log_rate = elsewhere + scale * rng.standard_normal(5)
        middle, own = level_elsewhere(1.0, spread, log_rate, scale, apart_by)
        away.append((level - middle) / own)
    assert np.mean(away) == pytest.approx(0, abs=4 / math.sqrt(engines))
    # a median of five is a little surer than one of many, as which it is taken
    assert 0.94 < np.std(away) < 1.02


def test_a_level_learned_elsewhere_at_its_ends() -> None:
    log_rate, scale = np.array([0.2, 0.5, 1.9]), np.full(3, 0.3)
    assert level_elsewhere(1.0, 0.5, log_rate[:0], scale[:0], 0.3) == (1.0, 0.5)
    assert level_elsewhere(1.0, 0.0, log_rate, scale, 0.3) == (1.0, 0.0)
    assert level_elsewhere(1.0, 0.5, log_rate, scale, 1e6) == pytest.approx((1.0, 0.5))
    wide = level_elsewhere(1.0, 1e6, log_rate, scale, 0.0)
    assert wide == pytest.approx((0.5, math.sqrt(OF_MEDIAN * 0.09 / 3)))


def test_each_laboratory_has_a_level_of_its_own() -> None:
    """The two likelihoods are those of two engines of like distress, the level of the second known
    from the first as closely as laboratories agree."""
    rows = [*BEFORE, *AFTER]
    both = read(rows, ["A", "A", "A", "B", "B"])
    assert both.symbols == ("Pb", "Pb")
    assert both.used == {"Pb": 2}
    centre, spread = math.log(0.4), math.log(2) / 1.6448536269514722
    scale = math.hypot(math.log(1.3), 0.5 / 4)
    before = math.sqrt(0.35 * 0.45)  # 4 ppm, rounded, in 10,000 km
    alike = 1 - apart("Pb", 10 * before) ** 2 / (2 * spread**2)  # levels in two are so correlated
    weight = spread**2 / (spread**2 + (math.pi / 2) * scale**2 / 3)
    middle = centre + alike * weight * (math.log(before) - centre)
    own = spread * math.sqrt(1 - alike**2 * weight) * norm.ppf(0.95)
    typical = [math.exp(middle - own), math.exp(middle + own)]
    # of the second alone the noise counts against its own level
    noise = 0.5 * math.exp(middle) / 0.4
    first, second = read(BEFORE, "AAA"), read(AFTER, "BB", typical=typical, noise=noise)
    finer = replace(FINE, table=0.005)
    both, first, second = (replace(each, nodes=finer) for each in (both, first, second))
    for lead in (8_000.0, 25_000.0):
        alone = first.log_likelihood(AGES, lead) + second.log_likelihood(AGES, lead)
        np.testing.assert_allclose(both.log_likelihood(AGES, lead), alone, atol=5e-4)


def test_a_laboratory_that_reads_otherwise_does_so_in_all_metals() -> None:
    """Of two metals that step together each bears its root: apart by the square root of two."""
    lines = ["60000,10000,4,5,A", "70000,10000,4,5,A", "80000,10000,4,5,B"]

    wide = [element(each, typical=[0.05, 3.2]) for each in ("Pb", "Cu")]
    between = math.log(8) / 1.6448536269514722

    def apart_by(columns: str, rows: Sequence[str], elements: int) -> float:
        """How far the two are taken to be apart in lead, from how sure the second's level is."""
        known = wide[:elements]
        made = history(case_with_oil(rows, columns, elements=known, carry_over=0, misleading=0))
        assert made is not None
        of_lead = made.symbols.index("Pb") + 1
        seen = (math.pi / 2) * made.samples.scale[0, 0, of_lead] ** 2 / 2
        left = made.samples.spread[0, of_lead] ** 2 / between**2
        alike = math.sqrt((1 - left) * (between**2 + seen) / between**2)
        return between * math.sqrt(2 * (1 - alike))

    pair = apart_by("reading,oil_age,Cu,Pb,lab", lines, 2)
    alone = apart_by("reading,oil_age,Pb,lab", [line[:12] + line[14:] for line in lines], 1)
    assert alone == pytest.approx(apart("Pb", math.sqrt(4.5 * 5.5)))
    assert pair == pytest.approx(math.sqrt(2) * alone)


def test_a_metal_that_one_sample_lacks_and_one_below_what_can_be_told() -> None:
    lines = ["60000,10000,4,,A", "70000,10000,<1,5,A", "80000,10000,4,5,B", "90000,10000,,5,B"]
    made = history(case_with_oil(lines, "reading,oil_age,Pb,Cu,lab", carry_over=0, misleading=0))
    assert made is not None
    assert made.symbols == ("Cu", "Cu", "Pb", "Pb")
    assert made.samples.measured[0].sum(axis=1).tolist() == [1, 2, 2, 1]
    assert np.isfinite(made.factor(AGES)).all()


def test_what_is_no_longer_measured_is_no_longer_known() -> None:
    lines = ["60000,10000,4,5,A", "70000,10000,4,5,A", "80000,10000,4,,B"]
    made = history(case_with_oil(lines, "reading,oil_age,Pb,Cu,lab"))
    assert made is not None
    assert made.symbols == ("Cu", "Pb", "Pb")
    assert made.used == {"Pb": 1}


def test_a_step_at_a_change_of_laboratory_counts_less_than_one_without() -> None:
    rows = [*BEFORE, *AFTER]
    one, two = read(rows, "AAAAA"), read(rows, ["A", "A", "A", "B", "B"])
    soon = slice(0, 2)
    assert np.all(one.factor(AGES)[soon] - 1 > 2 * (two.factor(AGES)[soon] - 1))
    named = read(rows, ["A", "", "", "A", ""])
    np.testing.assert_array_equal(named.factor(AGES), one.factor(AGES))
    # and still a surge within the second speaks
    surge = read([*BEFORE, (80_000, 7), (90_000, 21)], ["A", "A", "A", "B", "B"])
    assert surge.factor(AGES)[0] > 2


def test_many_at_once_are_read_the_same() -> None:
    rows = [*BEFORE, *AFTER]
    two = read(rows, ["A", "A", "A", "B", "B"])
    alone = two.likelihood(AGES)
    together = many_likelihoods([two, read(rows, "AAAAA")], np.stack([AGES, AGES]))
    np.testing.assert_allclose(together[0], alone, rtol=0.02)


def test_a_sample_that_counts_for_nothing_still_tells_whose_the_next_ones_are() -> None:
    """One of the break-in, or of iron alone, names the laboratory of those after it."""
    later = ["40000,10000,4,{}", "50000,10000,4,{}", "60000,10000,5,B", "70000,10000,9,B"]

    def factor(first: str, name: str, columns: str = "reading,oil_age,Pb,lab") -> Floats:
        rows = [first, *(line.format(name) for line in later)]
        made = history(case_with_oil(rows, columns, break_in=12_000))
        assert made is not None
        return made.factor(AGES)

    told = factor("10000,10000,6,A", "A")
    np.testing.assert_array_equal(factor("10000,10000,6,A", ""), told)
    assert np.all(factor("10000,10000,6,", "")[:2] > told[:2])
    iron = case_with_oil(
        ["60000,10000,4,,A", "70000,10000,4,,A", "80000,10000,,12,B"], "reading,oil_age,Pb,Fe,lab"
    )
    made = history(iron)
    assert made is not None
    assert made.used == {}  # samples go to one that has not read the part's metals yet


def test_what_sampling_would_catch_is_told_alike_by_samples_and_by_intervals() -> None:
    rows = ["60000,10000,4,A", "70000,10000,4,A", "80000,10000,4,A", "90000,10000,5,B"]
    case = case_with_oil(rows, "reading,oil_age,Pb,lab")
    look, rule = oil_look(case), warned(case, history(case))
    assert look.foresight is not None
    assert rule is not None
    assert look.foresight == rule.caught


def by_integration(rows: Rows, labs: str, failure: float, lead: float) -> float:
    """ln likelihood ratio of two laboratories' readings of one metal: both levels integrated over,
    each as far from engine to engine as usual, and their difference that of two laboratories."""
    at, ppm = np.array([each[0] for each in rows], dtype=float), np.array([r[1] for r in rows])
    low, high = np.log((ppm - 0.5) / 10), np.log((ppm + 0.5) / 10)
    lifted = log_fill_mean(failure - lead, failure, at, np.full(len(at), 1e4), math.log(3), 0.0)
    scale, spread = math.hypot(math.log(1.3), 0.5 / 4), math.log(2) / norm.ppf(0.95)
    before = np.array([each != labs[-1] for each in labs])
    differ = apart("Pb", float(np.median(ppm[before])))
    z = np.linspace(-5, 5, 121)
    weight = norm.pdf(z) / norm.pdf(z).sum()
    common = math.log(0.4) + math.sqrt(spread**2 - differ**2 / 2) * z
    level = common[:, None] + differ / math.sqrt(2) * z

    def told(shift: Floats) -> float:
        both = np.ones(len(z))
        for some in (before, ~before):
            ends = ((e[some] - shift[some] - level[..., None]) / scale for e in (high, low))
            above, below = (student.cdf(each, 4) for each in ends)
            both *= np.prod(above - below, axis=-1) @ weight
        return float(both @ weight)

    return math.log(told(lifted) / told(np.zeros(len(at))))


@pytest.mark.parametrize(
    ("ppm", "labs"),
    [
        ((4, 5, 4, 4, 5), "AAAAB"),
        ((4, 5, 4, 9, 15), "AAABB"),
        ((4, 5, 9, 12, 15), "AABBB"),
        ((4, 5, 4, 4, 15), "AAAAB"),
    ],
)
def test_two_levels_weigh_nearly_as_both_integrated_over(
    ppm: tuple[int, ...], labs: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nearly: the second's level rests on the median of what the first read, as if no distress
    had lifted it. Surges are taken at their word, as the integral does."""
    monkeypatch.setattr("riskmodel.oil.columns.held", lambda low, high, *_: (low, high))
    rows = list(zip(range(50_000, 100_000, 10_000), ppm, strict=True))
    made = read(rows, list(labs))
    for lead in (8_000.0, 25_000.0):
        for failure in (90_100.0, 97_000.0):
            told = float(made.log_likelihood(failure, lead)[0])
            assert told == pytest.approx(by_integration(rows, labs, failure, lead), abs=0.07)
