"""The answer of the reader's test: a real one, kept, so that its sums and chances agree with each
other and no change of the model changes the reader's key.

`python -m tests.report.told.answer` weighs the case anew and writes the answer again; the key in
readers_test.md then has to follow.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

from riskmodel.decision.occasions import Occasion
from riskmodel.decision.results import (
    Ahead,
    Chance,
    Interval,
    NewPartRule,
    OtherCauses,
    PlanResult,
    Spent,
    TradeOff,
    Weighing,
)
from riskmodel.decision.weigh import weigh
from riskmodel.decision.what_if_figures import FigureChange
from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files
from riskmodel.report.owner import other_figures
from riskmodel.risk.life_curves import life_curves

HERE = Path(__file__).parent
KEPT = HERE / "answer.json"
RECORDS = HERE.parents[2] / "data" / "road-car" / "records.csv"
Answer = tuple[Weighing, tuple[FigureChange, ...], tuple[FigureChange, ...]]
"""An answer, the verdicts with other figures, and the same without the owner's limit."""


def case() -> Case:
    files = {"case.toml": HERE / "case.toml", "records.csv": RECORDS}
    return case_from_files({name: path.read_bytes() for name, path in files.items()})


def answer() -> Answer:
    """The case with the answer that was kept."""
    kept = json.loads(KEPT.read_text(encoding="utf-8"))
    w = Weighing(
        case=case(),
        risk=tuple(Chance(**_intervals(each)) for each in kept["risk"]),
        plans=tuple(_plan(each) for each in kept["plans"]),
        trade_off=TradeOff(**_intervals(kept["trade_off"])),
        ahead=Ahead(**{name: np.array(values) for name, values in kept["ahead"].items()}),
        new_part_rule=NewPartRule(np.zeros(1), np.zeros(1, dtype=np.int64), 1.0),
        services=np.array(kept["services"]),
        other_causes=OtherCauses(**_intervals(kept["other_causes"])),
        **{name: kept[name] for name in _PLAIN},
    )
    return w, *(tuple(FigureChange(**_occasion(each)) for each in kept[name]) for name in _FIGURES)


_FIGURES = ("changes", "free")
_PLAIN = ("age", "keep", "recommended", "records_used", "failures_used")
_SHOWN = (*_PLAIN, "risk", "plans", "trade_off", "ahead", "services", "other_causes")


def _plan(kept: dict[str, Any]) -> PlanResult:
    spent = None if kept["spent"] is None else Spent(**kept["spent"])
    return PlanResult(**{**_occasion(_intervals(kept)), "spent": spent})


def _intervals(kept: dict[str, Any]) -> dict[str, Any]:
    return {
        name: Interval(**value) if isinstance(value, dict) and "low" in value else value
        for name, value in kept.items()
    }


def _occasion(kept: dict[str, Any]) -> dict[str, Any]:
    held = kept["occasion"]
    return {**kept, "occasion": None if held is None else Occasion(**held)}


def _rounded(value: Any) -> Any:
    """Figures as they are kept: seven significant ones, far beyond what is printed."""
    if isinstance(value, dict):
        return {name: _rounded(each) for name, each in value.items()}
    if isinstance(value, (list, tuple, np.ndarray)):
        return [_rounded(each) for each in value]
    if isinstance(value, (float, np.floating)):
        return float(f"{value:.7g}")
    return int(value) if isinstance(value, np.integer) else value


def main() -> None:
    found = case()
    curves = life_curves(found)
    told = asdict(weigh(found, curves))
    kept = {name: told[name] for name in _SHOWN}
    for name, changes in zip(_FIGURES, other_figures(found, curves), strict=True):
        kept[name] = [asdict(each) for each in changes]
    KEPT.write_text(json.dumps(_rounded(kept), indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
