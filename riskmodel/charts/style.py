"""One visual language for every chart: page, report and terminal alike.

Charts are Vega-Lite specifications as plain dicts, which the page, a report's converter and
any browser take as they are. Blue, solid and round is what a plan costs; orange, dashed and
pointed is failure and waiting. Colour is never the only cue: each kind has its own line or
mark as well, so that a black-and-white print and a colour-blind reader see the same.
"""

from __future__ import annotations

from typing import Any

Spec = dict[str, Any]
Rows = list[dict[str, Any]]

SCHEMA = "https://vega.github.io/schema/vega-lite/v6.json"
PAPER = "white"
INK = "#1c2227"
QUIET = "#59646c"
LINE = "#c9d0d5"
BAND = "#e4e8eb"
COST = "#1f5fa8"
COST_BAND = "#b9cfe8"
RISK = "#a63c0c"
RISK_BAND = "#f3cdb8"
HIGHLIGHT = "#eef2f6"
GRID = "#e7ebee"
DARK = {
    PAPER: "#14181c",
    INK: "#e6eaed",
    QUIET: "#a9b3ba",
    LINE: "#56626b",
    BAND: "#2b343c",
    COST: "#7db4f0",
    COST_BAND: "#2f5580",
    RISK: "#f59563",
    RISK_BAND: "#713a1d",
    HIGHLIGHT: "#263039",
    GRID: "#2c343b",
}
"""What each colour becomes on a dark screen: the page's style sheet swaps them there. What is
printed and what is saved as a picture stays as it is."""
DASHED = [6, 4]
FONT = "Source Sans, DejaVu Sans, Helvetica, Arial, sans-serif"
"""The page's own font first, then what a machine without it has."""
TEXT_SIZE = 13

_CONFIG: Spec = {
    "font": FONT,
    "view": {"stroke": None},
    # Read out, a mark would tell its raw fields and an axis its ends to twelve digits; the
    # description and the table say it better.
    "mark": {"aria": False},
    "axis": {
        "aria": False,
        "labelFontSize": TEXT_SIZE,
        "titleFontSize": TEXT_SIZE,
        "titleFontWeight": "normal",
        "labelColor": INK,
        "titleColor": INK,
        "gridColor": GRID,
        "domainColor": QUIET,
        "tickColor": QUIET,
        "labelOverlap": True,
        "labelSeparation": 8,
        "titlePadding": 8,
    },
    "text": {"fontSize": TEXT_SIZE, "color": INK, "lineBreak": "\n"},
    "title": {
        "fontSize": TEXT_SIZE + 1,
        "subtitleFontSize": TEXT_SIZE,
        "subtitleColor": QUIET,
        "anchor": "start",
        "fontWeight": "bold",
        "color": INK,
    },
}


def finished(
    layers: list[Spec],
    *,
    height: int,
    description: str,
    encoding: Spec | None = None,
    title: str = "",
    subtitle: list[str] | None = None,
) -> Spec:
    """A chart of `layers` with its size (titles and axes included) and its text alternative.

    `encoding` is shared by all layers. The width follows the page; a printed report sets its
    own.
    """
    spec: Spec = {
        "$schema": SCHEMA,
        "description": description,
        "width": "container",
        "height": height,
        "autosize": {"type": "fit", "contains": "padding"},
        "background": PAPER,
        "padding": {"left": 2, "right": 8, "top": 6, "bottom": 2},
        "config": _CONFIG,
        "encoding": encoding or {},
        "layer": layers,
    }
    if title:
        spec["title"] = {"text": title} | ({"subtitle": subtitle} if subtitle else {})
    return spec


def layer(rows: Rows, mark: str, channels: Spec, **properties: Any) -> Spec:
    """One kind of mark for some rows of data, kept in the chart itself."""
    return {
        "data": {"values": rows},
        "mark": {"type": mark, **properties},
        "encoding": channels,
    }


def number(field: str, **more: Any) -> Spec:
    """A channel that shows a number."""
    return {"field": field, "type": "quantitative", **more}


def name(field: str, **more: Any) -> Spec:
    """A channel that shows a name."""
    return {"field": field, "type": "nominal", **more}


def label(text: str, x: float, y: float, **properties: Any) -> Spec:
    """A text beside what it names, at a place of the axes x and y; a line break is "\\n"."""
    return layer(
        [{"x": x, "y": y, "text": text}],
        "text",
        {"x": number("x"), "y": number("y"), "text": name("text")},
        **{"align": "left", "baseline": "middle", "color": INK, **properties},
    )
