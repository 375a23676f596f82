"""The valid case that broken ones start from, and how an edited one is written down.

A message names the file, the line and key or column, what was found there and what was expected;
the problems of all the files of a case are told together.
"""

from __future__ import annotations

import pytest

from riskmodel.records.errors import InputError
from riskmodel.records.files import case_from_files

VALID = {
    "case.toml": """\
format = 1
[machine]
name = "Van"
unit = "km"
reading = 120000
date = "2026-05-01"
usage_per_year = 10000
[part]
fitted_at = 0
entered_at = 40000
[life]
records = "records.csv"
[use]
kinds = [{ name = "towing", harshness = [0.8, 2] }, { name = "town" }]
stretches = [
  { until = 40000, unknown = true },
  { until = 110000, shares = { towing = 0.2 } },
]
[oil]
samples = "oil.csv"
interval = 8000
next_change_in = 3000
[[oil.element]]
symbol = "Pb"
typical = [0.5, 2]
from_part = true
[[oil.element]]
symbol = "Fe"
typical = [1, 5]
from_part = false
[cost]
planned = [1800, 2600]
failure = 9000
[plan]
keep_years = 5
""",
    "records.csv": """\
age,outcome,age_from,entered_at,count,cause,why,fuel
90000,failed,,,1,wear,,petrol
150000,running,,20000,3,,,diesel
110000,removed_worn,,,,,scheduled,petrol
140000,failed,135000,,,,,diesel
""",
    "oil.csv": """\
reading,oil_age,date,lab,Pb,Fe
100000,8000,2024-05-01,north,4,20
108000,8000,2025-03-01,north,<1,22
""",
}


def parsed(table: str) -> dict[str, tuple[dict[str, str], tuple[str, ...]]]:
    """Title -> the files with their edits, and the message."""
    cases: dict[str, tuple[dict[str, str], tuple[str, ...]]] = {}
    for block in table.strip().removeprefix("# ").split("\n# "):
        title, *lines = block.splitlines()
        files = dict(VALID)
        for line in lines:
            if not line.startswith("    "):
                file, edit = line.split(": ", 1)
                old, new = edit.replace("\\n", "\n").replace("\\\n", "\\n").split(" -->")
                assert old in files[file], f"{title}: {old!r} is not in {file}"
                files[file] = files[file].replace(old, new.removeprefix(" "), 1)
        assert title not in cases, title
        cases[title] = files, tuple(line[4:] for line in lines if line.startswith("    "))
    return cases


def refusal(files: dict[str, bytes]) -> tuple[str, ...]:
    with pytest.raises(InputError) as refused:
        case_from_files(files)
    return tuple(str(refused.value).split("\n"))
