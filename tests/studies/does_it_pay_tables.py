"""The figures of the study as Markdown: every rule against the one who knows the true curve."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.studies.does_it_pay_plain import KNOWN, TOOL, Row

Floats = NDArray[np.float64]
Found = dict[tuple[str, str, int], tuple[Floats, list[Row], float]]
COST, LOST, FITTED = range(3)

HEAD = (
    "| rule | mean cost | dearer than with the curve known [%] | without the oil changes [%] "
    "| dearer than this tool | engines lost per 100 owners | parts fitted per 100 |",
    "|---|---|---|---|---|---|---|",
)


def error(values: Floats) -> float:
    """Standard error of the mean."""
    return float(values.std(ddof=1) / np.sqrt(len(values)))


def over(values: Floats, base: Floats) -> tuple[float, float]:
    """By how many per cent the mean of `values` (n,) is above that of `base` (n,), paired, and its
    standard error (linearised ratio)."""
    ratio = values.mean() / base.mean()
    return 100 * (ratio - 1), 100 * error(values - ratio * base) / float(base.mean())


def read(folder: Path) -> Found:
    """By (kind, world, records): what oil changes cost (n,), each owner's rows, seconds spent."""
    found: dict[tuple[str, str, int], tuple[list[float], list[Row], list[float]]] = {}
    for path in sorted(folder.glob("*.json")):
        kind, world, parts, _ = path.stem.split("_")
        told = json.loads(path.read_text())
        oil, rows, spent = found.setdefault((kind, world, int(parts)), ([], [], []))
        oil += [each[1] for each in told["owners"]]
        rows += [each[2] for each in told["owners"]]
        spent.append(told["seconds"])
    return {key: (np.array(oil), rows, sum(spent)) for key, (oil, rows, spent) in found.items()}


def columns(rows: list[Row], name: str) -> Floats:
    """(figures, owners) of one rule."""
    return np.array([each[name] for each in rows]).T


def table(oil: Floats, rows: list[Row]) -> str:
    known, tool = columns(rows, KNOWN)[COST], columns(rows, TOOL)[COST]
    lines = []
    for name in rows[0]:
        told = columns(rows, name)
        cost = told[COST]
        cells = [name, f"{cost.mean():,.0f} ({error(cost):,.0f})"]
        for a, b in ((cost, known), (cost - oil, known - oil)):
            cells.append("" if name == KNOWN else "{:.2f} ({:.2f})".format(*over(a, b)))
        more = cost - tool
        cells.append("" if name == TOOL else f"{more.mean():,.0f} ({error(more):,.0f})")
        cells += [
            f"{100 * told[i].mean():.1f} ({100 * error(told[i]):.1f})" for i in (LOST, FITTED)
        ]
        lines.append((float(cost.mean()), "| " + " | ".join(cells) + " |"))
    return "\n".join([*HEAD, *(line for _, line in sorted(lines))])


def worlds(found: Found, kind: str, records: int) -> str:
    """What every rule costs more than the tool's verdict, world by world."""
    names = [world for k, world, n in found if (k, n) == (kind, records)]
    rules = list(dict.fromkeys(rule for w in names for rule in found[kind, w, records][1][0]))
    many = [f"{world}, {len(found[kind, world, records][1])} owners" for world in names]
    lines = [
        "| dearer than this tool | " + " | ".join(many) + " |",
        "|---|" + "---|" * len(names),
    ]
    for rule in rules:
        cells = []
        for world in names:
            rows = found[kind, world, records][1]
            more = columns(rows, rule)[COST] - columns(rows, TOOL)[COST]
            cells.append("" if rule == TOOL else f"{more.mean():,.0f} ({error(more):,.0f})")
        lines.append(f"| {rule} | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def tables(folder: Path) -> str:
    parts, found = [], read(folder)
    for kind, records in dict.fromkeys((kind, records) for kind, _, records in found):
        parts.append(f"**{kind}, {records} records, all worlds**\n\n{worlds(found, kind, records)}")
    for (kind, world, records), (oil, rows, seconds) in found.items():
        title = f"**{kind}, world {world}, {records} records, {len(rows)} owners** "
        parts.append(f"{title}({seconds:.0f} s of processor time)\n\n{table(oil, rows)}")
    return "\n\n".join(parts)
