"""No text calls an engine what nobody can know, and none shows what only the program needs."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import riskmodel
from riskmodel.records.inputs import BY_KEY, INPUTS
from riskmodel.words import GLOSSARY
from tests.words.test_words import every_sentence, with_symptom
from tests.words.weighings import plain_case, with_values

PACKAGE = Path(riskmodel.__file__).parent
TEMPLATES = (".typ", ".js", ".css", ".html", ".toml")
"""Files beside the code from which a report or the page is made."""

NEVER = re.compile(r"\b(safe|safely|sound|healthy|fine|OK|okay|all right|good as new)\b", re.I)
"""Words that no text may use of an engine; none needs them for anything else."""


READ = {
    "file.py": "ok",  # what SQLite answers where nothing is wrong with a file
    "loose_guess.py": r"\b(survi\w*|running|runs|",  # words looked for in other people's tables
}
"""Texts that the program reads and never says, by their module: each begins so."""


def texts_of(path: Path) -> Iterator[str]:
    """Every string of a module but its docstrings and its f-string pieces' format codes."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    described = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.FunctionDef | ast.ClassDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in described
        ):
            yield node.value


def modules() -> list[Path]:
    """Every module: errors are told by all of them, and the command's help by its docstrings."""
    return sorted(PACKAGE.rglob("*.py"))


def test_there_is_something_to_search() -> None:
    folders = {path.parent.name for path in modules()}
    assert {"words", "charts", "page", "report", "owner", "records", "riskmodel"} <= folders
    assert sum(len(list(texts_of(path))) for path in modules()) > 1000
    assert any(path.suffix == ".typ" for path in templates())


def templates() -> list[Path]:
    return sorted(path for path in PACKAGE.rglob("*") if path.suffix in TEMPLATES)


def test_neither_does_a_template_of_report_or_page() -> None:
    for path in templates():
        found = NEVER.findall(path.read_text(encoding="utf-8"))
        assert not found, path


def test_neither_does_the_help_of_the_command() -> None:
    """A command's help is made of its docstrings."""
    commands = sorted(PACKAGE.glob("cli*.py"))
    assert len(commands) > 2
    for path in commands:
        assert not NEVER.findall(path.read_text(encoding="utf-8")), path


@pytest.mark.parametrize("path", modules(), ids=lambda path: f"{path.parent.name}/{path.name}")
def test_no_text_in_the_code_calls_an_engine_what_nobody_can_know(path: Path) -> None:
    read = READ.get(path.name)
    found = [text for text in texts_of(path) if NEVER.search(text)]
    assert not [text for text in found if read is None or not text.startswith(read)]


def test_neither_do_labels_and_help_of_the_inputs() -> None:
    for entry in INPUTS:
        for text in (entry.label, entry.help, entry.default_text, entry.source):
            assert not NEVER.search(text), (entry.key, text)


@pytest.mark.parametrize("unit", ["km", "mi", "h"])
@pytest.mark.parametrize("symptoms", [False, True])
def test_neither_does_anything_that_is_said(unit: str, symptoms: bool) -> None:
    case = with_values(plain_case(unit), "machine", invented=True, date="2026-11-01")
    said = every_sentence(with_symptom(case) if symptoms else case)
    for text in (*said, *GLOSSARY, *GLOSSARY.values()):
        assert not NEVER.search(text), text


def test_no_sentence_shows_a_key_or_a_placeholder() -> None:
    said = " ".join(every_sentence(with_values(plain_case(), "plan", most_risk=0.05)))
    for key in BY_KEY:
        assert key not in said
    assert not re.search(r"[a-z]_[a-z]|\{|\}|None|nan|inf\b", said)


def test_the_search_finds_what_it_looks_for() -> None:
    assert NEVER.search("This engine is sound.")
    assert NEVER.search("It is OK to drive on")
    assert not NEVER.search("confined, unsound, refine")
