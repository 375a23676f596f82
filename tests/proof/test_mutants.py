"""The list of seeded faults still fits the project: none of them may rot."""

from __future__ import annotations

import ast
from collections import Counter

import pytest

from tests.proof.mutants import MUTANTS, ROOT
from tests.proof.mutants_made import Mutant


@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda mutant: mutant.name)
def test_its_text_occurs_once_and_its_tests_are_there(mutant: Mutant) -> None:
    whole = (ROOT / "riskmodel" / mutant.file).read_text(encoding="utf-8")
    assert whole.count(mutant.text) == 1
    assert mutant.changed != mutant.text
    ast.parse(whole.replace(mutant.text, mutant.changed))
    assert mutant.tests
    for test in mutant.tests:
        assert (ROOT / test).is_file(), test


def test_names_are_told_apart() -> None:
    assert max(Counter(mutant.name for mutant in MUTANTS).values()) == 1
    assert len({(mutant.file, mutant.text) for mutant in MUTANTS}) == len(MUTANTS) >= 60
