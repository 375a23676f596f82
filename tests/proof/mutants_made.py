"""What a seeded fault is."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Mutant:
    """`text`, which occurs once in `file` (below riskmodel/), becomes `changed`; what is then
    `wrong`, and the `tests`, one of which must turn red."""

    name: str
    file: str
    text: str
    changed: str
    wrong: str
    tests: tuple[str, ...]


def seeded(area: str, *rows: tuple[str, str, str, str, str]) -> tuple[Mutant, ...]:
    """Faults from (file, text, changed, wrong, tests): the tests are paths below tests/, apart by
    blanks and without `test_` and `.py`."""
    return tuple(
        Mutant(f"{area}-{number:02d}", file, text, changed, wrong, _paths(tests))
        for number, (file, text, changed, wrong, tests) in enumerate(rows, start=1)
    )


def _paths(tests: str) -> tuple[str, ...]:
    folders = (test.rpartition("/") for test in tests.split())
    return tuple(f"tests/{folder}/test_{name}.py" for folder, _, name in folders)
