"""Small cases with oil samples, through the package's own reader."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import tomli_w

from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files

LEAD = {"symbol": "Pb", "typical": [0.2, 0.8], "scatter": 1.3, "rise": [4, 20]}
COPPER = {"symbol": "Cu", "typical": [0.3, 1.2], "scatter": 1.35, "rise": [2, 10]}
IRON = {"symbol": "Fe", "typical": [0.8, 3.0], "scatter": 1.25, "from_part": False}


def element(like: str, **more: Any) -> dict[str, Any]:
    """One of three invented elements, changed as said."""
    known = {"Pb": LEAD, "Cu": COPPER, "Fe": IRON}[like]
    return {"from_part": True, **known, **more}


def case_with_oil(
    rows: Sequence[str] | None,
    columns: str = "reading,oil_age,Pb,Cu",
    *,
    elements: Sequence[dict[str, Any]] | None = None,
    reading: float = 100_000,
    fitted_at: float = 0,
    warning: dict[str, Any] | None = None,
    life: dict[str, Any] | None = None,
    records: bytes | None = None,
    keep_years: float = 3,
    **oil: Any,
) -> Case:
    """A car with `rows` of oil samples (None: none) and a Weibull curve of shape 3, B50 150,000."""
    if elements is None:
        known = {"Pb", "Cu", "Fe"} & set(columns.split(","))
        elements = [element(symbol) for symbol in sorted(known or {"Pb"})]
    told: dict[str, Any] = {
        "format": 1,
        "machine": {"unit": "km", "reading": reading, "usage_per_year": 10_000},
        "part": {"fitted_at": fitted_at},
        "life": {"shape_prior": 3.0, "b50_prior": 150_000.0, **(life or {})},
        "warning": warning or {},
        "oil": {
            "interval": 10_000,
            "break_in": 0,
            "shared_scatter": 0,
            "element": list(elements),
            **oil,
        },
        "cost": {"planned": 2_000, "failure": 12_000},
        "plan": {"keep_years": keep_years},
    }
    files = {}
    if rows is not None:
        told["oil"]["samples"] = "oil.csv"
        files["oil.csv"] = "\n".join([columns, *rows, ""]).encode()
    if records is not None:
        told["life"]["records"] = "records.csv"
        files["records.csv"] = records
    return case_from_files({"case.toml": tomli_w.dumps(told).encode(), **files})
