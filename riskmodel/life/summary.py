"""What the records say of life, in figures, by maximum likelihood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.check import Remark, check
from riskmodel.life.check_distribution import Choice, distribution_choice
from riskmodel.life.check_sample import reach
from riskmodel.life.comparison import Comparison, compare
from riskmodel.life.covariates import CovariateFit, fit_covariates
from riskmodel.life.fit import Conditional, fit
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.other_causes import Rate, other_causes
from riskmodel.life.profile import Estimate
from riskmodel.life.rows import UNWORN, WORN, Unknown, rows_of, without_look
from riskmodel.life.weibayes import Weibayes, weibayes
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.inputs import Unit
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LifeResult:
    """Maximum likelihood of records: the answer of `riskmodel life`.

    Ages in the records' unit; intervals are 95 % likelihood-ratio, an end that does not
    exist is None, as is everything where no best-fitting curve exists (`warnings` says why).
    """

    n: float
    failures: float
    loglik: float | None
    shape: Estimate
    scale: Estimate
    b10: Estimate
    conditional: tuple[Conditional, ...]
    comparison: tuple[Comparison, ...]
    choices: tuple[Choice, ...]
    covariates: CovariateFit | None
    other_causes: Rate | None
    weibayes: Weibayes | None
    remarks: tuple[Remark, ...]
    warnings: tuple[str, ...]


def summarise(
    records: LifeRecords,
    ahead: Sequence[tuple[float, float]] = (),
    finding_error: float = 0.1,
    visible_lead: Quantity | None = None,
    reporting_ratio: float = 1.0,
    *,
    unknown_as: Unknown = "wear",
    unit: Unit | None = None,
    shape: float | None = None,
) -> LifeResult:
    """Fit the records, compare distributions, look for what is wrong with them.

    `ahead` lists (age, usage ahead) to judge; `unit` is that of the ages, where known.
    With `shape` the scale is bounded at that shape too, failures or none (`weibayes`).
    Without `visible_lead`, parts that came out worn or unworn count as removed, and a
    warning says so. Raises CannotAnswer as `Likelihood` does.
    """
    rows = rows_of(records, reporting_ratio, unknown_as)
    looked = rows.where(WORN) | rows.where(UNWORN)
    read = rows if visible_lead is not None else rows.without_looks()
    likelihood = Likelihood(read, finding_error, visible_lead)
    found = fit(likelihood)
    warnings = list(found.warnings)
    if looked.any():
        seen = float(records.count[[o.startswith("removed_") for o in records.outcome]].sum())
        what = "in the comparison of distributions" if visible_lead is not None else "here"
        warnings.append(
            f"{_parts(seen)} came out with a known look; {what} they count only as removed, "
            "whatever they looked like."
        )
    if reporting_ratio != 1:
        warnings.append(
            f"Survivors are weighed {reporting_ratio:g} times, on the assumption that failures are "
            "reported so many times as readily; the intervals allow for how few survivors that "
            "rests on, and do not know that the ratio is a guess."
        )
    figures = {"shape": found.shape, "scale": found.scale, "B10 life": found.b10}
    for name, figure in figures.items():
        missing = [end for end, at in (("lower", figure.low), ("upper", figure.high)) if at is None]
        if figure.estimate is not None and missing:
            warnings.append(
                f"The 95 % interval of the {name} has no {' and no '.join(missing)} end: the "
                "records do not rule out any value there."
            )
    greatest = likelihood.reference
    if found.b10.estimate is not None and found.b10.estimate > greatest:
        warnings.append(
            f"The B10 life lies beyond the greatest age on record ({greatest:g}): it rests on the "
            "shape of the curve, not on experience."
        )
    choices = tuple(
        distribution_choice(records, at, more, reporting_ratio, unknown_as=unknown_as, unit=unit)
        for at, more in ahead
    )
    warnings += [choice.warning for choice in choices if choice.warning is not None]
    covariates = None
    if records.covariates:
        covariates = _covariates(
            records, finding_error, visible_lead, reporting_ratio, unknown_as, warnings
        )
    remarks = check(
        records,
        unit,
        finding_error=finding_error,
        visible_lead=visible_lead,
        reporting_ratio=reporting_ratio,
    )
    beyond = [remark for at, more in ahead for remark in reach(records, at, more, unit)]
    return LifeResult(
        n=float(np.sum(records.count)),
        failures=found.failures,
        loglik=found.loglik,
        shape=found.shape,
        scale=found.scale,
        b10=found.b10,
        conditional=tuple(found.conditional(at, more) for at, more in ahead),
        comparison=compare(read),
        choices=choices,
        covariates=covariates,
        other_causes=_other_causes(records, reporting_ratio, unknown_as),
        weibayes=None if shape is None else weibayes(likelihood, shape),
        remarks=(*remarks, *beyond),
        warnings=tuple(warnings),
    )


def _parts(count: float) -> str:
    return f"{count:g} {'part' if count == 1 else 'parts'}"


def _other_causes(records: LifeRecords, reporting_ratio: float, unknown_as: Unknown) -> Rate | None:
    """The rate of failures of other causes, where there are any."""
    spared = {"other"} if unknown_as == "wear" else {"other", "unknown"}
    if spared.isdisjoint(records.cause):
        return None
    try:
        return other_causes(records, reporting_ratio, unknown_as=unknown_as)
    except CannotAnswer:
        return None


def _covariates(
    records: LifeRecords,
    finding_error: float,
    visible_lead: Quantity | None,
    reporting_ratio: float,
    unknown_as: Unknown,
    warnings: list[str],
) -> CovariateFit | None:
    """The effects of the covariate columns; `warnings` grows by what they cannot say."""
    if visible_lead is None:
        records = replace(records, outcome=tuple(map(without_look, records.outcome)))
    try:
        found = fit_covariates(
            records, finding_error, visible_lead, reporting_ratio, unknown_as=unknown_as
        )
    except CannotAnswer as error:
        warnings.append(f"Nothing can be said of the covariate columns: {error}")
        return None
    warnings += [text for text in found.warnings if text not in warnings]
    return found
