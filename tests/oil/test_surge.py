"""A surge counts as what the rise explains: no worse report makes a better engine."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate

from riskmodel.oil.history import history
from riskmodel.oil.surge import WIDTH, held, marks
from riskmodel.page.examples import EXAMPLES, example
from riskmodel.records.case import Case
from riskmodel.records.tables import Reading
from riskmodel.risk.life_curves import average_curves
from riskmodel.risk.with_oil import chance_with_oil


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
    assert found == pytest.approx([found[0]] * len(found), rel=1e-3)
    assert factor(case) < 2


@pytest.mark.parametrize("own", [("Pb",), ("Pb", "Cu"), ("Pb", "Cu", "Sn")])
def test_a_higher_reading_hardly_ever_says_less(own: tuple[str, ...]) -> None:
    """From the usual to far beyond the mark; rounding alone may take back a little."""
    case = example("road-car")
    found = [factor(surged(case, times, own)) for times in (1, 1.5, 2, 2.5, 3, 4, 6, 12, 50)]
    assert np.all(np.diff(np.log(found)) > -0.02)
    assert found[-1] > 2 * found[0]


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


def test_history_holds_the_surge_at_its_mark() -> None:
    taken = history(surged(example("road-car"), 20, ("Pb",)))
    assert taken is not None
    lead = taken.symbols.index("Pb")
    width = (taken.samples.high - taken.samples.low)[0, lead]
    assert width[-1] == pytest.approx(WIDTH)
    assert (width[:-1] < 3).all()
