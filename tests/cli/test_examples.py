"""Every command that README and the help texts show, run as it is written.

README's two set-up blocks are left to `.ci/run`. The words of each line are those that a shell
makes of it, so that a character that wants quotes is found; the programs then run in this
process. The examples of the help texts are run in the order in which the verbs are listed, each
on what those before it have made.
"""

from __future__ import annotations

import argparse
import datetime
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from riskmodel import cli
from riskmodel.records.log.place import VARIABLE

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMAND, SERVER = ".venv/bin/riskmodel ", ".venv/bin/streamlit "
SET_UP = ("python3 -m venv ", ".venv/bin/pip install ", ".venv/bin/pytest")

RESULTS = """\
Engine,Drawn,Odometer,Oil km,Lead,Copper
car-1,{today},151500,100,3,1
"""
"""A laboratory's table, invented: the one file that no command before makes."""


def readme_lines() -> list[str]:
    """Every line of README's shell blocks, in order."""
    blocks = re.findall(r"^```sh\n(.*?)^```$", README, re.M | re.S)
    return [line for block in blocks for line in block.splitlines() if line.strip()]


def parsers() -> Iterator[argparse.ArgumentParser]:
    """The command's parser and those of all its verbs and theirs, in the order of the help."""
    waiting = [cli._parser()]
    while waiting:
        parser = waiting.pop(0)
        yield parser
        below = [a for a in parser._actions if isinstance(a, argparse._SubParsersAction)]
        waiting = [verb for action in below for verb in action.choices.values()] + waiting


def documents() -> list[Path]:
    """Every text for those who run things: documents, and modules that tell how."""
    below = [
        path for folder in ("riskmodel", "tests", "data") for path in (ROOT / folder).rglob("*")
    ]
    found = [*ROOT.glob("*.md"), *below]
    return [path for path in found if path.suffix in (".md", ".py") and path.is_file()]


def examples(parser: argparse.ArgumentParser) -> list[str]:
    """The commands that a help text shows, as they are printed."""
    return re.findall(r"^Example: (.*)$", parser.format_help(), re.M)


PARSERS = {parser.prog: parser for parser in parsers()}


def words_of(line: str) -> list[str]:
    """What a shell makes of a command's arguments; nothing is run."""
    done = subprocess.run(
        ["sh", "-c", re.sub(r"^\S+", r"printf '%s\\0'", line)],  # its first word is the program
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert not done.returncode, f"{line}: {done.stderr}"
    assert not done.stderr, f"{line}: {done.stderr}"
    return done.stdout.split("\0")[:-1]


def ended(words: list[str]) -> int:
    """The exit status of the command in this process."""
    try:
        return cli.main(words)
    except SystemExit as end:  # --help
        return int(end.code or 0)


def run_all(lines: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Runs them one after another where we are; names the one that does not do as promised."""
    for line in lines:
        status = ended(words_of(line))
        out, err = capsys.readouterr()
        assert status == 0, f"{line}\n{out}{err}"
        assert "Traceback" not in out + err, line
        assert out.strip(), f"{line}: says nothing"


@pytest.fixture
def stranger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder of somebody who has nothing of ours yet, not even a log."""
    monkeypatch.delenv(VARIABLE, raising=False)
    for name in ("HOME", "XDG_DATA_HOME", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "80")
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    return tmp_path / "here"


def test_every_verb_has_an_example_of_itself() -> None:
    assert len(PARSERS) > 30
    for prog, parser in PARSERS.items():
        shown = examples(parser)
        assert shown, f"{prog} --help has no line that begins with “Example: ”"
        assert all(line.startswith(prog.split()[0] + " ") for line in shown)
        # of a group (the command itself, the log) how to begin, else the verb itself
        assert any(line.startswith(prog + " ") or line == prog for line in shown), prog


def test_readme_shows_nothing_but_set_up_the_page_and_the_command() -> None:
    lines = readme_lines()
    assert sum(line.startswith(COMMAND) for line in lines) > 8
    assert sum(line.startswith(SERVER) for line in lines) == 1
    for line in lines:
        assert line.startswith((*SET_UP, COMMAND, SERVER)), line


def test_every_module_that_a_document_tells_to_run_is_there() -> None:
    """ "python -m ..." in any document, and in the first text of any module."""
    texts = {path: path.read_text(encoding="utf-8") for path in documents()}
    named = {
        (module, path.name)
        for path, text in texts.items()
        for module in re.findall(r"\bpython3? -m ([a-z_][\w.]*\w)", text)
        if module.split(".")[0] in ("riskmodel", "tests")
    }
    assert len(named) > 10
    for module, where in sorted(named):
        path = ROOT.joinpath(*module.split("."))
        runs = path.with_suffix(".py").is_file() or (path / "__main__.py").is_file()
        assert runs, f"{where}: python -m {module}"


@pytest.mark.slow
def test_readmes_commands_do_as_promised(
    stranger: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(ROOT / "data", stranger / "data")
    run_all([line for line in readme_lines() if line.startswith(COMMAND)], capsys)
    assert (stranger / "my-car.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.slow
def test_the_examples_of_help_do_as_promised(
    stranger: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    today = datetime.date.today().isoformat()
    (stranger / "results.csv").write_text(RESULTS.format(today=today))
    run_all([line for parser in PARSERS.values() for line in examples(parser)], capsys)
    made = {path.name for path in stranger.iterdir()}
    assert made >= {"my-car", "my-boat", "my-car.pdf", "workshop.sqlite", "copy.sqlite"}


@pytest.mark.slow
def test_the_page_starts_as_readme_says(stranger: Path) -> None:
    (line,) = (line for line in readme_lines() if line.startswith(SERVER))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = subprocess.Popen(
        [sys.executable, "-m", "streamlit", *words_of(line)],
        cwd=ROOT, env={**os.environ, "STREAMLIT_SERVER_PORT": str(port)},
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    try:
        end = time.monotonic() + 60
        while True:
            assert server.poll() is None, server.stdout and server.stdout.read().decode()
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health") as said:
                    assert said.read() == b"ok"
                    break
            except OSError:
                assert time.monotonic() < end, "the page did not start"
                time.sleep(0.2)
    finally:
        server.terminate()
        server.communicate(timeout=20)
