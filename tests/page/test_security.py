"""What a visitor, a file or a neighbour on the network might try, and what happens then."""

from __future__ import annotations

import csv
import http.client
import io
import os
import subprocess
import sys
import time
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from riskmodel.page import log_file
from riskmodel.page.serve import script
from riskmodel.page.uploads import Upload, read_uploads
from riskmodel.records.archive import case_from_zip
from riskmodel.records.errors import InputError
from riskmodel.records.files import case_to_files
from riskmodel.records.log.bridge import import_case
from riskmodel.records.log.entries import MeterReading, OilChange, Quote
from riskmodel.records.log.log import Log, restore
from riskmodel.records.log.sheets import sheets
from tests.log.made import made_case
from tests.page.browsing import free_port
from tests.page.conftest import Page

SCRIPTS = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "javascript:alert(1)",
    "../../../../etc/passwd",
    "%2e%2e%2fetc",
    "\u202e\u0000\u2028x",
    "a" * 5000,
    "'; DROP TABLE entries; --",
)


# --- addresses and the log's path ----------------------------------------------------------


@pytest.mark.parametrize("name", ["machine", "example", "screen", "by"])
@pytest.mark.parametrize("hostile", SCRIPTS[:4] + SCRIPTS[5:7])
def test_an_address_is_a_name_and_nothing_else(name: str, hostile: str, own_log: Path) -> None:
    """Nothing is run, no file is read, no log is made, and the page still stands."""
    page = Page(**{name: hostile})
    for body in page.html:
        if not body.startswith(("<style>", "<script>")):
            assert "<script>alert" not in body
            assert "<img src=x" not in body
    assert "root:" not in page.text
    assert not own_log.exists()


@pytest.mark.parametrize("kind", ["folder", "device", "text", "link to nowhere"])
def test_a_log_path_that_is_no_log_is_told_and_left_alone(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path / "odd.sqlite"
    if kind == "folder":
        place.mkdir()
    elif kind == "device":
        place = Path("/dev/zero")
    elif kind == "text":
        place.write_text("not a log, but somebody's letter")
    else:
        place.symlink_to(tmp_path / "nowhere" / "log.sqlite")
    monkeypatch.setenv(log_file.VARIABLE, str(place))
    page = Page()
    assert not page.app.exception
    if kind == "text":
        assert place.read_text().startswith("not a log")
    if kind == "link to nowhere":
        assert not (tmp_path / "nowhere").exists()


# --- files that are offered ----------------------------------------------------------------


def good() -> dict[str, bytes]:
    return case_to_files(made_case())


@pytest.mark.parametrize(
    "name",
    ["../case.toml", "/etc/case.toml", "C:\\case.toml", "case.toml\x00.zip", "CASE.TOML", ""],
)
def test_only_plain_names_are_taken_for_a_case(name: str) -> None:
    with pytest.raises(InputError):
        read_uploads([Upload(name, good()["case.toml"])])


def test_a_table_is_never_looked_for_on_the_disk(tmp_path: Path) -> None:
    """A case that names a file elsewhere, offered alone, reads nothing from this computer."""
    text = good()["case.toml"].decode()
    for name in ("/etc/passwd", "../x.csv", str(tmp_path / "x.csv"), "x.csv"):
        for text_of in (text.replace("[life]", f'[life]\nrecords = "{name}"'),):
            with pytest.raises(InputError):
                read_uploads([Upload("case.toml", text_of.encode())])


@pytest.mark.parametrize("odd", ["CON.csv", "aux", "nul.txt", "oil.csv ", "oil.csv.", "a<b>.csv"])
def test_odd_names_within_a_zip_touch_no_disk(odd: str) -> None:
    """Nothing is unpacked: a name that Windows keeps for itself is a name in a table of names."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for name, data in good().items():
            archive.writestr(name, data)
        archive.writestr(odd, b"x")
    assert case_from_zip(held.getvalue()) is not None


def test_a_zip_in_a_zip_stays_shut() -> None:
    inner = io.BytesIO()
    with zipfile.ZipFile(inner, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("case.toml", bytes(30_000_000))
    outer = io.BytesIO()
    with zipfile.ZipFile(outer, "w") as archive:
        for name, data in good().items():
            archive.writestr(name, data)
        archive.writestr("more.zip", inner.getvalue())
    began = time.process_time()
    assert case_from_zip(outer.getvalue()) is not None
    assert time.process_time() - began < 1


def test_a_zip_of_very_many_entries_is_refused() -> None:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for number in range(2_000):
            archive.writestr(f"{number}.csv", b"")
    with pytest.raises(InputError, match="found 2000 entries; expected at most 50"):
        case_from_zip(held.getvalue())


@pytest.mark.parametrize(
    "key", [".".join(["a"] * 50_000), '"a".' * 50_000 + "b", "[" + "a." * 50_000 + "a]\nb"]
)
def test_a_key_of_very_many_parts_takes_no_memory(key: str) -> None:
    """The parser's memory grows with the square of them."""
    with pytest.raises(InputError, match="line 1: found a key of more than 20 parts"):
        read_uploads([Upload("case.toml", f"{key} = 1".encode())])


def test_a_table_with_nothing_right_in_it_is_told_in_part() -> None:
    rows = b"age,outcome\n" + b"x,y\n" * 30_000
    files = good()
    text = files["case.toml"].decode().replace("[life]", '[life]\nrecords = "records.csv"')
    offered = {**files, "case.toml": text.encode(), "records.csv": rows}
    with pytest.raises(InputError) as refused:
        read_uploads([Upload(name, data) for name, data in offered.items()])
    of_table = [each for each in refused.value.problems if each.file == "records.csv"]
    assert len(of_table) == 10_001
    assert "10,000 faults by here; what follows was not read" in of_table[-1].found


# --- what is handed out --------------------------------------------------------------------


def test_no_cell_of_the_logs_tables_is_a_formula(tmp_path: Path) -> None:
    """Starts that a spreadsheet may run (common advice on CSV injection): = + - @, tab, carriage
    return, the same behind blanks, and their wide forms. Numbers stay numbers."""
    starts = ("=", "+", "-", "@", " =", "\u3000=", "＝", "＠", "\u00a0+")
    with Log.create(tmp_path / "log.sqlite") as log:
        for start in starts:
            case = made_case(machine={"name": f"{start}HYPERLINK(1)"})
            car = import_case(log, case, author=f"{start}cmd").machine
            note = f"{start}1+1\n{start}2"
            log.add(OilChange(101_000, "2026-03-01", note), machine=car, author="Ann")
            log.add(MeterReading(102_000, "2026-03-02", note), machine=car, author="Ann")
            quote = Quote("2026-03-03", {"planned": 5}, by=f"{start}A1", note=note)
            log.add(quote, machine=car, author="Ann")
        found = sheets(log.state())
    cells = 0
    for data in found.values():
        for row in csv.reader(io.StringIO(data.decode("utf-8"), newline="")):
            for cell in row:
                cells += 1
                begins = cell.lstrip()
                assert not begins.startswith(("=", "+", "@", "＝", "＋", "－", "＠")), cell
                assert not cell.startswith(("\t", "\r")), cell
                if begins.startswith("-"):
                    float(begins)
    assert cells > 200


def test_names_in_a_case_are_shown_as_text_wherever_they_stand() -> None:
    """A case from elsewhere, opened on the page: its names do nothing."""
    nasty = '<img src=x onerror="alert(1)">[a](javascript:alert(1))'
    case = made_case(
        machine={"name": nasty}, part={"name": nasty, "code": nasty, "lining": nasty},
        life={"shape_prior": 3.0, "b50_prior": 200_000},
    )  # fmt: skip
    page = Page()
    page.offer(*case_to_files(case).items())
    assert "&lt;img src=x" in page.text
    for body in page.html:
        assert "<img src=x" not in body
    for box in (*page.app.markdown, *page.app.caption):
        assert "](javascript:" not in box.value.replace("\\]", "").replace("\\(", "")


# --- a backup from elsewhere ---------------------------------------------------------------


@pytest.mark.parametrize("huge", [b"SQLite format 3\x00" + bytes(4096), b"PK\x03\x04", bytes(200)])
def test_what_is_no_backup_leaves_the_log_as_it_is(huge: bytes, tmp_path: Path) -> None:
    target, offered = tmp_path / "log.sqlite", tmp_path / "offered.sqlite"
    with Log.create(target) as log:
        import_case(log, made_case(), author="Ann")
    before = target.read_bytes()
    offered.write_bytes(huge)
    with pytest.raises(InputError):
        restore(offered, target)
    assert target.read_bytes() == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["log.sqlite", "offered.sqlite"]


# --- the server ----------------------------------------------------------------------------


def test_nothing_in_the_settings_takes_a_guard_away() -> None:
    """The server's own guards against requests from other sites are on unless switched off."""
    server = tomllib.loads((script().parent / ".streamlit" / "config.toml").read_text())["server"]
    assert server.get("enableXsrfProtection", True) is True
    assert server.get("enableCORS", True) is True
    assert server["maxUploadSize"] <= 20  # megabytes, the reader's own limit
    assert server.get("enableStaticServing", False) is False
    assert "*" not in "".join(server["allowedHosts"])


@pytest.fixture(scope="module")
def beyond(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    """The page bound to every address of this machine, as somebody may ask for; its port."""
    folder, port = tmp_path_factory.mktemp("beyond"), free_port()
    command = [sys.executable, "-m", "streamlit", "run", str(script()), "--server.port", str(port)]
    with (folder / "server.log").open("wb") as output:
        server = subprocess.Popen(
            [*command, "--server.address", "0.0.0.0"],
            cwd=folder, stdout=output, stderr=subprocess.STDOUT,
            env={**os.environ, log_file.VARIABLE: str(folder / "log.sqlite")},
        )  # fmt: skip
    try:
        for _ in range(600):
            try:
                if _asked(port, "127.0.0.1", "/_stcore/health")[0] == 200:
                    break
            except OSError:
                assert server.poll() is None, (folder / "server.log").read_text()
            time.sleep(0.1)
        yield port
    finally:
        server.terminate()
        server.wait(timeout=20)


def _asked(port: int, host: str, path: str, origin: str | None = None) -> tuple[int, bytes]:
    """The status and body of a request that calls the server `host`, from a page of `origin`."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    headers = {"Host": f"{host}:{port}"}
    if origin is not None:
        headers |= {
            "Origin": origin, "Connection": "Upgrade", "Upgrade": "websocket",
            "Sec-WebSocket-Version": "13", "Sec-WebSocket-Key": "AAAAAAAAAAAAAAAAAAAAAA==",
        }  # fmt: skip
    try:
        connection.request("GET", path, headers=headers)
        answer = connection.getresponse()
        return answer.status, b"" if answer.status == 101 else answer.read()
    finally:
        connection.close()


@pytest.mark.slow
def test_bound_beyond_this_machine_it_still_serves_this_machine_only(beyond: int) -> None:
    """Who calls it by another name, or from another site, gets an empty shell: what a page says
    and takes goes over a connection that is refused."""
    stream = "/_stcore/stream"
    assert _asked(beyond, "localhost", stream, f"http://localhost:{beyond}")[0] == 101
    for host in ("192.0.2.7", "example.org", "localhost.example.org"):
        assert _asked(beyond, host, stream, f"http://{host}:{beyond}")[0] == 403, host
    for origin in ("http://example.org", "null", f"http://example.org:{beyond}"):
        assert _asked(beyond, "localhost", stream, origin)[0] == 403, origin
    shell = _asked(beyond, "192.0.2.7", "/")[1]
    assert b"EUR" not in shell
    assert b"bearing" not in shell
