"""A case with how it was driven stated anew, from the answers to the plain questions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from riskmodel.records.case import Case
from riskmodel.use.kinds import standard_kinds
from riskmodel.use.learned import column_of_use
from riskmodel.use.mix import UNKNOWN, Mix
from riskmodel.use.questions import Implied

DIGITS = 4
"""Shares are stated to so many decimals: finer than anybody knows them."""


def stated_by(case: Case, implied: Implied, earlier: bool) -> dict[str, object]:
    """Inputs to state in `case`, by key: the standard kinds, its own stretch and the use ahead as
    `implied`; usage before this owner's watch likewise with `earlier`, else as not known.

    A trait that tells of use by the records' own column is left out: with both it would count
    twice.
    """
    mix = implied.mix
    fitted, bought = case.part.fitted_at, case.part.fitted_at + case.part.entered_at
    stretches = []
    if bought > fitted and not earlier:
        stretches.append(_stretch(bought, UNKNOWN))
    if not stretches or case.machine.reading > bought:
        stretches.append(_stretch(case.machine.reading, mix))
    changes: dict[str, object] = {
        "use.kinds": [
            {
                "name": kind.name,
                "harshness": [kind.harshness.low, kind.harshness.high],
                "population_share": kind.population_share,
            }
            for kind in standard_kinds(case.machine.unit)
        ],
        "use.stretches": stretches if case.age > 0 else None,
        "use.ahead": _shares(mix) if _ahead_by_itself(case, mix) else None,
    }
    column = None if case.records is None else column_of_use(case.records, case.use.kinds)
    if column in case.part.traits:
        left = {name: value for name, value in case.part.traits.items() if name != column}
        changes["part.traits"] = left or None
    return changes


def _ahead_by_itself(case: Case, mix: Mix) -> bool:
    """Whether the use ahead has to be stated: else it is that of the last stretch."""
    bought_today = case.part.entered_at >= case.age
    return bought_today and not mix.unknown


def _stretch(until: float, mix: Mix) -> Mapping[str, Any]:
    """A stretch of which only some shares may be told."""
    told: dict[str, Any] = {"until": until}
    if mix.shares or not mix.unknown:
        told["shares"] = _shares(mix)
    return {**told, "unknown": True} if mix.unknown else told


def _shares(mix: Mix) -> dict[str, float]:
    return {name: round(share, DIGITS) for name, share in mix.shares.items()}
