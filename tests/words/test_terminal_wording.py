"""Nothing that the command prints, help and errors included, claims what nobody can know."""

from __future__ import annotations

import argparse
import io
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pytest

from riskmodel import cli
from riskmodel.records.case import Case
from riskmodel.records.files import changed, write_case
from tests.page.log_made import exact_case
from tests.words.test_wording import NEVER

ROOT = Path(__file__).parents[2]
RECORDS = ROOT / "tests" / "reference" / "shock_absorber.csv"


def printed(*words: str) -> str:
    """What a run of the command prints, on both streams."""
    with redirect_stdout(io.StringIO()) as out, redirect_stderr(io.StringIO()) as err:
        cli.main(list(words))
    return out.getvalue() + err.getvalue()


def parsers() -> Iterator[argparse.ArgumentParser]:
    waiting = [cli._parser()]
    while waiting:
        parser = waiting.pop()
        yield parser
        for action in parser._actions:
            if isinstance(action, argparse._SubParsersAction):
                waiting += action.choices.values()


def test_no_help_claims_anything() -> None:
    helps = [parser.format_help() for parser in parsers()]
    assert len(helps) > 8
    for text in helps:
        assert not NEVER.findall(text), text


@pytest.fixture(scope="module")
def cases(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Quick cases: as they are, with a symptom, and one with nothing to fear for miles."""
    folder = tmp_path_factory.mktemp("cases")
    plain = exact_case("My car")
    kept: dict[str, Case] = {
        "plain": plain,
        "knocking": changed(plain, {"machine.symptoms": ["knock"]}),
        "young": changed(plain, {"machine.reading": 1_000}),
        "cheap": changed(plain, {"cost.planned": 1}),
    }
    for name, case in kept.items():
        write_case(case, folder / name)
    return folder


@pytest.mark.parametrize("name", ["plain", "knocking", "young", "cheap"])
def test_no_answer_claims_anything(cases: Path, name: str) -> None:
    for verb in (["weigh"], ["weigh", "--detail", "full"], ["oil"], ["check"], ["intervals"]):
        said = printed(*verb, str(cases / name))
        assert said.strip(), verb
        assert not NEVER.findall(said), (verb, said)


def test_neither_does_a_ranking_a_life_or_a_complaint(cases: Path, tmp_path: Path) -> None:
    (tmp_path / "bad").mkdir()
    (tmp_path / "bad" / "case.toml").write_text('format = 1\n[machine]\nunit = "furlong"\n')
    runs = (
        ("rank", str(cases)),
        ("life", str(RECORDS), "--at", "10000", "--ahead", "5000"),
        ("weigh", str(tmp_path / "bad")),
        ("check", str(tmp_path / "nowhere")),
        ("new", str(tmp_path / "mine"), "--unit", "h"),
    )
    for words in runs:
        said = printed(*words)
        assert said.strip(), words
        assert not NEVER.findall(said), (words, said)
    for path in (tmp_path / "mine").iterdir():
        assert not NEVER.findall(path.read_text(encoding="utf-8")), path
