"""Would it pay to sample only where the tool's own figures say so?

The verdict is about when to replace; whether to sample is the owner's. Here the expected costs of
the best plan with and without samples to come, at the first decision, choose between the two
followings of the tool that `sampled` has in its folder.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import numpy as np

from riskmodel.decision.prepared import expected_costs
from riskmodel.decision.rank_shared import Shared
from tests.studies.does_it_pay_plain import KNOWN, TOOL
from tests.studies.does_it_pay_sampled import NO_SAMPLES
from tests.studies.does_it_pay_tables import COST, columns, over
from tests.studies.owners import MISFITS, case_of, draw_owner, stream
from tests.studies.owners_club import club
from tests.studies.owners_verdict import ready


def saved(number: int, world: str, parts: int) -> float:
    """What sampling saves an owner by the tool's own figures today, no samples taken yet."""
    misfit = MISFITS[world]
    return _saved(number, misfit.other, misfit.reporting, misfit.told, parts)


@cache
def _saved(number: int, other: float, reporting: float, told: float, parts: int) -> float:
    owner, shared = draw_owner(number), Shared()
    data = club(stream(number, 1), parts, owner.shape, owner.scale, other, reporting)
    with_samples, without = (
        float(expected_costs(ready(case_of(owner, data, each, told), shared))[1].min())
        for each in (True, False)
    )
    return without - with_samples


def choice(folder: Path, world: str = "own", parts: int = 150) -> str:
    """As Markdown, over the owners of a world that `sampled` has followed."""
    told = [
        each
        for path in sorted(folder.glob(f"sampled_{world}_{parts}_*.json"))
        for each in json.loads(path.read_text())["owners"]
    ]
    gain = np.array([saved(number, world, parts) for number, _, _ in told])
    rows = [each for _, _, each in told]
    samples, none, known = (columns(rows, name)[COST] for name in (TOOL, NO_SAMPLES, KNOWN))
    chosen = np.where(gain > 0, samples, none)
    lines = [
        f"{len(told)} owners, world {world}; sampling saves by the tool's own figures for "
        f"{100 * np.mean(gain > 0):.0f} %, {gain.mean():,.0f} on average.",
        "",
        "| with the verdict | mean cost | dearer than with the curve known and samples [%] |",
        "|---|---|---|",
    ]
    for name, cost in (
        ("always sampled", samples),
        ("never sampled", none),
        ("sampled where its figures say that it saves", chosen),
    ):
        lines.append(
            f"| {name} | {cost.mean():,.0f} | " + "{:.2f} ({:.2f}) |".format(*over(cost, known))
        )
    lines.append("")
    for name, some in (("does save", gain > 0), ("does not", gain <= 0)):
        more = (none - samples)[some]
        if len(more) < 2:
            continue
        error = more.std(ddof=1) / np.sqrt(len(more))
        lines.append(
            f"Where it says that sampling {name}: {gain[some].mean():,.0f} told, "
            f"{more.mean():,.0f} ({error:,.0f}) saved."
        )
    return "\n".join(lines)
