"""The charts as SVG, by the same specifications as on the page."""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from riskmodel.charts.style import Spec

FONT = "DejaVu Sans"


@cache
def font_folder() -> Path:
    """Where the fonts lie that come with matplotlib: the same on every machine."""
    found = find_spec("matplotlib")
    assert found is not None
    assert found.submodule_search_locations
    return Path(found.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf"


def drawn(
    spec: Spec, width: int, height: int, fewer: tuple[str, int] | None = None, title: str = ""
) -> str:
    """A chart as SVG of this size in pixels; `fewer` names an axis and about how many labels it
    has room for in print, `title` stands in for its own. A thinned chart has no lines across:
    labels would stand on them."""
    spec = {**spec, "config": {**spec["config"], "font": FONT}}
    if fewer is not None:
        axis, count = fewer
        channel = spec["encoding"][axis]
        thinned = {**channel, "axis": {**channel["axis"], "tickCount": count}}
        spec["encoding"] = {**spec["encoding"], axis: thinned}
        y = spec["encoding"]["y"]
        spec["encoding"]["y"] = {**y, "axis": {**y["axis"], "grid": False}}
    if title:
        spec["title"] = {"text": title}
    text: str = _converter().vegalite_to_svg({**spec, "width": width, "height": height})
    return text


@cache
def _converter() -> Any:
    import vl_convert

    vl_convert.register_font_directory(str(font_folder()))
    return vl_convert
