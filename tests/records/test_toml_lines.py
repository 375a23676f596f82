"""The line of every key of case.toml, against the standard library's reading of it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from riskmodel.records.errors import InputError
from riskmodel.records.files import case_from_files
from riskmodel.records.template import template
from riskmodel.records.toml_text import Path, lines_of, parsed

DOCUMENT = '''\
# a comment with = and [brackets]
format = 1
[machine]
name = "a # b" # not = a key
"odd key" = 'c = d'
a.b.c = 5
text = """
[not.a.table]
x = 1 \\"""
"""
[use]
kinds = [ # a comment, with commas
  { name = "x", share = 1 },

  { name = "[y]" },
]
numbers = [[1, 2], [3,
  4]]
[[oil.element]]
symbol = "Pb"
[[oil.element]]
symbol = "Fe"
  [oil.element.more]
  deep = true
[last]
when = 1979-05-27T07:32:00Z
'''


def test_lines_of_a_document() -> None:
    lines = lines_of(DOCUMENT)
    assert lines == {
        ("format",): 2,
        ("machine",): 3,
        ("machine", "name"): 4,
        ("machine", "odd key"): 5,
        ("machine", "a"): 6,
        ("machine", "a", "b"): 6,
        ("machine", "a", "b", "c"): 6,
        ("machine", "text"): 7,
        ("use",): 11,
        ("use", "kinds"): 12,
        ("use", "kinds", 0): 13,
        ("use", "kinds", 0, "name"): 13,
        ("use", "kinds", 0, "share"): 13,
        ("use", "kinds", 1): 15,
        ("use", "kinds", 1, "name"): 15,
        ("use", "numbers"): 17,
        ("use", "numbers", 0): 17,
        ("use", "numbers", 0, 0): 17,
        ("use", "numbers", 0, 1): 17,
        ("use", "numbers", 1): 17,
        ("use", "numbers", 1, 0): 17,
        ("use", "numbers", 1, 1): 18,
        ("oil",): 19,
        ("oil", "element"): 19,
        ("oil", "element", 0): 19,
        ("oil", "element", 0, "symbol"): 20,
        ("oil", "element", 1): 21,
        ("oil", "element", 1, "symbol"): 22,
        ("oil", "element", 1, "more"): 23,
        ("oil", "element", 1, "more", "deep"): 24,
        ("last",): 25,
        ("last", "when"): 26,
    }


def paths(value: Any, path: Path = ()) -> Iterator[Path]:
    if path:
        yield path
    items = (
        value.items() if isinstance(value, dict)
        else enumerate(value) if isinstance(value, list)
        else ()
    )  # fmt: skip
    for name, item in items:
        yield from paths(item, (*path, name))


TEXTS = st.text(st.characters(codec="utf-8"), max_size=6)
VALUES = st.recursive(
    st.booleans() | st.integers(-(2**31), 2**31) | st.floats(allow_nan=False) | TEXTS | st.dates(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
    max_leaves=12,
)


@given(st.dictionaries(TEXTS, VALUES, max_size=5), st.booleans())
def test_every_key_has_a_line(raw: dict[str, Any], multiline: bool) -> None:
    """All the keys that the standard library reads are found, and no others."""
    text = tomli_w.dumps(raw, multiline_strings=multiline)
    lines = lines_of(text)
    assert set(lines) == set(paths(tomllib.loads(text)))
    assert all(1 <= line <= text.count("\n") + 1 for line in lines.values())


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_every_key_of_the_template(end: str) -> None:
    text = template()["case.toml"].decode().replace("\n", end)
    lines = lines_of(text)
    assert set(lines) == set(paths(tomllib.loads(text)))
    for path, line in lines.items():
        if all(isinstance(part, str) for part in path):
            assert str(path[-1]) in text.split(end)[line - 1]


def test_parsing_tells_the_line() -> None:
    assert parsed(b"\xef\xbb\xbfa = 1\r\n", "f") == ({"a": 1}, "a = 1\r\n")
    for data, message in {
        b"a = 1\na = 2\n": "f, line 2, column 6: found a = 2; expected each key and each table",
        b"a = 1\nb = 12,5\n": "f, line 2, column 7: found b = 12,5; .*: 12.5",
        b"a = [1,\n": "f, its end: found",
        b"a = " + b"[" * 5000: "f: found brackets nested too deep",
        b"\n\na = \xff\n": "f, line 3: found the byte 0xff, which is not UTF-8",
        b"a = 1\nb = \x00\n": "f, line 2: found a NUL byte",
    }.items():
        with pytest.raises(InputError, match=message):
            parsed(data, "f")


def test_line_of_a_missing_key_is_that_of_its_table() -> None:
    files = template()
    text = files["case.toml"].decode().replace("\nplanned =", "\n#planned =")
    with pytest.raises(InputError) as refused:
        case_from_files({**files, "case.toml": text.encode()})
    line = text.split("\n").index("[cost]") + 1
    assert refused.value.problems[0].where == f"line {line}, cost.planned"
