"""Machines of exactly known life on the page's log, and a visitor who fills its forms in.

Exactly known, so that an answer takes little time.
"""

from __future__ import annotations

import datetime
from typing import Any

from riskmodel.page import log_file
from riskmodel.records.case import Case
from riskmodel.records.log.bridge import import_case
from riskmodel.records.log.log import Log
from riskmodel.words import log_page_forms as forms
from tests.page.conftest import Page
from tests.risk.cases import case_with

LEAD = {"symbol": "Pb", "typical": [0.2, 0.9], "from_part": True}
TODAY = datetime.date(2026, 12, 1)


def exact_case(name: str = "My car", **machine: Any) -> Case:
    """A car of 100,000 km with a part of exactly known life."""
    return case_with(
        None,
        machine={"name": name, "date": "2026-11-01", **machine},
        part={"code": "EX-1"},
        life={"shape_prior": 3, "b50_prior": 180_000},
        oil={"interval": 10_000, "next_change_in": 4_000},
    )


def log_of(*cases: Case) -> tuple[Log, list[str]]:
    """The page's log with these machines, and their ids."""
    log = log_file.made()
    return log, [import_case(log, case, author="Ann").machine for case in cases]


def button(page: Page, label: str) -> Any:
    return next(one for one in page.app.button if one.label == label)


def press(page: Page, label: str) -> None:
    button(page, label).click()
    page.run()


def fill(page: Page, kind: str, **values: Any) -> None:
    """Chooses what happened, fills the form in and enters it."""
    if page_kind(page).value != kind:
        page_kind(page).set_value(kind)
        page.run()
    for name, value in values.items():
        field(page, kind, name).set_value(value)
    press(page, forms.ENTER)


def page_kind(page: Page) -> Any:
    return next(box for box in page.app.selectbox if box.label == forms.ASK)


def field(page: Page, kind: str, name: str) -> Any:
    """A widget of a form by its name in the program."""
    for group in ("number_input", "text_input", "date_input", "selectbox", "checkbox"):
        for one in getattr(page.app, group):
            if one.key and f".{kind}.{name}#" in one.key:
                return one
    raise AssertionError(f"no field {name}")


def said(page: Page) -> str:
    """Everything told in the coloured boxes of the page."""
    boxes = [*page.app.info, *page.app.warning, *page.app.error, *page.app.success]
    return "\n".join(box.value.replace("\\", "") for box in boxes)
