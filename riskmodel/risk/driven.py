"""This engine's life curves and its use together, in usage from now on."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from riskmodel.life.posterior import Curves
from riskmodel.oil.history import History, history
from riskmodel.records.case import Case
from riskmodel.risk.life_curves import life_curves
from riskmodel.use.aged import STEEP, AgedCurves, aged_curves, with_habits
from riskmodel.use.effective_age import Use, use_of
from riskmodel.use.leads import in_usage_from_now, lead_ahead, lead_factor_ahead
from riskmodel.use.learned import learned_use, without_trait_of_use

EACH, WIDE, EACH_WIDE = 2, 0.25, 8
"""Nodes of use for each life curve in plans and chances; more where the logarithm of the hazard
that use leads to spreads by more than `WIDE`: two a curve then make the interval too narrow."""


@dataclass(frozen=True, eq=False)
class Driven:
    """`case` has its leads told in usage from now on, `aged` the curves, `use` where both come
    from."""

    case: Case
    use: Use
    aged: AgedCurves

    @property
    def curves(self) -> Curves:
        return self.aged.curves

    def history(self) -> History | None:
        """The samples of the case, as usage before today at the pace to come."""
        return history(self.case, lambda ages: in_usage_from_now(self.use, ages))


def counted_traits(case: Case) -> dict[str, float | str]:
    """This engine's traits that enter its chances: not the one that its stretches of use tell."""
    told = without_trait_of_use(case) if case.use.stretches else case
    return dict(told.part.traits)


def own_curves(case: Case) -> Curves:
    """This engine's life curves by its traits, without the one that its stretches of use tell."""
    return life_curves(without_trait_of_use(case) if case.use.stretches else case)


def use_ahead(case: Case, use: Use | None = None) -> tuple[Case, Use]:
    """The case with its leads in usage from now on, and its use; `use` stands in for it."""
    use, warning = use_of(case) if use is None else use, case.warning
    warning = replace(
        warning,
        lead=lead_ahead(warning.lead, use),
        lead_factor=lead_factor_ahead(warning.lead_factor, use),
        visible_lead=lead_ahead(warning.visible_lead, use),
    )
    return replace(case, warning=warning), use


def driven(case: Case, curves: Curves, each: int | None = None, use: Use | None = None) -> Driven:
    """`curves` are those of `life_curves(case)`: they know of the survival in plain ages.

    `use` has other habits from now on than the case: each pair of a curve and a node of use stays
    and is believed as before, so that a difference can be told node by node.
    """
    case = learned_use(case)
    own, known = use_of(case), (case.part.entered_at, case.age)
    if each is None:
        each = EACH_WIDE if _spread(own) > WIDE else EACH
    aged = aged_curves(curves, own, known, each)
    if use is not None:
        aged = with_habits(aged, own, use)
    ahead, use = use_ahead(case, own if use is None else use)
    return Driven(ahead, use, aged)


def _spread(use: Use) -> float:
    """How far the logarithm of what use makes of the hazard spreads, one standard deviation."""
    if use.plain_age == 0:
        return float(np.sqrt(use.weight @ np.log(use.ahead) ** 2))
    log = np.log(use.ahead) + STEEP * np.log(use.age)
    return float(np.sqrt(use.weight @ (log - use.weight @ log) ** 2))
