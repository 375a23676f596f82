"""What use has to do with the answer, beyond the answer itself: some seconds of work."""

from __future__ import annotations

from dataclasses import dataclass

from riskmodel.decision.habits import Habit, habits
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.risk.chance_parts import parts_of_chance
from riskmodel.use.learned import Learned, learned_harshness
from riskmodel.use.parts_of_spread import SpreadParts


@dataclass(frozen=True, slots=True)
class UseStudy:
    """Other `habits` from now on, `parts` that the interval of the chance ahead comes from, and
    harshness as the records themselves tell it, `learned`; None where they do not."""

    habits: tuple[Habit, ...]
    parts: SpreadParts
    learned: Learned | None


def use_study(case: Case) -> UseStudy:
    """Raises `CannotAnswer` where records and beliefs together do not settle a life curve."""
    return UseStudy(habits(case), parts_of_chance(case), harshness_on_record(case))


def harshness_on_record(case: Case) -> Learned | None:
    """What the records say of harshness; None where they say nothing or settle nothing."""
    try:
        return learned_harshness(case)
    except CannotAnswer:
        return None
