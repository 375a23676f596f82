"""The cases of the simulation with oil samples, through the package's own reader."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import tomli_w

from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files
from tests.decision.exact_case import b50, ordinary

SAMPLED = Path(__file__).parent.parent / "simulation" / "sampled"
CASES = tuple(sorted(path.stem for path in SAMPLED.glob("*.json")))

PRICES = (
    "planned", "urgent", "failure", "found_worn", "oil_change", "sample", "investigation",
    "sale_credit", "install_fault", "install_fault_price",
)  # fmt: skip
OIL = (
    "interval", "next_change_in", "turnaround", "false_alarm", "investigation_sees",
    "carry_over", "resolution", "misleading",
)  # fmt: skip


def sampled_case(name: str, **plan: Any) -> Case:
    """The case that a JSON file of the simulation describes; `plan` are further keys of [plan]."""
    told = json.loads((SAMPLED / f"{name}.json").read_text())

    def some(*keys: str) -> dict[str, Any]:
        return {key: told[key] for key in keys if key in told}

    oil = some(*OIL)
    if "sump" in told:
        oil["sump_litres"] = told["sump"]
    files = {}
    if "history" in told:
        oil["samples"] = "oil.csv"
        files["oil.csv"] = _samples(told["history"]).encode()
    lines = [{"name": k, "amount": v} for k, v in told.get("consequences", {}).items()]
    elements = [{"from_part": True, **element} for element in told["elements"]]
    sections = {
        "format": 1,
        "use": ordinary(told["age"]),
        "machine": {"reading": told["age"], **some("unit", "usage_per_year")},
        "life": {
            "shape_prior": told["shape"],
            "b50_prior": b50(told["shape"], told["scale"]),
        },
        "warning": some("visible_lead", "lead", "lead_factor", "silent"),
        "oil": {"shared_scatter": 0, **oil, "element": elements},
        "cost": {
            "install_fault": 0,
            **some(*PRICES),
            "discount_rate": told.get("rate", 0),
            "consequence": lines,
        },
        "plan": {
            **some("keep_years", "keep_usage", "after_failure"),
            "new_part_life": told.get("new_part_life", 1),
            "sample": True,
            **plan,
        },
    }
    return case_from_files({"case.toml": tomli_w.dumps(sections).encode(), **files})


def _samples(history: list[dict[str, Any]]) -> str:
    symbols = list(dict.fromkeys(symbol for row in history for symbol in row["readings"]))
    rows = [
        [row["age"], row["oil_age"], row.get("top_up", 0)]
        + [row["readings"].get(symbol, "") for symbol in symbols]
        for row in history
    ]
    header = ["age", "oil_age", "top_up", *symbols]
    return "\n".join(",".join(map(str, row)) for row in [header, *rows]) + "\n"
