"""Other engines' samples: rates by the same balance, learned levels against a known truth, limits
against textbook figures, and what the case takes of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import tomli_w

from riskmodel.oil.fleet import Fleet, fleet, lying_above, with_usual
from riskmodel.oil.mass_balance import wear_rates
from riskmodel.records.case import Case
from riskmodel.records.case_reader import raw_case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.files import case_from_files, case_to_files
from riskmodel.records.quantity import Quantity
from riskmodel.risk.oil_look import oil_look
from tests.oil.made import element

COLUMNS = "engine,reading,oil_age,top_up,Pb,Cu"


def case_beside(
    rows: list[str],
    columns: str = COLUMNS,
    *,
    own: list[str] | None = None,
    elements: list[dict] | None = None,
    **oil: object,
) -> Case:
    """A car of 100,000 km with `rows` of other engines' samples, and `own` of its own."""
    named = [element(s) for s in ("Pb", "Cu") if s in columns.split(",")]
    told = {
        "format": 1,
        "machine": {"unit": "km", "reading": 100_000, "usage_per_year": 10_000},
        "life": {"shape_prior": 3.0, "b50_prior": 150_000.0},
        "oil": {
            "interval": 10_000,
            "break_in": 0,
            "fleet": "fleet.csv",
            "element": named if elements is None else elements,
            **oil,
        },
        "cost": {"planned": 2_000, "failure": 12_000},
        "plan": {"keep_years": 3},
    }
    files = {"fleet.csv": "\n".join([columns, *rows, ""]).encode()}
    if own is not None:
        told["oil"]["samples"] = "oil.csv"
        files["oil.csv"] = "\n".join(["reading,oil_age,Pb,Cu", *own, ""]).encode()
    return case_from_files({"case.toml": tomli_w.dumps(told).encode(), **files})


def simulated(
    engines: int,
    samples: int,
    *,
    level: float = 4.0,
    between: float = 0.4,
    scatter: float = 1.3,
    noise: float = 0.4,
    seed: int = 1,
) -> list[str]:
    """Readings as a laboratory prints them, from known levels [ppm per 1,000 km]: carry-over,
    top-ups, noise, whole ppm."""
    draw, rows = np.random.default_rng(seed), []
    for name in range(engines):
        own, ppm, meter = level * np.exp(between * draw.normal()), None, 20_000
        for _ in range(samples):
            oil_age, top_up = int(draw.integers(6_000, 12_000)), float(draw.choice([0, 0.5, 1]))
            meter += oil_age
            rate = own / 1_000 * np.exp(np.log(scatter) * draw.standard_t(4))
            lost = top_up / 5 / oil_age
            made = rate * (oil_age if lost == 0 else -np.expm1(-lost * oil_age) / lost)
            carried = 0.1 * (own / 1_000 * oil_age if ppm is None else ppm)
            ppm = carried * np.exp(-lost * oil_age) + made
            told = max(round(ppm + noise * draw.normal()), 1)
            rows.append(f"e{name},{meter},{oil_age},{top_up},{told}")
    return rows


ONE_METAL = "engine,reading,oil_age,top_up,Pb"


def learned(rows: list[str], **more: object) -> Fleet:
    found = fleet(case_beside(rows, ONE_METAL, elements=[element("Pb", noise=0.4)], **more))
    assert found is not None
    return found


# --- rates -------------------------------------------------------------------------------------


def test_their_rates_are_those_of_the_same_samples_as_ones_own() -> None:
    """An engine's samples give the same rates whether they are its own or another's."""
    own = ["60000,10000,3,5", "70000,9000,<1,4", "80000,8000,6,5"]
    theirs = [f"a,{row.replace('0,', '0,', 1)}" for row in own]
    case = case_beside(
        [*theirs, "b,5000,5000,9,9"], "engine,reading,oil_age,Pb,Cu", own=["9000,9000,1,1"]
    )
    found = fleet(case)
    mine = case_beside(["b,5000,5000,9,9"], "engine,reading,oil_age,Pb,Cu", own=own)
    for one, other in zip(found.rows["a"], wear_rates(mine), strict=True):
        assert one.rates == other.rates
    assert (found.engines, found.samples, found.left_out) == (2, 4, 0)
    # 9 ppm in 5,000 km; a tenth of it taken for what the oil before had left: 0.9 * 9 / 5
    assert found.rows["b"][0].rates["Pb"].point == pytest.approx(1.62)


def test_engines_may_stand_mixed_and_do_not_leave_oil_to_each_other() -> None:
    apart = ["a,10000,9000,0,10,2", "a,20000,9000,0,10,2", "b,10000,9000,0,90,2"]
    mixed = [apart[0], apart[2], apart[1]]
    one, other = fleet(case_beside(apart)), fleet(case_beside(mixed))
    assert one.elements["Pb"].usual == other.elements["Pb"].usual
    assert one.rows["a"][1].rates["Pb"].carried == 1.0


def test_a_part_fitted_later_says_nothing_of_the_others_meters() -> None:
    case = case_beside(["a,10000,9000,0,10,2", "b,3000,3000,0,5,2"], break_in=5_000)
    later = replace(case, part=replace(case.part, fitted_at=90_000.0))
    for found in (fleet(case), fleet(later)):
        assert [row.used for row in found.rows["a"]] == [True]
        assert [row.used for row in found.rows["b"]] == [False]  # of its own running in
        assert found.left_out == 1
        assert found.elements["Pb"].usual.samples == 1


def test_without_any_there_is_nothing_and_the_case_stays_as_it_is() -> None:
    case = case_beside(["a,10000,9000,0,10,2"])
    bare = replace(case, fleet=None)
    assert fleet(bare) is None
    assert with_usual(bare) is bare
    assert oil_look(bare).fleet is None


# --- what is learned ---------------------------------------------------------------------------


def test_a_large_fleet_tells_the_truth_through_rounding_top_ups_and_carry_over() -> None:
    told = learned(simulated(60, 8, seed=5)).elements["Pb"]
    assert told.usual.scatter == pytest.approx(1.3, rel=0.03)
    assert told.usual.between == pytest.approx(0.4, rel=0.2)
    width = 1.6448536 * 0.4
    assert told.usual.typical.low == pytest.approx(4 * np.exp(-width), rel=0.15)
    assert told.usual.typical.high == pytest.approx(4 * np.exp(width), rel=0.15)
    assert (told.usual.engines, told.usual.samples, told.unread) == (60, 480, 0)


def test_the_noise_of_the_laboratory_and_its_rounding_are_no_scatter() -> None:
    """At 2 ppm a reading of whole ppm scatters by itself; that must not be learned as wear's."""
    rows = simulated(40, 8, level=0.25, between=0.2, scatter=1.1, noise=0.0, seed=3)
    rough = fleet(case_beside(rows, ONE_METAL, elements=[element("Pb", noise=0.0)]))
    blind = fleet(
        case_beside(rows, ONE_METAL, elements=[element("Pb", noise=0.0)], resolution=1e-6)
    )
    assert blind.elements["Pb"].usual.scatter > 1.14
    assert rough.elements["Pb"].usual.scatter == pytest.approx(1.1, rel=0.04)


@pytest.mark.slow
def test_the_ranges_hold_the_truth_as_often_as_they_say() -> None:
    """Small fleets of unlike truths, drawn from the priors (so that nine in ten is exact), as a
    laboratory prints them."""
    draw, runs, held = np.random.default_rng(8), 60, np.zeros(3)
    for run in range(runs):
        between = float(Quantity(0.2, 1.25).quantile(draw.normal()))
        within = float(Quantity(0.1, 0.9).quantile(draw.normal()))
        rows = simulated(
            int(draw.integers(4, 13)),
            int(draw.integers(4, 8)),
            level=8.0,
            between=between,
            scatter=float(np.exp(within)),
            seed=run,
        )
        told = learned(rows).elements["Pb"].usual
        another = 8.0 * np.exp(between * draw.normal())
        held += [
            told.typical.low < another < told.typical.high,
            told.scatter_range[0] < np.exp(within) < told.scatter_range[1],
            told.between_range[0] < between < told.between_range[1],
        ]
    np.testing.assert_allclose(held / runs, 0.9, atol=3.3 * np.sqrt(0.09 / runs))


# --- what the case takes -----------------------------------------------------------------------


def left_out(*names: str) -> list[dict]:
    return [
        {key: value for key, value in element(s).items() if key not in names} for s in ("Pb", "Cu")
    ]


ROWS = [
    f"{engine},{10_000 * i + 20_000},9000,0,{lead + i % 3},{2 * lead + (i + engine) % 2}"
    for engine, lead in ((1, 10), (2, 14), (3, 7), (4, 22))
    for i in range(5)
]


def test_what_the_case_leaves_out_is_learned_and_what_it_states_wins() -> None:
    stated = case_beside(ROWS)
    assert with_usual(stated) is stated
    told = fleet(stated).elements
    assert told["Pb"].use.typical == stated.oil.element[0].typical == Quantity(0.2, 0.8)
    assert told["Pb"].use.typical_stated
    assert told["Pb"].usual.typical != told["Pb"].use.typical

    bare = case_beside(ROWS, elements=left_out("typical", "scatter"))
    taken = with_usual(bare)
    for held in taken.oil.element:  # to three figures
        usual = told[held.symbol].usual
        assert held.typical.low == pytest.approx(usual.typical.low, rel=0.005)
        assert held.typical.high == pytest.approx(usual.typical.high, rel=0.005)
        assert held.scatter == pytest.approx(usual.scatter, rel=0.005)
    use = fleet(bare).elements["Cu"].use
    assert (use.typical_stated, use.scatter_stated) == (False, False)

    level_only = with_usual(case_beside(ROWS, elements=left_out("typical"))).oil.element[0]
    assert level_only.typical == taken.oil.element[0].typical
    assert level_only.scatter == 1.3


def test_the_answer_is_that_of_a_case_that_states_what_is_learned() -> None:
    own = [f"{10_000 * i},10000,{8 + i % 2},{14 + i % 3}" for i in range(1, 10)]
    bare = case_beside(ROWS, elements=left_out("typical", "scatter"), own=own)
    stated = case_beside(ROWS, elements=left_out(), own=own)
    elements = with_usual(bare).oil.element
    stated = replace(stated, oil=replace(stated.oil, element=elements))
    found, same = oil_look(bare), oil_look(stated)
    np.testing.assert_array_equal(found.factor, same.factor)
    assert found.foresight == same.foresight


def test_learned_twice_is_learned_once_and_is_never_written_as_stated() -> None:
    bare = case_beside(ROWS, elements=left_out("typical", "scatter"))
    taken = with_usual(bare)
    assert with_usual(taken) == taken
    assert case_to_files(taken) == case_to_files(bare)
    assert "typical" not in raw_case(taken)["oil"]["element"][0]
    assert case_from_files(case_to_files(taken)) == bare


def test_a_level_that_only_runnings_in_tell_of_is_refused() -> None:
    case = case_beside(["a,3000,3000,0,10,2"], break_in=9_000, elements=left_out("typical"))
    with pytest.raises(CannotAnswer, match="usual level of Pb is not stated, and all samples"):
        with_usual(case)
    with pytest.raises(CannotAnswer):
        oil_look(case)


# --- limits ------------------------------------------------------------------------------------


def single(values: np.ndarray) -> list[str]:
    """One sample each of as many engines, whose rate is the value [ppm per 1,000 km]: 1,000 km
    on the oil, nothing carried over."""
    return [f"e{i},50000,1000,0,{v:.9g}" for i, v in enumerate(values)]


def test_percentages_of_99_samples_are_the_90th_95th_and_98th_of_them() -> None:
    # Rank p (n + 1) of the sorted samples (Weibull 1939; Hyndman & Fan 1996, definition 6).
    found = learned(single(np.random.default_rng(1).permutation(np.arange(1.0, 100))), carry_over=0)
    assert [(d.kind, d.at) for d in found.elements["Pb"].drawn] == [
        ("share", 0.9), ("share", 0.95), ("share", 0.98),
    ]  # fmt: skip
    limits = [d.limit for d in found.elements["Pb"].drawn]
    assert limits == pytest.approx([90, 95, 98], rel=1e-8)


def test_normal_looking_samples_get_standard_deviations() -> None:
    # The even quantiles of a lognormal of median e^1: mean 1 and their own spread on the log scale.
    from scipy.stats import norm

    log = 1 + 0.3 * norm.ppf((np.arange(60) + 0.5) / 60)
    found = learned(single(np.exp(log)), carry_over=0, resolution=1e-6)
    told = found.elements["Pb"].drawn
    assert [(d.kind, d.at) for d in told] == [("deviations", 2), ("deviations", 3)]
    spread = log.std(ddof=1)
    expected = np.exp([1 + 2 * spread, 1 + 3 * spread])
    assert [d.limit for d in told] == pytest.approx(expected, rel=1e-6)


def test_few_samples_bear_few_limits_or_none() -> None:
    assert learned(single(np.arange(1.0, 3))).elements["Pb"].limits is None
    assert learned(single(np.arange(1.0, 3))).elements["Pb"].drawn == ()
    # p (n + 1) <= n: nine samples bear 90 of 100 and no more
    assert learned(single(np.arange(1.0, 9))).elements["Pb"].drawn == ()
    assert [d.at for d in learned(single(np.arange(1.0, 10))).elements["Pb"].drawn] == [0.9]


def test_which_of_ones_own_samples_lie_above() -> None:
    own = ["20000,10000,10,5", "30000,10000,60,5", "40000,10000,12,5"]
    case = case_beside(ROWS, own=own)
    rows = wear_rates(case)
    assert [round(row.rates["Pb"].point, 1) for row in rows] == [0.9, 5.9, 0.6]
    assert lying_above(rows, "Pb", 3.0) == (1,)
    assert lying_above(rows, "Pb", 0.7) == (0, 1)
    assert lying_above(rows, "Zn", 0.1) == ()
