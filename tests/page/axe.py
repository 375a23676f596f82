"""axe-core run in the page: what a screen reader or a weak eye would stumble over.

The rules are those that come with the pip package axe-playwright-python; its script is put into
the page as text, so that nothing is fetched.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playwright.sync_api import Page

SERIOUS = ("serious", "critical")

NOT_OURS: frozenset[tuple[str, str]] = frozenset()
"""Findings let pass: the rule, and a piece of the HTML that it names, each with the reason why it
is not of our making. None is needed: what axe finds in Streamlit itself is minor."""

ALREADY_THERE = "() => typeof axe !== 'undefined'"


@cache
def script() -> str:
    return files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8")


def findings(page: Page) -> list[dict[str, Any]]:
    """Every finding of axe-core with its default rules, as axe tells them."""
    if not page.evaluate(ALREADY_THERE):
        page.evaluate(script())
    found: list[dict[str, Any]] = page.evaluate("axe.run(document).then(run => run.violations)")
    return found


def serious(page: Page) -> list[str]:
    """The serious and critical findings, one line each: rule, what is asked for, where."""
    return [
        f"{found['id']}: {found['help']}: {node['html'][:160]} {node['failureSummary'][-160:]}"
        for found in findings(page)
        if found["impact"] in SERIOUS
        for node in found["nodes"]
        if not any(found["id"] == rule and part in node["html"] for rule, part in NOT_OURS)
    ]
