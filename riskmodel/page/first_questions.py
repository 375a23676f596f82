"""The questions of the first visit; each answer stands in the page's address at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, cast

import streamlit as st

from riskmodel.page import belief, first_case
from riskmodel.page.address import DRAFT
from riskmodel.page.belief import Ends
from riskmodel.page.first_case import FirstAnswers, Source
from riskmodel.page.markup import markdown_text, paragraph, paragraphs
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.inputs import BY_KEY, CEILING, UNITS, Unit
from riskmodel.words import belief as belief_words
from riskmodel.words import fields as texts
from riskmodel.words import first_visit as words

BIND: Literal["query-params"] = "query-params"
"""Keeps what is answered in the address."""


def asked(symptoms: tuple[str, ...]) -> FirstAnswers:
    """Every question; what was answered so far, beside the `symptoms` ticked before."""
    st.subheader(words.MACHINE, anchor=False)
    name = _text("name", words.NAME_HOLDER, "km")
    unit: Unit = st.radio(
        words.question("unit", "km"),
        UNITS,
        key=f"{DRAFT}unit",
        horizontal=True,
        format_func=words.UNITS.__getitem__,
        bind=BIND,
    )
    left, right = st.columns(2, gap="medium")
    with left:
        reading = _number("reading", unit)
    with right:
        year = _number("year", unit)
    left, right = st.columns(2, gap="medium")
    with left:
        part = _text("part", str(BY_KEY["part.name"].default), unit)
    with right:
        interval = _number("interval", unit, words.interval_holder(unit))
    fitted = _number("fitted", unit, words.FITTED_HOLDER)
    st.subheader(words.MONEY, anchor=False)
    planned = _range("planned", unit)
    failure = _range("failure", unit)
    left, right = st.columns(2, gap="medium")
    with left:
        keep = _number("keep", unit)
    with right:
        currency = _text("currency", words.CURRENCY_HOLDER, unit)
    st.subheader(words.LIFE, anchor=False)
    source, ages, records = _life(unit, reading)
    return FirstAnswers(
        unit=unit,
        source=source,
        name=name,
        reading=reading,
        year=year,
        part=part,
        fitted=fitted,
        interval=interval,
        currency=currency,
        planned=planned,
        failure=failure,
        keep=keep,
        tenth=ages.get(first_case.TENTH, (None, None)),
        half=ages.get(first_case.HALF, (None, None)),
        records=records,
        symptoms=symptoms,
    )


def _life(unit: Unit, reading: float | None) -> tuple[Source, dict[float, Ends], str]:
    """By what the life of such parts is judged: a belief, records, or invented records."""
    source = cast(
        Source,
        st.radio(
            words.question("source", unit),
            list(words.SOURCES),
            key=f"{DRAFT}by",
            format_func=words.SOURCES.__getitem__,
            bind=BIND,
        ),
    )
    st.html(paragraph(words.SOURCES_HELP[source], "quiet"))
    if source == "invented":
        return source, {}, ""
    if source == "records":
        st.html(paragraph(words.RECORDS_ABOUT, "quiet"))
        text = st.text_area(
            words.question("records", unit),
            key=f"{DRAFT}records",
            placeholder=words.RECORDS_HOLDER,
            max_chars=words.MOST_RECORDS,
            height=180,
            bind=BIND,
        )
        return source, {}, text or ""
    near = reading or 0.0
    ages = {
        share: belief.boxes(share, unit, near, _ages_key(name), BIND)
        for share, name in ((first_case.TENTH, "tenth"), (first_case.HALF, "half"))
    }
    if belief.complete(ages):
        try:
            found = belief.answers(ages)
            st.html(paragraphs(belief_words.plainly(found, unit)))
            st.html(paragraph(belief_words.WIDENED_PLAINLY, "quiet"))
        except CannotAnswer as error:
            st.error(str(error))
    return source, ages, ""


def _ages_key(name: str) -> Callable[[str], str]:
    return lambda word: f"{DRAFT}{name}-{word}"


def _text(name: str, holder: str, unit: Unit) -> str:
    typed = st.text_input(
        words.question(name, unit),
        key=f"{DRAFT}{name}",
        placeholder=holder,
        help=words.HELP.get(name),
        max_chars=100,
        bind=BIND,
    )
    return typed or ""


def _number(name: str, unit: Unit, holder: str | None = None) -> float | None:
    return _box(words.question(name, unit), f"{DRAFT}{name}", holder, words.HELP.get(name))


def _range(name: str, unit: Unit) -> Ends:
    """A figure, or two between which it lies; the question stands over both."""
    label = words.question(name, unit)
    st.markdown(label, help=words.HELP.get(name))
    with st.container(horizontal=True, wrap=False, gap="small"):
        low, high = (
            _box(f"{label} {holder}", f"{DRAFT}{name}-{end}", holder, None, visible=False)
            for end, holder in (("from", words.FROM), ("to", words.TO))
        )
    return low, high


def _box(
    label: str, key: str, holder: str | None, help: str | None, *, visible: bool = True
) -> float | None:
    held = st.session_state.get(key)
    return st.number_input(
        markdown_text(label),
        min_value=0.0,
        max_value=CEILING,
        value=None,
        step=texts.step(BY_KEY["machine.reading"], held),
        format="%.10g",
        key=key,
        placeholder=holder,
        help=help,
        label_visibility="visible" if visible else "collapsed",
        bind=BIND,
    )
