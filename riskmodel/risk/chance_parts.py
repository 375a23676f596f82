"""How much of the interval of the chance ahead comes from each thing that is not known."""

from __future__ import annotations

import numpy as np

from riskmodel.oil.fleet import with_usual
from riskmodel.oil.history import history
from riskmodel.records.case import Case
from riskmodel.risk.driven import average_use_curves, use_ahead
from riskmodel.risk.with_oil import by_node
from riskmodel.use.aged import aged_curves
from riskmodel.use.leads import in_usage_from_now
from riskmodel.use.parts_of_spread import (
    HARSHNESS,
    HISTORY,
    LEAD,
    OIL,
    RECORDS,
    SpreadParts,
    chance_parts,
    parts_of_spread,
)


def parts_of_chance(case: Case) -> SpreadParts:
    """Of the chance of failure before the next oil change: shares of its variance by life records
    (and beliefs about life), harshness, how it was driven, and, with samples, the length of
    warnings and how much the oil shows at all. Raises `CannotAnswer` as `life_curves` does.

    A table over a few nodes of each, so that every share is that of one axis of it.
    """
    case = with_usual(case)
    curves, (told, use) = average_use_curves(case), use_ahead(case)
    few, known = use.coarse(), (case.part.entered_at, case.age)
    ahead = min(case.next_change_in, case.keep)
    taken = history(told, lambda ages: in_usage_from_now(use, ages))
    if taken is None:
        return chance_parts(curves, use, ahead, known)
    aged = aged_curves(curves, few, known, each=None)
    chances, weight = by_node(aged.curves, taken, np.array([ahead]), aged.age)
    axes = (len(curves), *few.nodes.shape, *weight.shape[1:])
    names = (RECORDS, HARSHNESS, HISTORY, LEAD, OIL)
    return parts_of_spread(chances[0].reshape(axes), weight.reshape(axes), names)
