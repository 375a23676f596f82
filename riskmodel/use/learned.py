"""Harshness that the life records tell, where a column of them says how parts were used.

The factor on life between two levels of such a column belongs to the shape fitted beside it: a
curve of another shape would want another factor. Without such a column mixed use is already in
the records, whose curve is that of average use, and an interval widened by harshness is cautious.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from riskmodel.life.covariate_design import design
from riskmodel.life.covariates import fit_covariates, harshness_from
from riskmodel.life.profile import Estimate
from riskmodel.life.rows import without_look
from riskmodel.records.case import Case, KindOfUse
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.records.tables import LifeRecords
from riskmodel.records.values import spelt


@dataclass(frozen=True, slots=True)
class Learned:
    """What the `column` of the records says of kinds of use, by their names.

    `harshness` is against the use named `base`, `share` the share of the usage on record.
    `shape` was fitted beside them. `open` are kinds to whose harshness the records set no end.
    """

    column: str
    base: str
    harshness: Mapping[str, Quantity]
    share: Mapping[str, float]
    shape: Estimate
    open: tuple[str, ...]


def column_of_use(records: LifeRecords, kinds: Sequence[KindOfUse]) -> str | None:
    """The column of words all of whose levels are names of `kinds`, if there is one."""
    names = {kind.name for kind in kinds}
    for column, values in records.covariates.items():
        levels = set(values)
        if len(levels) > 1 and levels <= names:
            return column
    return None


def base_of_use(records: LifeRecords, column: str) -> str:
    """The level of a column of words that others are told against, as `fit_covariates` has it."""
    without_looks = replace(records, outcome=tuple(map(without_look, records.outcome)))
    found = next(c.base for c in design(without_looks).columns if c.name == column)
    assert found is not None
    return found


def learned_harshness(case: Case) -> Learned | None:
    """Harshness of the case's kinds from its records; None where no column tells of them.

    A kind is then compared with the column's base level, not with ordinary use; as rates are
    taken relative to the population's mix, that makes no difference once every kind on record
    is told against the same base. Raises CannotAnswer where `fit_covariates` does.
    """
    records, kinds = case.records, case.use.kinds
    if records is None or not kinds or (column := column_of_use(records, kinds)) is None:
        return None
    fit = fit_covariates(
        records, case.life.finding_error, case.warning.visible_lead, case.life.reporting_ratio
    )
    base = next((c.base for c in fit.design.columns if c.name == column), None)
    if base is None:
        return None
    values = np.array(records.covariates[column])
    usage = records.count * (records.age - records.entered_at)
    harshness, share, unsettled = {}, {}, []
    for kind in kinds:
        here = values == kind.name
        share[kind.name] = float(usage[here].sum() / usage.sum())
        if not here.any():
            continue
        try:
            harshness[kind.name] = harshness_from(fit, column, kind.name)
        except CannotAnswer:
            unsettled.append(kind.name)
    return Learned(column, base, harshness, share, fit.shape, tuple(unsettled))


def may_learn(case: Case) -> bool:
    """Whether the case leaves harshness to the records: it states none, but that some use is
    ordinary (exactly 1)."""
    return not any(
        spelt(("use", "kinds", place, "harshness")) in case.stated
        and kind.harshness != exactly(1.0)
        for place, kind in enumerate(case.use.kinds)
    )


def with_learned(case: Case, found: Learned) -> Case:
    """The case with its kinds as harsh and as common as on record.

    Harshness is then against the base level, for every kind on record alike; a kind to whose
    harshness the records set no end, or of which they tell nothing, keeps the one in the case.
    """
    kinds = tuple(
        replace(
            kind,
            harshness=found.harshness.get(kind.name, kind.harshness),
            population_share=found.share[kind.name],
        )
        for kind in case.use.kinds
    )
    return replace(case, use=replace(case.use, kinds=kinds))


def left_to_records(case: Case) -> Learned | None:
    """What its records say of harshness, where the case leaves it to them and they tell any."""
    if case.records is None or not case.use.kinds or not may_learn(case):
        return None
    try:
        return learned_harshness(case)
    except CannotAnswer:
        return None


def learned_use(case: Case) -> Case:
    """The case with harshness from its records, where it leaves it to them and they tell any."""
    found = left_to_records(case)
    return case if found is None else with_learned(case, found)


def without_trait_of_use(case: Case) -> Case:
    """The case without this engine's trait in a column that tells kinds of use: its stretches tell
    how it was used, and with both its use would count twice."""
    if case.records is None or not case.use.kinds:
        return case
    column = column_of_use(case.records, case.use.kinds)
    traits = {name: value for name, value in case.part.traits.items() if name != column}
    return replace(case, part=replace(case.part, traits=traits))
