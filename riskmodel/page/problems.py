"""What is wrong with what was entered or offered, told in place."""

from __future__ import annotations

import re
from collections.abc import Iterable

import pandas as pd
import streamlit as st

from riskmodel.page import markup
from riskmodel.records.errors import Problem
from riskmodel.records.inputs import BY_KEY
from riskmodel.words import screen
from riskmodel.words.inputs_told import label, with_labels

_INDEX = re.compile(r"\[(\d+)\]")


def files(problems: tuple[Problem, ...], told: str = screen.NOT_READ) -> None:
    """Faults of files that were offered: file, line or key, what was found, what may be."""
    if problems:
        st.error(told)
        listed(problems)


def listed(problems: Iterable[Problem]) -> None:
    """Faults of a file in a table: where, what was found, what may be."""
    st.html(
        markup.table(
            pd.DataFrame(
                [
                    {
                        screen.PROBLEM_FILE: problem.file,
                        screen.PROBLEM_WHERE: problem.where,
                        screen.PROBLEM_FOUND: problem.found,
                        screen.PROBLEM_EXPECTED: problem.expected,
                    }
                    for problem in problems
                ]
            )
        )
    )


def figures(problems: Iterable[Problem]) -> None:
    """Faults of figures that were typed on the page, by the labels that stand beside them."""
    st.error(screen.NOT_TAKEN)
    st.html(
        markup.table(
            pd.DataFrame(
                [
                    {
                        screen.PROBLEM_FIGURE: label_of(problem.where),
                        screen.PROBLEM_FOUND: with_labels(problem.found),
                        screen.PROBLEM_EXPECTED: with_labels(problem.expected),
                    }
                    for problem in problems
                ]
            )
        )
    )


def no_answer(message: str) -> None:
    """Figures that are well formed, but have no answer."""
    st.error(screen.CANNOT_ANSWER)
    st.html(markup.paragraph(message))


def label_of(where: str) -> str:
    """The label of the input that a problem of case.toml names."""
    place = where.rpartition(", ")[2]
    key, number = _INDEX.sub("", place), _INDEX.search(place)
    return where if key not in BY_KEY else f"{label(key)}{f' ({number[1]})' if number else ''}"
