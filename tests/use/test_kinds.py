"""The table of kinds of use."""

from __future__ import annotations

import pytest

from riskmodel.records.inputs import BY_KEY, UNITS, Unit
from riskmodel.use.kinds import FULL_LOAD, HEAVY, UNWARMED, like, standard_kinds


@pytest.mark.parametrize("unit", UNITS)
def test_every_kind_is_told_from_the_others_and_leaves_room_for_ordinary_use(unit: Unit) -> None:
    kinds = standard_kinds(unit)
    assert len({kind.key for kind in kinds}) == len({kind.name for kind in kinds}) == len(kinds)
    assert sum(kind.population_share for kind in kinds) < 1
    for kind in kinds:
        assert kind.population_share > 0
        assert kind.source == "judgement"
        assert like(kind.name, unit) == kind.key
        stated = kind.as_stated()
        assert (stated.harshness.low, stated.harshness.high) == BY_KEY[
            "use.kinds.harshness"
        ].default


def test_boats_have_heavy_displacement_and_cars_do_not() -> None:
    assert HEAVY in {kind.key for kind in standard_kinds("h")}
    assert HEAVY not in {kind.key for kind in standard_kinds("km")}


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("Track", FULL_LOAD),
        ("a few track days", FULL_LOAD),
        ("trackside parking", None),
        ("load before the oil is warm!", UNWARMED),
        ("mixed", None),
        ("towing to track days", None),  # speaks of two
    ],
)
def test_a_typed_name_is_recognised_by_whole_words_and_only_where_it_speaks_of_one_kind(
    typed: str, key: str | None
) -> None:
    assert like(typed, "km") == key
