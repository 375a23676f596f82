"""Where the interval of the chance ahead comes from: a bar for each part."""

from __future__ import annotations

from riskmodel.charts import style
from riskmodel.charts.style import Rows, Spec, layer, name, number
from riskmodel.records.case import Case
from riskmodel.use.parts_of_spread import SpreadParts
from riskmodel.words import use_habits as words

ROW_HEIGHT, HEAD = 30, 70
BAR = 16
ROOM = 1.15
"""The axis beyond the longest bar, for the figure beside it."""


def use_parts(case: Case, found: SpreadParts) -> Spec | None:
    """Each part's share of 100 with its figure beside the bar; None where nothing is left open."""
    if found.deviation == 0:
        return None
    told = words.part_rows(case, found)
    rows: Rows = [
        {"part": part, "share": 100 * share, "text": words.share_label(share)}
        for part, share in told
    ]
    top = ROOM * max(share for _, share in told) * 100
    down = {"title": None, "domain": False, "ticks": False, "labelLimit": 260, "labelPadding": 8}
    return style.finished(
        [
            layer(rows, "bar", {"x": number("share")}, color=style.COST, height=BAR),
            layer(
                rows,
                "text",
                {"x": number("share"), "text": name("text")},
                align="left",
                baseline="middle",
                dx=6,
                color=style.INK,
            ),
        ],
        height=HEAD + ROW_HEIGHT * len(rows),
        description=words.parts_sentence(case, found),
        encoding={
            "x": number("share", scale={"domain": [0, top], "nice": False}, axis=None),
            "y": name("part", sort=[part for part, _ in told], axis=down),
        },
        title=words.PARTS_TITLE,
        subtitle=["parts of 100"],
    )
