"""Whatever the bytes, reading ends in a case or in an InputError with a message."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Mapping

from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from riskmodel.records.archive import case_from_zip, case_to_zip
from riskmodel.records.case import Case
from riskmodel.records.errors import InputError
from riskmodel.records.files import case_from_files, case_to_files, changed
from riskmodel.records.inputs import BY_KEY
from riskmodel.records.life_table import read_records
from riskmodel.records.oil_table import read_samples
from tests.broken.made import VALID

BYTES = {name: text.encode() for name, text in VALID.items()}
PLAIN = case_from_files(BYTES)
QUICK = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])

# What is likely to hurt: separators, quotes, odd numbers, brackets, odd characters.
SCRAPS = st.sampled_from(
    [
        b"", b"\n", b"\r", b",", b";", b"\t", b'"', b"'", b'"""', b"[", b"]]", b"{", b"}", b"=",
        b".", b"#", b"-", b"<", b"0", b"nan", b"-inf", b"1e400", b"1e-400", b"9" * 30, b"true",
        b"\x00", b"\xff", b"\xef\xbb\xbf", "\u2028\u00a0é\u0660".encode(), b"\\", b"\\ud800",
        b"[[oil.element]]\n", b"[a.b.c]\n", b"x = 1979-05-27T07:32:00Z\n", b"[" * 3000,
        b"0x1F", b"1_000", b"[[[]]]", b"age", b"failed", b"2026-02-30", b"=1+1",
    ]
)  # fmt: skip


@st.composite
def mutated(draw: st.DrawFn) -> Mapping[str, bytes]:
    """The valid case with up to four places cut out, doubled or overwritten."""
    files = dict(BYTES)
    for _ in range(draw(st.integers(1, 4))):
        name = draw(st.sampled_from(sorted(files)))
        data = files[name]
        start = draw(st.integers(0, len(data)))
        end = min(len(data), start + draw(st.integers(0, 12)))
        scrap = draw(st.one_of(SCRAPS, st.binary(max_size=6), st.just(data[start:end] * 2)))
        files[name] = data[:start] + scrap + data[end:]
    return files


def told(refused: InputError) -> None:
    """A refusal says on one line each what was found and what was expected."""
    assert refused.problems
    for problem in refused.problems:
        assert problem.found
        assert problem.expected
        assert "\n" not in str(problem)


def attempt(reading: Callable[..., object], *given_: object) -> None:
    """Reads; a case must also be written, and read back the same."""
    try:
        result = reading(*given_)
    except InputError as refused:
        told(refused)
    else:
        if isinstance(result, Case):
            assert case_from_files(case_to_files(result)) == result


@settings(QUICK, max_examples=400)
@given(mutated())
def test_mutated_case(files: Mapping[str, bytes]) -> None:
    attempt(case_from_files, files)


@QUICK
@given(st.binary(max_size=300))
@example(b"\xef\xbb\xbf\xff")
@example(b"a" * 200_000 + b"," + b"b" * 200_000)
def test_random_bytes_as_case_file(data: bytes) -> None:
    attempt(case_from_files, BYTES | {"case.toml": data})


@QUICK
@given(st.text(max_size=300).map(str.encode) | st.binary(max_size=300))
@example(b'age,outcome\n"' + b"x" * 200_000 + b'",failed\n')
@example(b"age,outcome\n5,failed\n" + b"x" * 1000)
def test_random_bytes_as_tables(data: bytes) -> None:
    attempt(read_records, data)
    attempt(read_samples, data)


@QUICK
@given(st.lists(st.lists(SCRAPS | st.just(b"5"), max_size=5).map(b",".join)).map(b"\n".join))
def test_random_cells(data: bytes) -> None:
    for header in (b"age,outcome,count,fuel\n", b"reading,oil_age,date,Fe\n"):
        attempt(read_records, header + data)
        attempt(read_samples, header + data)


RAW = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.dates()
    | st.datetimes()
    | st.just(10**400),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=6,
)


@settings(QUICK, max_examples=400)
@given(
    st.dictionaries(
        st.sampled_from([*BY_KEY, "oil.element[1].rise", "oil.element[9].rise", "plan", "x.y"])
        | st.text(max_size=8),
        RAW,
        min_size=1,
        max_size=3,
    )
)
@example({"oil.element": False, "oil.element[1].rise": None})
@example({"oil.element": [1], "oil.element[1].rise": 5})
def test_random_changes(changes: Mapping[str, object]) -> None:
    attempt(changed, PLAIN, changes)


@QUICK
@given(st.data())
def test_mutated_zip(data: st.DataObject) -> None:
    packed = bytearray(case_to_zip(PLAIN))
    for _ in range(data.draw(st.integers(1, 5))):
        packed[data.draw(st.integers(0, len(packed) - 1))] = data.draw(st.integers(0, 255))
    attempt(case_from_zip, bytes(packed))


@QUICK
@given(st.binary(max_size=200) | st.binary(max_size=200).map(b"PK\x03\x04".__add__))
def test_random_bytes_as_zip(data: bytes) -> None:
    attempt(case_from_zip, data)


@QUICK
@given(st.dictionaries(st.text(min_size=1, max_size=12), st.binary(max_size=20), max_size=3))
def test_zip_of_anything(files: Mapping[str, bytes]) -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, data in files.items():
            try:
                archive.writestr(name, data)
            except (IndexError, ValueError):  # names that no zip can hold
                continue
    attempt(case_from_zip, packed.getvalue())
