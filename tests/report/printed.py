"""What a reader finds in a PDF, by poppler's tools; tests that need them are skipped without."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest

needs_poppler = pytest.mark.skipif(
    not all(shutil.which(tool) for tool in ("pdftotext", "pdfinfo", "pdffonts", "pdftoppm")),
    reason="poppler's tools are not installed",
)


def _by(tool: str, pdf: bytes, *options: str) -> bytes:
    run = [tool, *options, "-", *(["-"] if tool == "pdftotext" else [])]
    return subprocess.run(run, input=pdf, capture_output=True, check=True).stdout


def text(pdf: bytes, *options: str) -> str:
    """Its text as selected with a mouse, each run of blanks one space."""
    return plain(_by("pdftotext", pdf, *options).decode())


def plain(found: str) -> str:
    return re.sub(r"[\s\u00a0\u200b\u2066-\u2069\u202a-\u202e]+", " ", found)


def pages(pdf: bytes) -> int:
    return int(info(pdf)["Pages"])


def info(pdf: bytes) -> dict[str, str]:
    lines = _by("pdfinfo", pdf).decode().splitlines()
    return {name: value.strip() for name, _, value in (line.partition(":") for line in lines)}


def structure(pdf: bytes) -> list[str]:
    """The tags in reading order: "H1", "Table", "TH", "Figure"."""
    told = _by("pdfinfo", pdf, "-struct").decode()
    return [line.split()[0].rstrip(":") for line in told.splitlines() if line.strip()]


def fonts(pdf: bytes) -> list[list[str]]:
    """One row a font: its name first, then "emb", "sub" and "uni" as yes or no."""
    rows = _by("pdffonts", pdf).decode().splitlines()[2:]
    return [[row.split()[0], *row.split()[-5:-2]] for row in rows]


def greys(pdf: bytes, page: int) -> bytes:
    """A page as grey pixels (PGM), coarse."""
    return _by("pdftoppm", pdf, "-gray", "-r", "20", "-f", str(page), "-l", str(page))
