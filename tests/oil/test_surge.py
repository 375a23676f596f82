"""A surge counts as one where readings speak loudest: no worse report makes a better engine."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import integrate, optimize, stats

from riskmodel.oil import columns
from riskmodel.oil.evidence_student import student_density
from riskmodel.oil.history import history
from riskmodel.oil.surge import WIDTH, held, loudest, marks
from riskmodel.page.examples import EXAMPLES, example
from riskmodel.records.case import Case
from riskmodel.records.tables import Reading
from riskmodel.risk.life_curves import average_curves
from riskmodel.risk.with_oil import chance_with_oil
from tests.oil.made import case_with_oil, element

Floats = NDArray[np.float64]


def surged(case: Case, times: float, symbols: tuple[str, ...]) -> Case:
    """The case with the last reading of some elements so many times as high."""
    assert case.samples is not None
    *rows, last = case.samples.rows
    elements = {
        symbol: Reading(round(reading.value * times)) if symbol in symbols else reading
        for symbol, reading in last.elements.items()
    }
    rows.append(replace(last, elements=elements))
    return replace(case, samples=replace(case.samples, rows=tuple(rows)))


def factor(case: Case) -> float:
    """How many times likelier failure before the next oil change has become."""
    ahead = np.array([case.next_change_in])
    return float(chance_with_oil(case, average_curves(case), ahead).factor[0])


@pytest.mark.parametrize("folder", EXAMPLES)
def test_no_surge_of_the_parts_own_metals_is_too_great_to_count(folder: str) -> None:
    """Common practice, no source: a sudden surge of lead has saved an engine."""
    case, own = example(folder), ("Pb", "Cu", "Sn")
    found = [factor(surged(case, times, own)) for times in (4, 8, 20, 100, 1000)]
    assert min(found) > 4
    assert found[0] < 1.001 * found[1]
    assert found[1:] == pytest.approx([found[1]] * 4, rel=1e-3)
    assert factor(case) < 2


OWN = [("Pb",), ("Cu",), ("Sn",), ("Pb", "Cu"), ("Pb", "Cu", "Sn")]


@pytest.mark.parametrize("own", OWN)
@pytest.mark.parametrize("folder", EXAMPLES)
def test_a_higher_reading_hardly_ever_says_less(folder: str, own: tuple[str, ...]) -> None:
    """From the usual to far beyond the place; rounding and what the place leaves off, that rise,
    lead and level are not known, may take back a little."""
    case = example(folder)
    found = [factor(surged(case, times, own)) for times in (1, 1.5, 2, 2.5, 3, 4, 6, 12, 50)]
    logs = np.log(found)
    assert np.all(np.maximum.accumulate(logs) - logs < 0.02)
    assert found[-1] > found[0]
    if "Pb" in own:
        assert found[-1] > 2 * found[0]


def made(number: int) -> tuple[Case, tuple[str, ...]]:
    """An engine with one to five usual samples of one to three elements, all drawn, and those of
    them that are to surge."""
    rng = np.random.default_rng([2_611, number])
    symbols, n = ("Pb", "Cu", "Sn")[: rng.integers(1, 4)], int(rng.integers(1, 6))
    elements, readings = [], []
    for symbol in symbols:
        median, wide = rng.uniform(0.15, 1.0), rng.uniform(1.5, 2.5)
        rise, scatter = np.exp(rng.uniform(np.log(3), np.log(12))), rng.uniform(1.15, 1.5)
        elements.append(
            element(
                "Pb",
                symbol=symbol,
                typical=[median / wide, median * wide],
                scatter=scatter,
                rise=[rise / 1.8, rise * 1.8],
                noise=float(rng.choice([0.0, 0.3, 0.6])),
            )
        )
        level = 10 * median * wide ** (rng.standard_normal() / 1.645)
        readings.append(np.maximum(np.round(level * scatter ** rng.standard_normal(n)), 1))
    rows = [
        f"{100_000 - 10_000 * (n - 1 - i)},10000," + ",".join(f"{r[i]:.0f}" for r in readings)
        for i in range(n)
    ]
    lead = np.exp(rng.uniform(np.log(4_000), np.log(25_000)))
    case = case_with_oil(
        rows,
        "reading,oil_age," + ",".join(symbols),
        elements=elements,
        reading=100_500,
        misleading=float(rng.choice([0.0, 0.01, 0.02, 0.05])),
        shared_scatter=float(rng.choice([0.0, 0.5])),
        warning={"lead": [lead / 2, 2 * lead], "lead_factor": [0.5, 2.0], "silent": 0.25},
    )
    return case, symbols if rng.random() < 0.6 else symbols[:1]


def unheld(low: Floats, high: Floats, *_: object) -> tuple[Floats, Floats]:
    return low, high


FAILURE: Floats = 100_500 + np.array([500.0, 3_000.0, 9_000.0])
CLIMB: Floats = np.exp(np.arange(0.0, 3.7, 0.3))
BIG = 100.0
"""A factor beyond which failure is as good as sure: what more would say is not looked at."""


def says(case: Case) -> float:
    found = history(case)
    assert found is not None
    return float(np.log(found.factor(FAILURE).mean()))


@pytest.mark.parametrize("number", range(12))
def test_no_history_makes_a_higher_reading_say_less(number: int) -> None:
    case, own = made(number)
    logs = np.array([says(surged(case, by, own)) for by in (*CLIMB, 100.0, 1_000.0)])
    assert np.all(np.maximum.accumulate(logs) - logs < 0.03)
    assert logs[-1] == pytest.approx(logs[-2], abs=0.005)


@pytest.mark.parametrize("number", range(12, 60))
def test_hardly_a_history_makes_a_higher_reading_say_less(number: int) -> None:
    """One place for all elements, in times of their own, may take back a little: 0.133 in the worst
    of these, by which the bound is set."""
    case, own = made(number)
    logs = np.array([says(surged(case, by, own)) for by in (*CLIMB, 100.0, 1_000.0)])
    logs = np.minimum(logs, np.log(BIG))
    assert (np.maximum.accumulate(logs) - logs).max() < 0.14
    assert logs[-1] == pytest.approx(logs[-2], abs=0.005)


def test_most_histories_take_nothing_back() -> None:
    backs = []
    for number in range(20):
        case, own = made(number)
        logs = np.array([says(surged(case, by, own)) for by in (*CLIMB[::2], 100.0)])
        backs.append((np.maximum.accumulate(logs) - logs).max())
    assert np.mean(backs) < 0.01


@pytest.mark.parametrize("samples", [1, 2, 3])
@pytest.mark.parametrize("own", [("Pb",), ("Pb", "Cu", "Sn")])
@pytest.mark.parametrize("folder", EXAMPLES)
def test_a_surge_in_an_early_sample_says_all_that_any_reading_would(
    folder: str, own: tuple[str, ...], samples: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However little is known of an engine's own level: no first report is held too early."""
    case = example(folder)
    assert case.samples is not None
    rows = case.samples.rows[-samples:]
    case = replace(case, samples=replace(case.samples, rows=rows))
    told = factor(surged(case, 50, own))
    monkeypatch.setattr(columns, "held", unheld)
    loudest_told = max(factor(surged(case, by, own)) for by in (*CLIMB, 7, 9, 11, 14))
    assert told > 0.96 * loudest_told
    assert factor(surged(case, 50, own)) < told


@pytest.mark.parametrize("times", [1, 2, 3])
def test_nothing_is_touched_below_the_place(times: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tin, near the least that is seen, scatters beyond what distress shows: taken at its word."""
    case = surged(example("road-car"), times, ("Sn",))
    told, taken = factor(case), history(case)
    monkeypatch.setattr(columns, "held", unheld)
    plain = history(case)
    assert taken is not None
    assert plain is not None
    assert np.array_equal(taken.samples.low, plain.samples.low)
    assert np.array_equal(taken.samples.high, plain.samples.high)
    assert told == factor(case)


def test_beyond_the_mark_and_below_the_place_is_where_that_matters() -> None:
    case = surged(example("road-car"), 3, ("Sn",))
    taken = history(case)
    assert taken is not None
    s, e = taken.samples, taken.symbols.index("Sn")
    mark = marks(
        s.at[0], s.oil_age[0], s.top_up_rate[0], case.warning.lead.median, s.log_rise[0, e]
    )
    column = s.low[0, e], s.high[0, e], s.scale[0, e], s.centre[0, e], s.spread[0, e]
    assert held(*column, mark)[0][-1] < s.low[0, e, -1]


def test_the_place_is_where_scipy_finds_the_ratio_largest() -> None:
    """Worked beforehand: densities of scipy, its bounded search from many beginnings."""
    for mark, scale, spread, share in [
        (1.3, 0.27, 0.5, 0.02), (0.8, 0.5, 0.5, 0.02), (0.8, 0.5, 0.5, 0.27),
        (2.2, 0.2, 0.3, 0.1), (0.2, 0.4, 0.0, 0.02), (3.0, 0.15, 0.6, 0.5),
    ]:  # fmt: skip

        def quiet(
            x: float, mark: float = mark, scale: float = scale, s: float = spread, m: float = share
        ) -> float:
            none = (1 - m) * stats.t.pdf(x, 4, scale=scale)
            none += m * stats.norm.pdf(x, scale=np.hypot(s, 1.5))
            return float(-stats.t.pdf(x, 4, mark, scale) / none)

        ends = np.linspace(mark, mark + 2 * scale, 8)
        tried = [
            optimize.minimize_scalar(quiet, bounds=pair, method="bounded", options={"xatol": 1e-9})
            for pair in itertools.pairwise(ends)
        ]
        best = min(tried, key=lambda one: float(one.fun))
        place = loudest(np.array([mark]), np.array([scale]), spread, np.array([share]))
        assert place == pytest.approx([best.x], abs=1e-3 * scale)


def test_without_samples_that_mislead_the_place_is_in_closed_form() -> None:
    """The derivative of ln t4(x - d) - ln t4(x) is 0 at x (x - d) = 4."""
    mark, scale = np.array([0.0, 0.3, 1.0, 2.5]), np.array([0.3, 0.3, 0.5, 0.2])
    d = mark / scale
    place = loudest(mark, scale, 0.4, np.zeros(4)) / scale
    assert place[1:] == pytest.approx(d[1:] / 2 + np.sqrt(d[1:] ** 2 / 4 + 4), abs=2e-3)
    assert place[1:] * (place[1:] - d[1:]) == pytest.approx(4, abs=0.01)


def test_the_place_is_never_below_the_mark_and_nearer_it_where_more_samples_mislead() -> None:
    mark, scale = np.linspace(0.0, 3.0, 13), np.full(13, 0.35)
    places = [loudest(mark, scale, 0.5, np.full(13, share)) for share in (0.0, 0.02, 0.2, 0.5)]
    assert np.all(places[-1] >= mark)
    assert np.all(np.diff(places, axis=0) <= 1e-3)
    assert places[0][5] > places[1][5] + 0.01


def test_the_density_of_t4_is_that_of_scipy() -> None:
    t = np.linspace(-30, 30, 61)
    assert student_density(t) == pytest.approx(stats.t.pdf(t, 4), rel=1e-12)


def test_elements_surge_each_at_a_place_of_its_own() -> None:
    """How far lead is above its place moves no other element's reading."""
    case = example("road-car")
    few, many = (history(surged(case, times, ("Pb",))) for times in (4, 400))
    assert few is not None
    assert many is not None
    assert np.array_equal(few.samples.low, many.samples.low)
    plain = history(case)
    assert plain is not None
    other = [i for i, symbol in enumerate(plain.symbols) if symbol != "Pb"]
    assert np.array_equal(plain.samples.low[0, other], many.samples.low[0, other])


def test_a_surge_of_another_metal_moves_nothing() -> None:
    case = example("road-car")
    assert factor(surged(case, 30, ("Fe", "Si"))) == factor(case)


def test_the_mark_is_the_mean_rise_of_a_fill_drained_at_failure() -> None:
    at, oil_age, lead, log_rise = 50_000.0, 10_000.0, 12_000.0, np.log(9.0)

    def rise(s: float) -> float:
        return float(np.exp(log_rise * np.clip((s - (at - lead)) / lead, 0, 1)))

    mean = integrate.quad(rise, at - oil_age, at)[0] / oil_age
    found = marks(np.array([at]), np.array([oil_age]), np.zeros(1), lead, log_rise)
    assert found == pytest.approx([np.log(mean)], rel=1e-9)


def test_the_level_is_learned_from_the_samples_before() -> None:
    low, high = np.log([0.9, 0.9, 0.9, 30.0]), np.log([1.1, 1.1, 1.1, 33.0])
    scale, mark = np.full(4, 0.3), np.full(4, np.log(4.0))
    put, ends = held(low, high, scale, np.log(3.0), 0.8, mark)
    assert put[:3].tolist() == low[:3].tolist()
    middle = (low[:3] + high[:3]) / 2
    level = (np.log(3.0) / 0.8**2 + middle.sum() / 0.3**2) / (1 / 0.8**2 + 3 / 0.3**2)
    assert (put[3] + ends[3]) / 2 == pytest.approx(level + mark[3])
    assert ends[3] - put[3] == pytest.approx(WIDTH)


def test_history_holds_the_surge_at_its_place() -> None:
    taken = history(surged(example("road-car"), 20, ("Pb",)))
    assert taken is not None
    lead = taken.symbols.index("Pb")
    width = (taken.samples.high - taken.samples.low)[0, lead]
    assert width[-1] == pytest.approx(WIDTH)
    assert (width[:-1] < 3).all()
