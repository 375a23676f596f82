"""This engine's life curves and its use together, in usage from now on."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.covariate_curves import EFFECT_PRIOR, trait_points
from riskmodel.life.joint_curves import Harshness, JointCurves, joint
from riskmodel.life.posterior import Curves
from riskmodel.oil.history import History, history
from riskmodel.records.case import Case
from riskmodel.risk.later import with_life_of_later, with_parts_alike
from riskmodel.risk.life_curves import life_curves, survived
from riskmodel.use.aged import STEEP, AgedCurves, aged_curves, with_habits
from riskmodel.use.effective_age import Use, use_of
from riskmodel.use.leads import in_usage_from_now, lead_ahead, lead_factor_ahead
from riskmodel.use.learned import (
    base_of_use,
    column_of_use,
    learned_use,
    without_trait_of_use,
)

Floats = NDArray[np.float64]

EACH, EACH_JOINT, WIDE, EACH_WIDE = 2, 4, 0.25, 8
"""Nodes of use for each life curve in plans and chances; more where harshness is joined with it,
and where the logarithm of the hazard that use leads to spreads by more than `WIDE`: two a curve
then make the interval too narrow."""


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

    def history(self, quick: bool = False) -> History | None:
        """The samples of the case, as usage before today at the pace to come; `quick` as there."""
        return history(self.case, lambda ages: in_usage_from_now(self.use, ages), quick=quick)


def counted_traits(case: Case) -> dict[str, float | str]:
    """This engine's traits that enter its chances: not the one that its stretches of use tell."""
    told = without_trait_of_use(case) if case.use.stretches else case
    return dict(told.part.traits)


def own_curves(case: Case) -> Curves:
    """This engine's life curves by its traits, without the one that its stretches of use tell.

    Where the records tell how harsh a use is and its stretches how it was used, they are those of
    the use that harshness is told against, each joined with the harshness fitted beside it
    (`JointCurves`), of which the case's own range is believed beforehand: parts that were each
    driven one way are a mixture, and no Weibull curve.
    """
    if case.use.stretches:
        found = _with_learned_harshness(case)
        return average_use_curves(case) if found is None else with_life_of_later(found, case)
    return life_curves(case)


def average_use_curves(case: Case) -> Curves:
    """The same as one Weibull curve for average use, whatever the records tell of harshness."""
    return life_curves(without_trait_of_use(case) if case.use.stretches else case)


def _with_learned_harshness(case: Case) -> Curves | None:
    """Curves joined with harshness; None where the records are not left to tell any."""
    learned = learned_use(case)
    if learned is case:
        return None
    return harshness_joined(case, learned, use_of(learned).nodes.harshness, survived(case))


def harshness_joined(
    case: Case, learned: Case, sets: Floats, known_survival: tuple[float, float] | None
) -> JointCurves | None:
    """The curves of an engine of the use that harshness is told against, its part the first, each
    joined with the harshness fitted beside it, at `sets` (A, kinds) of it; None where no column
    tells anything. `learned` is the case with harshness from its records, `known_survival` its
    part's (entered_at, age) where the curves are to know of it."""
    assert case.records is not None
    column = column_of_use(case.records, case.use.kinds)
    assert column is not None
    base, kinds = base_of_use(case.records, column), learned.use.kinds
    life, traits = case.life, without_trait_of_use(case).part.traits
    points = trait_points(
        case.records,
        {**traits, column: base},
        life.shape_prior,
        life.b50_prior,
        known_survival,
        life.finding_error,
        case.warning.visible_lead,
        life.reporting_ratio,
    )
    if isinstance(points, Curves):
        return None
    levels = set(case.records.covariates[column]) - {base}
    told = [i for i, kind in enumerate(kinds) if kind.name in levels]
    pace = 1 + (sets - 1) @ np.array([kind.population_share for kind in kinds])
    return joint(points, _believed(case, column, base, told), sets[:, told], pace)


def _believed(case: Case, column: str, base: str, told: list[int]) -> Harshness:
    """What the case believes of the harshness of the kinds `told` against the `base`, before its
    records: that of every kind independent, of two said to be ordinary as of any two levels."""
    kinds = case.use.kinds
    against = next(kind.harshness for kind in kinds if kind.name == base)
    own = [kinds[i].harshness for i in told]
    mean = [math.log(each.median / against.median) for each in own]
    spread = [EFFECT_PRIOR.spread if each.exact and against.exact else each.spread for each in own]
    covariance = np.diag(np.square(spread)) + against.spread**2
    names = tuple(kinds[i].name for i in told)
    return Harshness(column, names, np.array(mean), covariance)


def use_ahead(case: Case, use: Use | None = None) -> tuple[Case, Use]:
    """The case with its leads in usage from now on, parts to come living as a present one that is
    itself a later one, and its use; `use` stands in for it."""
    use, warning = use_of(case) if use is None else use, case.warning
    warning = replace(
        warning,
        lead=lead_ahead(warning.lead, use),
        lead_factor=lead_factor_ahead(warning.lead_factor, use),
        visible_lead=lead_ahead(warning.visible_lead, use),
    )
    return with_parts_alike(replace(case, warning=warning)), use


def driven(case: Case, curves: Curves, each: int | None = None, use: Use | None = None) -> Driven:
    """`curves` are those of `own_curves(case)`: they know of the survival in plain ages.

    `use` has other habits from now on than the case: each pair of a curve and a node of use stays
    and is believed as before, so that a difference can be told node by node.
    """
    case = learned_use(case)
    own, known = use_of(case), (case.part.entered_at, case.age)
    if each is None:
        each = EACH_WIDE if _spread(own) > WIDE else EACH
        if isinstance(curves, JointCurves):
            each = max(each, EACH_JOINT)
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
