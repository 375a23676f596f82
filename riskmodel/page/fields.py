"""One input of the table of inputs as widgets: what is shown, and what was entered.

Shares are shown as counts of 100 and yearly rates in per cent; the case keeps them between
0 and 1. A field gives back the raw value as case.toml would state it, or `SAME` where it
still shows what the open case holds.
"""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass
from typing import Final

import streamlit as st

from riskmodel.page import state
from riskmodel.page.markup import markdown_text, paragraph
from riskmodel.records.case import Case
from riskmodel.records.inputs import BY_KEY, CEILING, Input
from riskmodel.records.quantity import Quantity
from riskmodel.words import fields as texts
from riskmodel.words import screen

SAME: Final = object()
"""What a field gives back where nothing was changed."""

_INDEX = re.compile(r"\[(\d+)\]")
_DIGITS = 10


@dataclass(frozen=True, slots=True)
class Field:
    """An input at its place in a case: `place` is its key, with rows counted from 1
    ("cost.consequence[2].amount"); `label` stands in for the table's own where given."""

    place: str
    label: str = ""

    @property
    def entry(self) -> Input:
        return BY_KEY[_INDEX.sub("", self.place)]

    def value_in(self, case: Case) -> object:
        value: object = case
        for step in self.place.split("."):
            name, _, number = step.partition("[")
            value = getattr(value, name)
            if number:
                value = value[int(number[:-1]) - 1]  # type: ignore[index]
        return value


def ask(field: Field, case: Case) -> object:
    """Shows one input with the value of `case`; what was entered, or `SAME`."""
    entry, held = field.entry, field.value_in(case)
    label = texts.label(entry, case, field.label)
    hint = texts.hint(entry, case)
    key = state.key(field.place)
    if entry.kind in ("quantity", "share_quantity"):
        return _quantity(entry, label, hint, key, held)
    if entry.kind in ("number", "share"):
        shown = _shown(entry, held)
        return _entered(entry, _number(entry, label, hint, key, shown), shown)
    if entry.kind == "choice":
        return _choice(entry, label, hint, key, held)
    if entry.kind == "flag":
        answer = st.checkbox(markdown_text(label), bool(held), key=key, help=markdown_text(hint))
        return SAME if answer == bool(held) else answer
    if entry.kind == "date":
        return _date(label, hint, key, held)
    text = st.text_input(markdown_text(label), str(held or ""), key=key, help=markdown_text(hint))
    return SAME if text == str(held or "") else text


def scale_of(entry: Input) -> float:
    """How many shown for one held: 100 for shares and yearly rates."""
    return 100.0 if "share" in entry.kind or entry.unit == "per year" else 1.0


def _quantity(entry: Input, label: str, hint: str, key: str, held: object) -> object:
    ends = (held.low, held.high) if isinstance(held, Quantity) else (None, None)
    shown = tuple(_shown(entry, end) for end in ends)
    spread = texts.spread(entry)
    st.markdown(markdown_text(label), help=markdown_text(hint))
    if spread:
        st.html(paragraph(spread, "quiet"))
    with st.container(horizontal=True, wrap=False, gap="small"):
        typed = [
            _number(entry, f"{label}, {word}", "", f"{key}:{word}", end, visible=False)
            for end, word in zip(shown, (screen.LOW_END, screen.HIGH_END), strict=True)
        ]
    if tuple(typed) == shown:
        return SAME
    entered = [_held(entry, number) for number in typed if number is not None]
    if not entered:
        return None
    return entered[0] if len(set(entered)) == 1 else entered


def _number(
    entry: Input,
    label: str,
    hint: str,
    key: str,
    shown: float | None,
    *,
    visible: bool = True,
) -> float | None:
    # A box that starts from a value of its own cannot be emptied: where "not stated" is an
    # answer, the value is put in beforehand and the box's own start is empty.
    start = shown
    if not entry.required and entry.default is None and not entry.default_by_unit:
        st.session_state.setdefault(key, shown)
        start = None
    scale = scale_of(entry)
    most = CEILING if entry.high == CEILING else entry.high * scale
    typed: float | None = st.number_input(
        markdown_text(label),
        min_value=entry.low * scale,
        max_value=most,
        value=start,
        step=texts.step(entry, shown),
        format=f"%.{_DIGITS}g",
        key=key,
        help=markdown_text(hint) or None,
        placeholder=texts.placeholder(entry),
        label_visibility="visible" if visible else "collapsed",
    )
    return typed


def _choice(entry: Input, label: str, hint: str, key: str, held: object) -> object:
    names = screen.CHOICES.get(entry.key, {})
    answer = st.radio(
        markdown_text(label),
        entry.choices,
        entry.choices.index(str(held)),
        format_func=lambda choice: names.get(choice, choice),
        key=key,
        help=markdown_text(hint),
    )
    return SAME if answer == held else answer


def _date(label: str, hint: str, key: str, held: object) -> object:
    day = datetime.date.fromisoformat(str(held)) if held else None
    answer = st.date_input(
        markdown_text(label), day, key=key, help=markdown_text(hint), format="YYYY-MM-DD"
    )
    if answer == day:
        return SAME
    return answer.isoformat() if isinstance(answer, datetime.date) else None


def _shown(entry: Input, held: object) -> float | None:
    """A number of the case as it stands in its box."""
    return float(f"{float(held) * scale_of(entry):.{_DIGITS}g}") if held is not None else None  # type: ignore[arg-type]


def _held(entry: Input, shown: float) -> float:
    return float(f"{shown / scale_of(entry):.{_DIGITS}g}")


def _entered(entry: Input, typed: float | None, shown: float | None) -> object:
    if typed == shown:
        return SAME
    return None if typed is None else _held(entry, typed)
