"""Small cases with records, through the package's own reader."""

from __future__ import annotations

from typing import Any

import tomli_w

from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files


def case_with(rows: list[str] | None, columns: str = "age,outcome", **sections: Any) -> Case:
    """A car of 100,000 km; `rows` are those of its life records (None: it has none)."""
    told: dict[str, Any] = {
        "format": 1,
        "machine": {"unit": "km", "reading": 100_000, "usage_per_year": 10_000},
        "oil": {"interval": 10_000},
        "cost": {"planned": 2_000, "failure": 12_000},
        "plan": {"keep_years": 3},
    }
    for name, more in sections.items():
        told[name] = {**told.get(name, {}), **more}
    files = {}
    if rows is not None:
        told["life"] = {**told.get("life", {}), "records": "records.csv"}
        files["records.csv"] = "\n".join([columns, *rows, ""]).encode()
    return case_from_files({"case.toml": tomli_w.dumps(told).encode(), **files})
