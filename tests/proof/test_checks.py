"""The table of outside checks: every row holds, and no test that names a source lacks one."""

from __future__ import annotations

import pytest

from tests.proof.checks import METHOD_ONLY, NAMED, TESTS, every, files_with_sources
from tests.proof.checks_kind import READ, Check, Row, decimals, half_unit, table, worked

QUICK = [check for _, check in every() if not check.slow]


def test_every_row_holds() -> None:
    """The slow ones are left to the tests that they name, which do the same."""
    rows = [worked(check) for check in QUICK]
    beyond = [row for row in rows if not row.agrees]
    assert not beyond, table(beyond)
    assert len(rows) > 100


def test_every_test_file_that_names_a_source_has_a_row() -> None:
    told = {check.where for _, check in every()}
    assert files_with_sources() - set(METHOD_ONLY) <= told
    assert set(METHOD_ONLY) <= files_with_sources()
    assert not set(METHOD_ONLY) & told
    for where in told:
        assert (TESTS / where).is_file(), where


def test_rows_are_told_apart() -> None:
    told = [(check.what, check.source, check.published) for _, check in every()]
    assert len(set(told)) == len(told)


@pytest.mark.parametrize(
    "text",
    ["Nelson 1982, Applied", "(Garwood\n1936)", "Barlow & Hunter 1960", "Talts et al. 2018",
     "from memory", "NAVAIR 00-25-403", "section 5.1.2"],
)  # fmt: skip
def test_what_names_a_source(text: str) -> None:
    assert NAMED.search(" ".join(text.split()))


@pytest.mark.parametrize("text", ["1 November 2026", "May 2001", "2026-11-01", "at 1950 km"])
def test_what_names_none(text: str) -> None:
    assert not NAMED.search(text)


def test_a_difference_beyond_the_last_digit_is_told() -> None:
    def row(published: float, ours: float) -> Row:
        return Row(Check("it", "a book", READ, published, lambda: ours, "a.py"), ours)

    assert [decimals(v) for v in (183.4, 27719.0, 0.0143, 1e-05)] == [1, 0, 4, 5]
    assert half_unit(183.4) == pytest.approx(0.05)
    assert row(183.4, 183.449).agrees
    assert not row(183.4, 183.451).agrees
    assert "**beyond**" in table([row(183.4, 183.451)])
    assert not Row(Check("it", "a book", READ, "now", lambda: "later", "a.py"), "later").agrees
