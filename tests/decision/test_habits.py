"""Changed habits, weighed: the chance, the plan and the money, against simulation and by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import tomli_w

from riskmodel.decision.habits import Habit, habits
from riskmodel.decision.weigh import weigh
from riskmodel.life.posterior import Curves
from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files, changed
from riskmodel.risk.chance_parts import parts_of_chance
from riskmodel.risk.driven import Driven, driven, own_curves
from riskmodel.use.ahead import AS_NOW, HALF_USAGE, NO_COMPETITION
from riskmodel.use.effective_age import use_of
from riskmodel.use.mix import Mix
from tests.risk.cases import case_with

CURVES = Curves(np.array([2.0, 3.0]), np.array([2e5, 1.6e5]), np.array([0.4, 0.6]))
KINDS = [
    {"name": "town", "population_share": 0.3, "harshness": 1.0},
    {"name": "track days", "population_share": 0.0, "harshness": [1.5, 3.5]},
]
SHARES = {"town": 0.3, "track days": 0.4}


def track_car(samples: bool = False, **more: Any) -> Case:
    """A car that spends two fifths of its usage on track; nothing but its harshness is unsure."""
    oil: dict[str, Any] = {"interval": 10_000, "next_change_in": 8_000, "turnaround": 400}
    sections: dict[str, Any] = {
        "format": 1,
        "machine": {"unit": "km", "reading": 80_000, "usage_per_year": 10_000},
        "life": {"b50_prior": [1e5, 3e5]},
        "use": {"kinds": KINDS, "stretches": [{"until": 80_000, "shares": SHARES}]},
        "oil": oil,
        "cost": {"planned": 2_500, "failure": 12_000, "oil_change": 150, "install_fault": 0},
        "plan": {"keep_years": 3, "new_part_life": 1},
    }
    files = {}
    if samples:
        lead = {"typical": [0.15, 0.9], "scatter": 1.3, "rise": [4, 20], "from_part": True}
        oil |= {"samples": "oil.csv", "element": [{"symbol": "Pb", **lead}]}
        files["oil.csv"] = b"age,oil_age,Pb\n71000,7000,4\n79000,7000,9\n"
    for name, values in more.items():
        sections[name] = {**sections.get(name, {}), **values}
    return case_from_files({"case.toml": tomli_w.dumps(sections).encode(), **files})


def failing(found: Driven, within: float) -> np.ndarray:
    """Chance of failure at each pair, written out."""
    aged = found.aged
    now, then = aged.age / aged.scale, (aged.age + within) / aged.scale
    return np.asarray(-np.expm1(now**aged.shape - then**aged.shape))


def by_key(found: tuple[Habit, ...]) -> dict[str, Habit]:
    return {each.key: each for each in found}


def test_as_now_is_what_weighing_the_case_says() -> None:
    case = track_car(samples=True)
    w, now = weigh(case, retest=False), habits(case)[0]
    assert now.key == AS_NOW
    chance = w.risk[1].chance
    found = now.chance
    assert (found.value, found.low, found.high) == pytest.approx(
        (chance.value, chance.low, chance.high), rel=1e-9
    )
    assert w.best is not None
    assert now.at == w.best.at
    assert now.cost.value == pytest.approx(w.best.cost.value, rel=1e-9)
    assert now.failure == pytest.approx(w.best.failure.value, rel=1e-9)
    assert (now.less.value, now.gained.value) == (0, 0)


@pytest.mark.parametrize("samples", [False, True])
def test_gentler_habits_lower_the_chance_and_the_cost(samples: bool) -> None:
    found = habits(track_car(samples))
    assert [each.key for each in found] == [AS_NOW, NO_COMPETITION, HALF_USAGE]
    now = found[0]
    for each in found[1:]:
        assert each.chance.value < now.chance.value
        assert each.less.value == pytest.approx(now.chance.value - each.chance.value, rel=1e-6)
        assert each.gained.value == pytest.approx(now.cost.value - each.cost.value, rel=1e-6)
        assert each.gained.value > 0
        # told on the same engine: known better than the chance itself, and never for the worse
        assert 0 <= each.less.low <= each.less.value <= each.less.high
        assert each.less.high - each.less.low < now.chance.high - now.chance.low


def test_what_a_habit_gains_is_what_weighing_the_changed_case_says() -> None:
    """A use ahead that a case can state, stated: near enough, as curves are then paired anew."""
    case = track_car()
    gentler = by_key(habits(case))[NO_COMPETITION]
    stated = weigh(changed(case, {"use.ahead": {"town": 0.3}}))
    assert gentler.chance.value == pytest.approx(stated.risk[1].chance.value, rel=5e-3)
    assert stated.best is not None
    assert gentler.cost.value == pytest.approx(stated.best.cost.value, rel=5e-3)
    assert gentler.at == stated.best.at


def test_half_the_usage_is_half_the_way_in_as_many_years() -> None:
    case = track_car()
    half = by_key(habits(case))[HALF_USAGE]
    assert half.usage == 5_000
    stated = weigh(changed(case, {"machine.usage_per_year": 5_000}))
    assert stated.keep == 15_000
    assert half.chance.value == pytest.approx(stated.risk[1].chance.value, rel=1e-9)
    assert stated.best is not None
    assert half.cost.value == pytest.approx(stated.best.cost.value, rel=1e-9)


def test_chance_and_difference_against_brute_force() -> None:
    case = track_car()
    now, gentler, half = habits(case, CURVES)
    random = np.random.default_rng(11)
    draws = 2_000_000
    kind = case.use.kinds[1].harshness
    harsh = kind.quantile(random.standard_normal(draws))
    # the curves given know of survival to the plain age; it is told in effective ages instead
    before = CURVES.weight * np.exp((80_000 / CURVES.scale) ** CURVES.shape)
    curve = random.choice(2, draws, p=before / before.sum())
    life = CURVES.scale[curve] * random.weibull(CURVES.shape[curve])
    # the population has no track days, so ordinary use ages by 1
    rate = 1 + 0.4 * (harsh - 1)
    age = 80_000 * rate
    lasts = life > age
    left, rate = (life - age)[lasts], rate[lasts]
    for told, usage, pace in ((now, 10_000, rate), (gentler, 10_000, 1.0), (half, 5_000, rate)):
        gone = left <= usage * pace
        error = 3 * gone.std() / len(gone) ** 0.5
        assert told.chance.value == pytest.approx(gone.mean(), abs=error)


def test_difference_is_told_node_by_node() -> None:
    """By hand at each pair of a curve and a harshness."""
    case = track_car()
    _, gentler, _ = habits(case, CURVES)
    now = driven(case, CURVES)
    then = driven(case, CURVES, use=use_of(case).with_ahead(Mix({"town": 0.3})))
    assert np.array_equal(now.aged.node, then.aged.node)
    assert np.array_equal(now.aged.weight, then.aged.weight)

    gained = failing(now, 10_000) - failing(then, 10_000)
    assert gentler.less.value == pytest.approx(gained @ now.aged.weight, rel=1e-9)
    # where track days are harsher, the past was harder, and giving them up gains more
    pace, first = use_of(case).ahead[now.aged.node], now.aged.curve == 0
    assert np.all((gained > 0) == (pace > 1))
    assert np.all(np.diff(gained[first][np.argsort(pace[first])]) >= 0)


def test_no_habit_is_weighed_beside_symptoms() -> None:
    assert habits(track_car(machine={"symptoms": ["knock"]})) == ()


# --- where the interval comes from -----------------------------------------------------------


def test_shares_of_the_interval_add_up() -> None:
    for samples in (False, True):
        found = parts_of_chance(track_car(samples))
        names = ("records", "harshness", "history", "lead", "oil")
        assert found.names == (names if samples else names[:3])
        assert sum(found.shares) + found.together == pytest.approx(1)
        assert dict(zip(found.names, found.shares, strict=True))["history"] == pytest.approx(0)


def test_what_is_known_owes_nothing_and_what_alone_is_not_known_owes_all() -> None:
    life = {"shape_prior": 2.5, "b50_prior": 170_000.0}
    found = parts_of_chance(track_car(life=life))
    assert found.shares == pytest.approx((0, 1, 0))
    told = {"kinds": [], "stretches": [{"until": 80_000, "shares": {}}]}
    known = parts_of_chance(track_car(use=told))
    assert known.shares == pytest.approx((1, 0, 0))


def test_the_few_nodes_of_the_split_have_the_spread_of_all() -> None:
    """Three points over a harshness against every node of it."""
    case = track_car()
    curves = own_curves(case)
    found = driven(case, curves, each=len(use_of(case).weight))
    chance, weight = failing(found, 8_000), found.aged.weight
    deviation = np.sqrt((chance - chance @ weight) ** 2 @ weight)
    assert parts_of_chance(case).deviation == pytest.approx(deviation, rel=1e-3)


def test_untold_use_has_a_part_of_its_own() -> None:
    untold = parts_of_chance(case_with(None, life={"b50_prior": [1e5, 3e5]}))
    assert untold.shares[2] > 0.02
