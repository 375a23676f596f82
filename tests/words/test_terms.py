"""One word for one thing, and every word of our own explained (judgement: which words these are).

A word that was given up for another must not come back; the terms that a reader has to know stand
in the glossary.
"""

from __future__ import annotations

import argparse
import re
from functools import cache

import pytest

from riskmodel import cli
from riskmodel.records.inputs import INPUTS
from riskmodel.words import GLOSSARY
from tests.cli.test_examples import PARSERS
from tests.words.test_wording import PACKAGE, texts_of

GIVEN_UP = {
    r"next service": "the next oil change",
    r"keep-until": "while you keep it",
    r"\bslots?\b": "a date at the workshop",
    r"carry-over": "old oil left after a drain",
    r"\bcovariates?\b": "what sets the parts apart, a trait",
    r"\bposterior\b|\bcensored\b|\bprior\b": "what is known, still running, a belief",
    r"\bhazard\b": "the chance of a failure",
    r"oil filling": "oil capacity",
}
SHOWN = ("words", "charts", "page", "report")
"""Folders whose texts a person reads; elsewhere statistics keep their own names."""
OURS = (
    "Alarm", "Belief", "Distress", "Effective age", "Harshness", "Keep for", "Oil factor",
    "Own level", "Plan", "Reporting ratio", "Scatter", "Silent failure", "Surge", "Trait",
    "Urgent job", "Verdict", "Visible lead", "Warning lead", "Warning time", "Wear rate",
)  # fmt: skip


@cache
def shown() -> tuple[str, ...]:
    """Every sentence of the code, of the inputs and of the help texts."""
    paths = [path for folder in SHOWN for path in (PACKAGE / folder).rglob("*.py")]
    found = [text for path in paths for text in texts_of(path) if " " in text]
    for entry in INPUTS:
        found += [entry.label, entry.help, entry.default_text, entry.source]
    for parser in PARSERS.values():
        found += [parser.description or "", parser.epilog or ""]
        found += [a.help or "" for a in parser._actions if isinstance(a, argparse.Action)]
    return (*found, cli.CAUTION, *GLOSSARY.values())


@pytest.mark.parametrize("word", GIVEN_UP)
def test_a_word_that_was_given_up_does_not_come_back(word: str) -> None:
    found = [text for text in shown() if re.search(word, text, re.I)]
    assert not found, f"say “{GIVEN_UP[word]}” instead"


@pytest.mark.parametrize("term", OURS)
def test_our_own_terms_are_explained(term: str) -> None:
    assert len(GLOSSARY[term]) > 20
    used = re.compile(rf"\b{term.split()[0]}", re.I)
    assert any(used.search(text) for text in shown() if text not in GLOSSARY.values())


def test_the_glossary_is_in_the_order_of_the_alphabet() -> None:
    assert list(GLOSSARY) == sorted(GLOSSARY, key=str.casefold)
