"""A belief about the life of the part, by two questions that need no statistics."""

from __future__ import annotations

import streamlit as st

from riskmodel.life.answers import Answers, prior_from_answers
from riskmodel.page import state
from riskmodel.page.markup import markdown_text, paragraph, paragraphs
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.inputs import BY_KEY, CEILING
from riskmodel.records.quantity import Quantity
from riskmodel.words import belief as words
from riskmodel.words import fields as texts
from riskmodel.words import screen

SHAPE, HALF = "life.shape_prior", "life.b50_prior"


def ask(case: Case) -> dict[str, object]:
    """The two questions; the beliefs to state by them where that is wanted, by key."""
    st.html(paragraph(words.ABOUT, "quiet"))
    typed = {share: _range(share, case) for share in words.QUESTIONS}
    wanted = st.checkbox(words.USE, key=state.key("belief.use"), help=words.USE_HELP)
    told = st.container()
    if not all(any(end is not None for end in ends) for ends in typed.values()):
        if wanted:
            told.warning(words.NOT_COMPLETE)
        return {}
    try:
        found = _answers(typed)
    except CannotAnswer as error:
        told.error(f"{error} {words.NOT_USED}" if wanted else str(error))
        return {}
    one_age = any(len({end for end in ends if end is not None}) == 1 for ends in typed.values())
    with told:
        st.html(paragraphs(words.result(found, case.machine.unit)))
        st.html(paragraph(words.widened(one_age), "quiet"))
        if wanted:
            st.html(paragraph(words.IN_FORCE))
    if not wanted:
        return {}
    return {
        SHAPE: words.as_stated(found.shape_prior),
        HALF: words.as_stated(found.b50_prior),
    }


def _range(share: float, case: Case) -> tuple[float | None, float | None]:
    """One question: two boxes for a range, of which one may stay empty."""
    label = words.question(share, case.machine.unit)
    st.markdown(markdown_text(label), help=markdown_text(words.HELP))
    with st.container(horizontal=True, wrap=False, gap="small"):
        low, high = (
            st.number_input(
                markdown_text(f"{label} {word}"),
                min_value=0.0,
                max_value=CEILING,
                value=None,
                step=texts.step(BY_KEY[HALF], case.age),
                format="%.10g",
                key=state.key(f"belief.{share}:{word}"),
                placeholder=word,
                label_visibility="collapsed",
            )
            for word in (screen.LOW_END, screen.HIGH_END)
        )
    return low, high


def _answers(typed: dict[float, tuple[float | None, float | None]]) -> Answers:
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


def _age(ends: tuple[float | None, float | None]) -> float | Quantity:
    given = [end for end in ends if end is not None]
    if min(given) <= 0:
        raise CannotAnswer(words.ABOVE_ZERO)
    if given != sorted(given):
        raise CannotAnswer(words.LOW_FIRST)
    return given[0] if len(set(given)) == 1 else Quantity(given[0], given[-1])
