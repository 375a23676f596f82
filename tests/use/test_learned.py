"""Harshness learned from the records."""

from __future__ import annotations

import numpy as np
import pytest

from riskmodel.life.covariates import fit_covariates, harshness_from
from riskmodel.life.weibull import quantile
from riskmodel.records.case import Case
from riskmodel.use.learned import (
    column_of_use,
    learned_harshness,
    may_learn,
    with_learned,
    without_trait_of_use,
)
from tests.risk.cases import case_with

KINDS = [
    {"name": "calm", "harshness": 1.0, "population_share": 0.5},
    {"name": "hard", "population_share": 0.5},
    {"name": "towing", "population_share": 0.0},
]


def recorded(kinds: list[dict[str, object]] = KINDS, other: bool = False) -> Case:
    """Parts of shape 3 that last 60 % as long under hard use, at even quantiles."""
    at = (np.arange(40) + 0.5) / 40
    rows = [f"{age:.0f},failed,calm" for age in quantile(at, 3.0, 200_000)]
    rows += [f"{age:.0f},failed,hard" for age in quantile(at, 3.0, 120_000)]
    if other:
        rows += ["90000,running,elsewhere"]
    return case_with(
        rows,
        "age,outcome,use",
        use={"kinds": kinds, "stretches": [{"until": 100_000, "unknown": True}]},
        part={"traits": {"use": "hard"}},
    )


def test_the_factor_on_life_comes_back_as_harshness() -> None:
    found = learned_harshness(recorded())
    assert found is not None
    assert (found.column, found.base) in (("use", "calm"), ("use", "hard"))
    ratio = found.harshness["hard"].median / found.harshness["calm"].median
    assert ratio == pytest.approx(1 / 0.6, rel=0.01)
    assert found.shape.estimate == pytest.approx(3.0, rel=0.05)
    assert set(found.harshness) == {"calm", "hard"}
    # usage on record goes with the mean lives
    assert found.share == pytest.approx(
        {"calm": 1 / 1.6, "hard": 0.6 / 1.6, "towing": 0.0}, rel=1e-3
    )


def test_it_is_that_of_the_covariates() -> None:
    case = recorded()
    found = learned_harshness(case)
    assert found is not None
    assert case.records is not None
    fit = fit_covariates(case.records, 0.1, case.warning.visible_lead)
    assert found.harshness["hard"] == harshness_from(fit, "use", "hard")


def test_a_case_takes_it() -> None:
    case = recorded()
    found = learned_harshness(case)
    assert found is not None
    told = with_learned(case, found)
    kinds = {kind.name: kind for kind in told.use.kinds}
    assert kinds["hard"].harshness == found.harshness["hard"]
    assert kinds["hard"].population_share == pytest.approx(0.375, rel=1e-3)
    assert kinds["towing"] == case.use.kinds[2]  # the records tell nothing of it
    assert told.use.stretches == case.use.stretches
    assert told.part.traits == case.part.traits


def test_a_trait_of_use_gives_way_to_what_the_stretches_tell() -> None:
    assert without_trait_of_use(recorded()).part.traits == {}
    assert without_trait_of_use(recorded(kinds=[])).part.traits == {"use": "hard"}


def test_harshness_that_a_case_states_is_not_learned() -> None:
    assert may_learn(recorded())
    assert not may_learn(recorded(kinds=[*KINDS[:2], {"name": "towing", "harshness": [0.8, 2.0]}]))


def test_records_that_speak_of_other_uses_teach_nothing() -> None:
    assert learned_harshness(recorded(other=True)) is None
    assert learned_harshness(recorded(kinds=[])) is None
    assert learned_harshness(case_with(None, life={"b50_prior": [1e5, 2e5]})) is None
    case = recorded()
    assert case.records is not None
    assert column_of_use(case.records, case.use.kinds) == "use"
    assert column_of_use(case.records, case.use.kinds[:1]) is None
