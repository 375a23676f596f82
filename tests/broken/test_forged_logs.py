"""A log put together by hand: its seals agree, and what it says may be anything.

Seals tell damage, not malice: whoever writes a file can seal it. Whatever stands in it, it is
refused in words, or opens and its machines are cases or are refused in words.
"""

from __future__ import annotations

import contextlib
import copy
import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from riskmodel.records.errors import CannotAnswer, InputError
from riskmodel.records.log.assemble import assembled
from riskmodel.records.log.entries import InputsChanged, Job, MeterReading, OilChange, Quote
from riskmodel.records.log.folder import export_log, import_log
from riskmodel.records.log.log import Log, restore
from riskmodel.records.log.schema import seal_of
from tests.log.made import AUTHOR, TRAITS, log_with, made_case

QUICK = settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
Line = dict[str, Any]


@pytest.fixture(scope="module")
def lines(tmp_path_factory: pytest.TempPathFactory) -> list[Line]:
    """The entries of a small log, as its exported folder has them."""
    place = tmp_path_factory.mktemp("good")
    log, [car, _] = log_with(place, made_case(TRAITS), made_case())
    for payload in (
        MeterReading(101_000, "2026-02-01"),
        InputsChanged({"use.stretches": [{"until": 50_000, "shares": {}}], "cost.sample": 40}),
        OilChange(102_000, "2026-02-03"),
        Quote("2026-02-04", {"planned": [1900, 2100]}),
        Job(103_000, "2026-02-05", replaced=True),
    ):
        log.add(payload, machine=car, author=AUTHOR)
    export_log(log, place / "out")
    return [json.loads(line) for line in (place / "out/entries.jsonl").read_text().splitlines()]


def places(value: object) -> Iterator[tuple[Any, Any]]:
    """Every (container, key) within a JSON value."""
    pairs = value.items() if isinstance(value, dict) else enumerate(value)  # type: ignore[arg-type]
    for key, inner in list(pairs):
        yield value, key
        if isinstance(inner, dict | list):
            yield from places(inner)


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 10**6) | st.floats(allow_nan=False)
    | st.sampled_from(["", "km", "h", "=1+1", "2026-02-30", "../x", "a" * 300, "nan", 10**400]),
    lambda inner: st.lists(inner, max_size=2)
    | st.dictionaries(st.sampled_from(["until", "symbol", "shares", "name", "low"]), inner),
    max_leaves=4,
)  # fmt: skip


def put(folder: Path, entries: list[Line]) -> None:
    """The folder of an exported log with these entries, sealed as they stand."""
    folder.mkdir(exist_ok=True)
    seal = ""
    for entry in entries:
        row = dict(entry)
        row["payload"] = json.dumps(row["payload"], ensure_ascii=False, separators=(",", ":"))
        seal = seal_of(seal, row.values())
    text = "".join(json.dumps(entry, ensure_ascii=False) + "\n" for entry in entries)
    (folder / "entries.jsonl").write_text(text, encoding="utf-8")
    (folder / "log.json").write_text(
        json.dumps({"format": 1, "entries": len(entries), "seal": seal})
    )


def opened_or_told(folder: Path, made: Path) -> None:
    try:
        import_log(folder, made)
    except InputError as fault:
        refused = fault.problems
    else:
        refused = ()
    if refused:
        assert not made.exists()
        return
    with Log.open(made) as log:
        state = log.state()
    for name in state.machines:
        with contextlib.suppress(InputError, CannotAnswer):
            assembled(state, name).case()
    made.unlink()


@QUICK
@given(data=st.data())
def test_anything_in_the_place_of_anything(
    data: st.DataObject, lines: list[Line], tmp_path: Path
) -> None:
    forged = copy.deepcopy(lines)
    for _ in range(data.draw(st.integers(1, 3))):
        entry = data.draw(st.sampled_from(forged))
        found = list(places(entry["payload"]))
        if not found:
            continue
        held, key = data.draw(st.sampled_from(found))
        if data.draw(st.booleans()):
            held[key] = data.draw(ANYTHING)
        else:
            del held[key]
    put(tmp_path / "forged", forged)
    opened_or_told(tmp_path / "forged", tmp_path / "made.sqlite")


@pytest.mark.parametrize("missing", ["reading", "unit"])
def test_a_machine_without_what_it_needs_is_refused_where_the_log_is_opened(
    missing: str, lines: list[Line], tmp_path: Path
) -> None:
    """And so before a log of now gives way to it."""
    forged = copy.deepcopy(lines)
    del next(e for e in forged if e["kind"] == "machine")["payload"]["contents"]["machine"][missing]
    put(tmp_path / "forged", forged)
    with pytest.raises(InputError, match="make no machine"):
        import_log(tmp_path / "forged", tmp_path / "made.sqlite")
    assert not (tmp_path / "made.sqlite").exists()


@pytest.mark.parametrize(
    "harm",
    [
        "CREATE TRIGGER harm AFTER INSERT ON entries BEGIN DELETE FROM entries; END",
        "CREATE VIEW harm AS SELECT * FROM entries",
        "CREATE TABLE harm (x)",
        "CREATE INDEX harm ON entries (author)",
        "CREATE VIRTUAL TABLE harm USING fts5(x)",
        "DROP TRIGGER entries_never_go",
    ],
)
def test_a_backup_with_tables_of_its_own_is_not_put_back(harm: str, tmp_path: Path) -> None:
    log, _ = log_with(tmp_path, made_case())
    good, bad = tmp_path / "workshop.sqlite", tmp_path / "bad.sqlite"
    log.backup(bad)
    before = good.read_bytes()
    db = sqlite3.connect(bad)
    try:
        db.execute(harm)
        db.commit()
    except sqlite3.OperationalError as fault:  # a build without that module
        pytest.skip(str(fault))
    finally:
        db.close()
    with pytest.raises(InputError, match="tables that this tool did not make"):
        restore(bad, good)
    assert good.read_bytes() == before
    assert not list(tmp_path.glob("*before-restore*"))
    assert not list(tmp_path.glob(".*.new*"))


def test_a_damaged_table_whose_text_is_no_text_is_refused_in_words(tmp_path: Path) -> None:
    """What the database reports of it quotes the bytes; found by following coverage."""
    log, _ = log_with(tmp_path, made_case())
    bad = log.backup(tmp_path / "bad.sqlite")
    data = bad.read_bytes()
    for odd in (b"\xbb\xff entries (", b"\x80ABLE entries ("):
        bad.write_bytes(data.replace(b"TABLE entries (", odd.ljust(15)[:15]))
        with pytest.raises(InputError) as refused:
            Log.open(bad)
        assert "\n" not in str(refused.value.problems[0])
