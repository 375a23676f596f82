"""The chance with samples against the model written again, plainly, on three histories."""

from __future__ import annotations

import numpy as np
import pytest

from riskmodel.records.case import Case
from riskmodel.risk.life_curves import life_curves
from riskmodel.risk.with_oil import chance_with_oil
from tests.oil.made import case_with_oil, element
from tests.oil.plain_model import PlainModel

COLUMNS = "reading,oil_age,top_up,Pb,Cu"
USUAL = ["60000,10000,0.5,4,6", "70000,10000,0,3,6", "80000,10000,1,4,7", "90000,10000,0,5,6"]
LAST = {
    "clean": "99000,9000,0.5,3,5",
    "hint": "99000,9000,0.5,7,8",
    "surge": "99000,9000,0.5,21,16",
}


def case_of(name: str) -> Case:
    return case_with_oil(
        [*USUAL, LAST[name]],
        COLUMNS,
        elements=[element("Pb", noise=0.8), element("Cu", noise=0.3)],
        life={"shape_prior": 3.0, "b50_prior": [110_000, 200_000]},
        warning={"lead": [4_000, 30_000], "lead_factor": [0.5, 2.0], "silent": [0.1, 0.5]},
        sump_litres=6,
    )


@pytest.mark.slow
@pytest.mark.parametrize("name", LAST)
def test_agrees_with_the_plain_model(name: str) -> None:
    case, ahead = case_of(name), 10_000.0
    with_oil, without = PlainModel(case).chance(ahead)
    found = chance_with_oil(case, life_curves(case), np.array([ahead]))
    assert found.without.value[0] == pytest.approx(without, rel=0.005)
    assert found.with_oil.value[0] == pytest.approx(with_oil, rel=0.01)
