"""The life curves of a group of machines that share their records, before each one's own survival
is told: that only re-weighs them.

Where the records tell how harsh a use is and the machines how they were used, each curve is joined
with the harshness fitted beside it, as `risk.driven` does it for one machine. Which stretches there
were does not enter, so that the joined curves are shared as well.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from riskmodel.life import weibull
from riskmodel.life.posterior import Curves
from riskmodel.records.case import Case
from riskmodel.risk.driven import harshness_joined
from riskmodel.risk.life_curves import curves_knowing, survived
from riskmodel.use.learned import without_trait_of_use
from riskmodel.use.nodes import nodes_over


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """What the curves of a group are made from: any one machine's `case`, without the trait that
    its stretches of use tell; `learned`, the same with harshness from its records, None where
    that does not enter its curves."""

    case: Case
    learned: Case | None

    def curves(self, known_survival: tuple[float, float] | None = None) -> Curves:
        """Curves of a first part, without any machine's own survival unless it is given. Raises
        CannotAnswer where records and beliefs do not settle them."""
        case = self.case
        if self.learned is not None:
            sets = nodes_over(self.learned.use.kinds, untold=False).harshness
            found = harshness_joined(case, self.learned, sets, known_survival)
            if found is not None:
                return found
        return curves_knowing(case, known_survival)

    def own(self) -> Curves:
        """Those of the machine itself, worked out with its survival."""
        return self.curves(survived(self.case))


def group_of(case: Case, learned: Case) -> Group:
    """`learned` is the case with harshness from its records, or `case` itself."""
    if not case.use.stretches:
        return Group(case, None)
    return Group(without_trait_of_use(case), None if learned is case else learned)


def lasting(curves: Curves, entered: float, age: float, power: float) -> Curves:
    """The curves weighed by the chance to last from `entered` to `age`, to a `power`."""
    if power == 0 or age <= entered:
        return curves
    lost = weibull.hazard_ahead(entered, age - entered, curves.shape, curves.scale)
    log = np.log(np.maximum(curves.weight, 1e-300)) - power * lost
    weight = np.exp(log - log.max())
    return replace(curves, weight=weight / weight.sum())
