"""Tables of what `intervals_coverage` found."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
EDGES = (0.0, 0.002, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 0.9, 1.0)
"""Classes of the chance to be the cheapest plan."""
LEAST_WORLDS = 10
"""The tables tell chances in tenths of the worlds."""


def held(found: Floats) -> str:
    """Cells of a row: share held, truth below and above, mean stated and true, their difference in
    standard errors; `found` (worlds, 4) as stated, low, high, truth, and in a fifth column how far
    each world counts where not all count alike."""
    stated, low, high, truth = found.T[:4]
    weight = found.T[4] if found.shape[1] > 4 else np.ones(len(found))
    n = float(weight.sum() ** 2 / (weight @ weight))
    below, above = (float(np.average(side, weights=weight)) for side in (truth < low, truth > high))
    inside = 1 - below - above
    error = np.sqrt(max(inside * (1 - inside), 0.5 / n) / n)
    told = f"{100 * inside:.1f} ({100 * error:.1f}) | {100 * below:.1f}, {100 * above:.1f}"
    some = np.isfinite(stated) & np.isfinite(truth)
    stated, truth, weight = (each[some] for each in (stated, truth, weight))
    off = stated - truth
    mean = float(np.average(off, weights=weight))
    spread = np.sqrt(np.average((off - mean) ** 2, weights=weight))
    step = spread * np.sqrt(float(weight @ weight)) / weight.sum()
    means = ", ".join(_short(float(np.average(each, weights=weight))) for each in (stated, truth))
    return f"{told} | {means} | {mean / step if step > 0 else 0.0:+.1f}"


def _short(value: float) -> str:
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.4f}"


def reliability(stated: Floats, came: Floats, edges: Sequence[float]) -> list[str]:
    """Rows by class of the stated chance: how many, mean stated, mean that came true, its
    standard error."""
    rows = []
    for a, b in pairwise(edges):
        here = (stated >= a) & (stated < b if b < edges[-1] else stated <= b)
        if not here.any():
            continue
        mean = stated[here].mean()
        error = np.sqrt(np.mean(stated[here] * (1 - stated[here])) / here.sum())
        true = came[here].mean()
        rows.append(f"| {a:g} to {b:g} | {here.sum()} | {mean:.4f} | {true:.4f} | {error:.4f} |")
    return rows


def tenths(stated: Floats, came: Floats) -> list[str]:
    """Rows of as many cases each, by the stated chance; `came` true chances or outcomes."""
    rows = []
    for some in np.array_split(np.argsort(stated, kind="stable"), 10):
        p, hit = stated[some], came[some]
        error = np.std(hit - p) / np.sqrt(len(some))
        rows.append(
            f"| {p.min():.4f} to {p.max():.4f} | {len(some)} | {p.mean():.4f} | {hit.mean():.4f} | "
            f"{error:.4f} |"
        )
    return rows


HEAD = (
    "| what | held [%] (s.e.) | truth below, above [%] | mean stated, true | difference [s.e.] |\n"
    "| --- | --- | --- | --- | --- |"
)
CLASSES = "| stated | number | mean stated | came true | standard error |\n" + "| --- " * 5 + "|"


def tables(worlds: Sequence[dict[str, Any]]) -> str:
    """Everything as Markdown; what some worlds have not is told of those that do, with how many."""
    first = {k: v for w in reversed(worlds) for k, v in w.items()}
    intervals = [k for k, v in first.items() if isinstance(v[0], float) and len(v) in (4, 5)]
    lines = [f"{len(worlds)} worlds. 90 % intervals.\n", HEAD]
    for k in intervals:
        some = np.array([w[k] for w in worlds if k in w])
        many = "" if len(some) == len(worlds) else f" ({len(some)} worlds)"
        lines.append(f"| {k}{many} | {held(some)} |")
    bad = [k for k in first if k.startswith("bad case")]
    if bad:
        lines += [
            "\nBad case, the 95th percentile of what is paid: share of lives that pay more.\n"
        ]
        lines += ["| plan | paid more [%] (s.e.) |\n| --- | --- |"]
    for k in bad:
        over = 100 * np.array([w[k][1] for w in worlds])
        lines.append(f"| {k} | {over.mean():.2f} ({over.std() / np.sqrt(len(over)):.2f}) |")
    pairs = np.array([pair for w in worlds for pair in w["cheapest"]])
    lines += ["\nChance to be the cheapest plan, all plans of all worlds.\n", CLASSES]
    lines += reliability(pairs[:, 0], pairs[:, 1], EDGES)
    best = np.array([w["recommended is cheapest"] for w in worlds])
    lines += ["\nThe same of the recommended plan alone, in tenths.\n", CLASSES]
    lines += tenths(best[:, 0], best[:, 1])
    lines.append(
        f"\nThe recommended plan was stated to be cheapest with {best[:, 0].mean():.4f} and was in "
        f"{best[:, 1].mean():.4f}; with all known it cost {100 * best[:, 2].mean():.2f} % more "
        "than the cheapest."
    )
    for k in (k for k in first if k.startswith(("fails by", "any failure, rec"))):
        told = np.array([w[k] for w in worlds])
        lines += [f"\n{k}, in tenths.\n", CLASSES, *tenths(told[:, 0], told[:, 3])]
    for k in (k for k in first if k.startswith("came true")):
        pair = np.array([w[k] for w in worlds])
        lines += [f"\n{k}, in tenths.\n", CLASSES, *tenths(pair[:, 0], pair[:, 1])]
    return "\n".join(lines)
