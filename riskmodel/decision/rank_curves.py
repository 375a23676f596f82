"""The life curves of a group of machines that share their records, before each one's own survival
is told: that only re-weighs them.

Where the records tell how harsh a use is and the machines how they were used, each curve is joined
with the harshness fitted beside it, as `risk.driven` does it for one machine. Which stretches there
were does not enter, so that the joined curves are shared as well.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from riskmodel.life import weibull
from riskmodel.life.posterior import Curves
from riskmodel.records.case import Case
from riskmodel.records.tables import LifeRecords
from riskmodel.risk.driven import harshness_joined
from riskmodel.risk.life_curves import curves_knowing, survived
from riskmodel.use.learned import without_trait_of_use
from riskmodel.use.nodes import nodes_over

T = TypeVar("T")


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


def without_own(case: Case) -> Case:
    """A case whose records hold its own part, in service today, without that row: as the machine's
    own page has it, where the part counts by its survival alone. The last row that may be it
    goes: those of a log stand below the table that was brought along. Raises ValueError where
    there is none."""
    records, part = case.records, case.part

    def own(row: int) -> bool:
        return records is not None and (
            records.outcome[row] == "running"
            and math.isclose(records.age[row], case.age)
            and math.isclose(records.entered_at[row], part.entered_at, abs_tol=1e-9 * case.age)
            and all(_same(records.covariates[name][row], told) for name, told in traits)
        )

    traits = part.traits.items()
    rows = range(0 if records is None else len(records))
    mine = next((row for row in reversed(rows) if own(row)), None)
    if records is None or mine is None:
        raise ValueError("the records do not hold the part itself")
    return replace(case, records=_without(records, mine))


def _same(one: float | str, other: float | str) -> bool:
    """Whether two traits are the same: a log writes words as the table that it was given."""
    return one == other or str(one).lower() == str(other).lower()


def _without(records: LifeRecords, row: int) -> LifeRecords | None:
    if len(records) == 1:
        return None

    def cut(values: tuple[T, ...]) -> tuple[T, ...]:
        return (*values[:row], *values[row + 1 :])

    return replace(
        records,
        age=np.delete(records.age, row),
        outcome=cut(records.outcome),
        age_from=np.delete(records.age_from, row),
        entered_at=np.delete(records.entered_at, row),
        count=np.delete(records.count, row),
        cause=cut(records.cause),
        why=cut(records.why),
        covariates={name: cut(values) for name, values in records.covariates.items()},
        lines=(),
    )
