"""What a reader finds in a PDF, by poppler's tools; tests that need them are skipped without."""

from __future__ import annotations

import contextlib
import re
import shutil
import subprocess
import zlib

import pytest

from riskmodel.report.owner.document import Block, Box, Columns, Document, Together

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


def lines(pdf: bytes) -> list[str]:
    """Its lines as they are set."""
    return _by("pdftotext", pdf, "-layout").decode().splitlines()


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


def objects(pdf: bytes) -> bytes:
    """All that stands in the file with its streams unpacked; needs no tool."""
    found = [pdf]
    for packed in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL):
        with contextlib.suppress(zlib.error):
            found.append(zlib.decompressobj().decompress(packed))
    return b"\n".join(found)


def alternatives(pdf: bytes) -> list[str]:
    """The texts that stand for pictures where they cannot be seen."""
    texts = re.findall(
        rb"/Alt\s*(?:\(((?:[^()\\]|\\.)*)\)|<([0-9A-Fa-f\s]+)>)", objects(pdf), re.DOTALL
    )
    return [_string(literal, coded) for literal, coded in texts]


def _string(literal: bytes, coded: bytes) -> str:
    """A string of PDF (ISO 32000-1, 7.3.4 and 7.9.2): in brackets or as hexadecimal figures."""
    data = (
        bytes.fromhex(coded.decode())
        if coded
        else re.sub(rb"\\(.)", rb"\1", literal, flags=re.DOTALL)
    )
    if data.startswith(b"\xfe\xff"):
        return data[2:].decode("utf-16-be")
    return data.decode("latin-1")


def blocks(document: Document) -> list[Block]:
    """All blocks, those within others too."""
    found: list[Block] = []
    waiting: list[Block] = [block for part in document.parts for block in part.blocks]
    while waiting:
        block = waiting.pop(0)
        found.append(block)
        if isinstance(block, (Box, Together)):
            waiting = [*block.blocks, *waiting]
        if isinstance(block, Columns):
            waiting = [*(b for _, inner in block.parts for b in inner), *waiting]
    return found
