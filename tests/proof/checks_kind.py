"""One outside check: what was published, by whom, and what this program gives now."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

Value = float | str | tuple[float, ...]

READ = "read in the source"
MEMORY = "from memory"
RECOMPUTED = "inputs published, figures recomputed"
WORKED = "worked beforehand, no source"
PROGRAM = "another program"
PRACTICE = "common practice, no source"
JUDGEMENT = "judgement"
STANDINGS = (READ, MEMORY, RECOMPUTED, WORKED, PROGRAM, PRACTICE, JUDGEMENT)


@dataclass(frozen=True, slots=True)
class Check:
    """A row of the table.

    `published` is a number, several, or a word; `ours` works out the same now. `allowed` is how
    far a number may be off, one for all or one each; None: half a unit of the last digit that is
    printed. Where it is given, `why` says why. `where` is the test file, below tests/. A `slow`
    one takes more than a second.
    """

    what: str
    source: str
    standing: str
    published: Value
    ours: Callable[[], Value]
    where: str
    allowed: float | tuple[float, ...] | None = None
    why: str = ""
    slow: bool = False

    def __post_init__(self) -> None:
        if self.standing not in STANDINGS:
            raise ValueError(f"{self.what}: {self.standing}")
        if (self.allowed is None) != (not self.why):
            raise ValueError(f"{self.what}: an allowance of its own says why")


@dataclass(frozen=True, slots=True)
class Row:
    """A check and what came out of it."""

    check: Check
    ours: Value

    @property
    def differences(self) -> tuple[float, ...]:
        """Ours less what was published, number by number; none between words."""
        if isinstance(self.ours, str) or isinstance(self.check.published, str):
            return ()
        pairs = zip(_each(self.ours), _each(self.check.published), strict=True)
        return tuple(ours - published for ours, published in pairs)

    @property
    def agrees(self) -> bool:
        """Within what is allowed; words are the same."""
        if isinstance(self.ours, str) or isinstance(self.check.published, str):
            return self.ours == self.check.published
        slack = 1 + 1e-9  # the number printed is no binary fraction
        return all(
            abs(d) <= a * slack for d, a in zip(self.differences, self.allowances, strict=True)
        )

    @property
    def allowances(self) -> tuple[float, ...]:
        published = self.check.published
        assert not isinstance(published, str)
        if self.check.allowed is None:
            return tuple(half_unit(value) for value in _each(published))
        if isinstance(self.check.allowed, tuple):
            return self.check.allowed
        return (self.check.allowed,) * len(_each(published))


def worked(check: Check) -> Row:
    """The check, done now."""
    return Row(check, check.ours())


def half_unit(value: float) -> float:
    """Half a unit of the last digit printed."""
    return 0.5 * 10.0 ** -decimals(value)


def decimals(value: float) -> int:
    """Digits printed after the point; 0 of a whole number."""
    exponent = Decimal(repr(value)).normalize().as_tuple().exponent
    return max(0, -int(exponent))


def _each(value: float | tuple[float, ...]) -> tuple[float, ...]:
    return value if isinstance(value, tuple) else (value,)


# --- as markdown ------------------------------------------------------------------------------


def table(rows: Sequence[Row]) -> str:
    """The rows as a markdown table, with our figures to two digits more than the published."""
    lines = [
        "| check | published | ours | difference | allowed | source | standing | test |",
        "| --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    for row in rows:
        check = row.check
        cells = (
            check.what,
            _printed(check.published),
            _found(row),
            _difference(row),
            _allowed(row),
            check.source,
            check.standing,
            f"`{check.where}`",
        )
        lines.append("| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |")
    return "\n".join(lines)


def _printed(value: Value) -> str:
    if isinstance(value, str):
        return value
    return ", ".join(f"{v:.{decimals(v)}f}" for v in _each(value))


def _found(row: Row) -> str:
    if isinstance(row.ours, str) or isinstance(row.check.published, str):
        return str(row.ours)
    pairs = zip(_each(row.ours), _each(row.check.published), strict=True)
    return ", ".join(
        f"{ours:.2g}" if published == 0 else f"{ours:.{decimals(published) + 2}f}"
        for ours, published in pairs
    )


def _difference(row: Row) -> str:
    if not row.differences:
        return "none" if row.agrees else "**differs**"
    return f"{max(row.differences, key=abs):+.1e}" + ("" if row.agrees else " **beyond**")


def _allowed(row: Row) -> str:
    if not row.differences:
        return "the same"
    greatest = max(range(len(row.differences)), key=lambda i: abs(row.differences[i]))
    why = row.check.why or "half its last digit"
    return f"{row.allowances[greatest]:.1e}: {why}"
