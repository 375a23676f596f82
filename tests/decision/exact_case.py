"""Cases of an exactly known life, built through the package's own reader."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import tomli_w

from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files

SIMULATED = Path(__file__).parent.parent / "simulation"
CASES = tuple(sorted(path.stem for path in SIMULATED.glob("*.json")))


def case_of(sections: dict[str, dict[str, Any]]) -> Case:
    """A case without records from raw TOML values, driven as the population if none says how."""
    told = {"format": 1, "use": ordinary(sections["machine"]["reading"]), **sections}
    return case_from_files({"case.toml": tomli_w.dumps(told).encode()})


def ordinary(reading: float) -> dict[str, Any]:
    """Nothing but ordinary use from 0 to `reading` and on."""
    return {"stretches": [{"until": reading, "shares": {}}] if reading > 0 else [], "ahead": {}}


def b50(shape: float, scale: float) -> float:
    """Life by which half fail."""
    return float(scale * 0.6931471805599453 ** (1 / shape))


def simulated_case(name: str) -> Case:
    """The case that a JSON file of the simulation describes."""
    told = json.loads((SIMULATED / f"{name}.json").read_text())
    keep = {key: told[key] for key in ("keep_years", "keep_usage") if key in told}
    cost = {
        key: told[key]
        for key in (
            "planned", "failure", "found_worn", "oil_change", "sale_credit",
            "install_fault", "install_fault_price",
        )
        if key in told
    }  # fmt: skip
    cost.setdefault("install_fault", 0)
    lines = [{"name": k, "amount": v} for k, v in told.get("consequences", {}).items()]
    lead = {"visible_lead": told["visible_lead"]} if "visible_lead" in told else {}
    return case_of(
        {
            "machine": {
                "unit": told["unit"],
                "reading": told["age"],
                "usage_per_year": told["usage_per_year"],
            },
            "life": {
                "shape_prior": told["shape"],
                "b50_prior": b50(told["shape"], told["scale"]),
            },
            "warning": lead,
            # turnaround is of no use without samples, but must be shorter than an interval
            "oil": {
                "interval": told["interval"],
                "next_change_in": told["next_change_in"],
                "turnaround": 0,
            },
            "cost": {**cost, "discount_rate": told.get("rate", 0), "consequence": lines},
            "plan": {
                **keep,
                "after_failure": told["after_failure"],
                "new_part_life": told.get("new_part_life", 1),
            },
        }
    )
