"""A belief about the life of the part, by two questions that need no statistics."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Literal

import streamlit as st

from riskmodel.life.answers import Answers, prior_from_answers
from riskmodel.page import state
from riskmodel.page.markup import markdown_text, paragraph, paragraphs
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.inputs import BY_KEY, CEILING, Unit
from riskmodel.records.quantity import Quantity
from riskmodel.words import belief as words
from riskmodel.words import fields as texts
from riskmodel.words import screen

SHAPE, HALF = "life.shape_prior", "life.b50_prior"

Ends = tuple[float | None, float | None]
"""What stands in the two boxes of a range."""


def ask(case: Case) -> dict[str, object]:
    """The two questions; the beliefs to state by them where that is wanted, by key."""
    st.html(paragraph(words.ABOUT, "quiet"))
    unit = case.machine.unit
    typed = {share: boxes(share, unit, case.age, _case_key(share)) for share in words.QUESTIONS}
    wanted = st.checkbox(words.USE, key=state.key("belief.use"), help=words.USE_HELP)
    told = st.container()
    if not complete(typed):
        if wanted:
            told.warning(words.NOT_COMPLETE)
        return {}
    try:
        found = answers(typed)
    except CannotAnswer as error:
        told.error(f"{error} {words.NOT_USED}" if wanted else str(error))
        return {}
    with told:
        explain(found, typed, unit)
        if wanted:
            st.html(paragraph(words.IN_FORCE))
    return beliefs(found) if wanted else {}


def _case_key(share: float) -> Callable[[str], str]:
    return lambda word: state.key(f"belief.{share}:{word}")


def complete(typed: Mapping[float, Ends]) -> bool:
    """Whether each question has an age."""
    return all(any(end is not None for end in ends) for ends in typed.values())


def explain(found: Answers, typed: Mapping[float, Ends], unit: Unit) -> None:
    """What the answers come to, and how they were widened."""
    one_age = any(len({end for end in ends if end is not None}) == 1 for ends in typed.values())
    st.html(paragraphs(words.result(found, unit)))
    st.html(paragraph(words.widened(one_age), "quiet"))


def beliefs(found: Answers) -> dict[str, object]:
    """The beliefs to state by the answers, by key."""
    return {
        SHAPE: words.as_stated(found.shape_prior),
        HALF: words.as_stated(found.b50_prior),
    }


def boxes(
    share: float,
    unit: Unit,
    near: float,
    key: Callable[[str], str],
    bind: Literal["query-params"] | None = None,
) -> Ends:
    """One question: two boxes for a range, of which one may stay empty. `near` is an age of the
    size of the answer; `key` gives a widget's key by the word on its box."""
    label = words.question(share, unit)
    st.markdown(markdown_text(label), help=markdown_text(words.HELP))
    with st.container(horizontal=True, wrap=False, gap="small"):
        low, high = (
            st.number_input(
                markdown_text(f"{label} {word}"),
                min_value=0.0,
                max_value=CEILING,
                value=None,
                step=texts.step(BY_KEY[HALF], near),
                format="%.10g",
                key=key(word),
                label_visibility="collapsed",
                bind=bind,
            )
            for word in (screen.LOW_END, screen.HIGH_END)
        )
    return low, high


def answers(typed: Mapping[float, Ends]) -> Answers:
    """The curve and the beliefs by both answers.

    Raises CannotAnswer with what is wrong in the words of the page.
    """
    (share1, first), (share2, second) = typed.items()
    age1, age2 = _age(first), _age(second)
    try:
        found = prior_from_answers(share1, age1, share2, age2)
    except CannotAnswer:
        raise CannotAnswer(words.NOT_RISING) from None
    shape, bounds = found.shape_prior, BY_KEY[SHAPE]
    if not bounds.low <= shape.low <= shape.high <= bounds.high:
        raise CannotAnswer(words.TOO_CLOSE)
    return found


def _age(ends: Ends) -> float | Quantity:
    given = [end for end in ends if end is not None]
    if min(given) <= 0:
        raise CannotAnswer(words.ABOVE_ZERO)
    if given != sorted(given):
        raise CannotAnswer(words.LOW_FIRST)
    return given[0] if len(set(given)) == 1 else Quantity(given[0], given[-1])
