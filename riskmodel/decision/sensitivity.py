"""How the answer moves with what the records cannot settle: who reports, how often a look is
wrong, each group of records, and the belief held beforehand."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from riskmodel.decision.prepared import expected_costs, grounds, prepare, sampling_of
from riskmodel.decision.results import Interval
from riskmodel.decision.sampling import Sampling
from riskmodel.decision.walk_away import settle, walking_away
from riskmodel.decision.weigh import recommended
from riskmodel.life.rows import without_look
from riskmodel.oil.fleet import with_usual
from riskmodel.oil.history import History
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import Cause, LifeRecords
from riskmodel.risk.driven import driven, own_curves
from riskmodel.risk.forecast import chance_ahead
from riskmodel.risk.life_curves import by_traits
from riskmodel.risk.with_oil import chance_with_oil

RATIOS = (1.0, 2.0, 3.0, 5.0, 10.0)
WRONG_LOOKS = (0.02, 0.1, 0.2, 0.3)
SHAPES = (2.0, 3.0, 4.0)
WIDE_SHAPE = Quantity(0.8, 8.0)


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The answer with one thing changed.

    `group` is "as_it_stands", "traits", "reporting_ratio", "finding_error", "left_out", "cause"
    or "belief"; `setting` its value: a number, or a word for a group of records or a belief.
    `chance` is that of failure before the next service, `now` and `later` the expected cost
    of replacing now and of the best later plan, `at` the usage from now of the plan
    recommended (None: never). With no answer, `chance` is None and `why_not` says why.
    """

    group: str
    setting: float | str
    chance: Interval | None = None
    now: float | None = None
    later: float | None = None
    at: float | None = None
    same_verdict: bool = True
    why_not: str = ""


T = TypeVar("T")
Oil = tuple[History | None, Sampling | None]
Change = tuple[str, float | str, Callable[[], Case]]


def life_sensitivity(case: Case) -> tuple[WhatIf, ...]:
    """The case as it stands, then each change in turn."""
    case = with_usual(case)
    found_here = grounds(case)
    then = settle(found_here)
    case, found_here = walking_away(case) if then.walks else case, then.found
    oil = found_here.taken, sampling_of(found_here.case, found_here.taken)
    base = _answer(case, oil, "as_it_stands", "")
    found = [base]
    for group, setting, changed in _changes(case):
        try:
            answer = _answer(changed(), oil, group, setting)
        except CannotAnswer as error:
            found.append(WhatIf(group, setting, why_not=str(error)))
            continue
        found.append(replace(answer, same_verdict=answer.at == base.at))
    return tuple(found)


def _answer(case: Case, oil: Oil, group: str, setting: float | str) -> WhatIf:
    as_driven, (taken, sampling) = driven(case, own_curves(case)), oil
    case, curves, ages = as_driven.case, as_driven.curves, as_driven.aged.age
    at, costs, failure = expected_costs(prepare(case, curves, taken, sampling, ages))
    first = np.array([min(case.next_change_in, case.keep)])
    found = chance_ahead(curves, ages, first)
    if taken is not None:
        told = chance_with_oil(case, curves, first, taken, ages).with_oil
        found = told.value, told.low, told.high
    value, low, high = (float(x[0]) for x in found)
    best = at[recommended(case, at, costs, failure)]
    return WhatIf(
        group,
        setting,
        Interval(value, low, high),
        now=float(costs[0]),
        later=float(costs[1:].min()),
        at=None if np.isinf(best) else float(best),
    )


def _changes(case: Case) -> Iterator[Change]:
    if by_traits(case):
        yield "traits", "traits_unknown", partial(_any_engine, case)
    if case.records is not None:
        yield from _who_reports(case)
        yield from _looks(case, case.records)
        yield from _left_out(case, case.records)
        if "unknown" in case.records.cause:
            yield "cause", "unknown_as_other", partial(_unknown_as_other, case)
    yield from _beliefs(case)


def _who_reports(case: Case) -> Iterator[Change]:
    for ratio in RATIOS:
        if ratio != case.life.reporting_ratio:
            yield "reporting_ratio", ratio, partial(_life, case, reporting_ratio=ratio)


def _looks(case: Case, records: LifeRecords) -> Iterator[Change]:
    looked = [outcome.startswith("removed_") for outcome in records.outcome]
    if not any(looked):
        return
    for error in WRONG_LOOKS:
        if error != case.life.finding_error:
            yield "finding_error", error, partial(_life, case, finding_error=error)
    ignored = replace(records, outcome=tuple(map(without_look, records.outcome)))
    yield "finding_error", "looks_ignored", partial(replace, case, records=ignored)


def _left_out(case: Case, records: LifeRecords) -> Iterator[Change]:
    outcome = np.array(records.outcome)
    groups: dict[str, NDArray[np.bool_]] = {
        name: outcome == name for name in sorted(set(records.outcome))
    }
    groups["between_two_ages"] = ~np.isnan(records.age_from)
    groups["late_entry"] = records.entered_at > 0
    groups["suspected"] = np.array(records.why) == "suspected"
    for name, rows in groups.items():
        if rows.any() and not rows.all() and name != "failed":
            yield "left_out", name, partial(_without, case, rows)


def _beliefs(case: Case) -> Iterator[Change]:
    if not case.life.shape_prior.exact:
        yield "belief", "shape_wide", partial(_life, case, shape_prior=WIDE_SHAPE)
    for shape in SHAPES:
        yield "belief", shape, partial(_life, case, shape_prior=Quantity(shape, shape))
    if case.records is not None and case.life.b50_prior is not None:
        yield "belief", "no_b50", partial(_life, case, b50_prior=None)
        yield "belief", "no_records", partial(replace, case, records=None)


def _life(case: Case, **changes: object) -> Case:
    return replace(case, life=replace(case.life, **changes))  # type: ignore[arg-type]


def _any_engine(case: Case) -> Case:
    return replace(case, part=replace(case.part, traits={}))


def _without(case: Case, rows: NDArray[np.bool_]) -> Case:
    assert case.records is not None
    return replace(case, records=kept(case.records, ~rows))


def _unknown_as_other(case: Case) -> Case:
    assert case.records is not None
    cause: tuple[Cause, ...] = tuple(
        "other" if cause == "unknown" else cause for cause in case.records.cause
    )
    return replace(case, records=replace(case.records, cause=cause))


def kept(records: LifeRecords, rows: NDArray[np.bool_]) -> LifeRecords:
    """The records of which `rows` (rows,) is true."""
    where = np.flatnonzero(rows)

    def some(values: tuple[T, ...]) -> tuple[T, ...]:
        return tuple(values[i] for i in where) if values else ()

    return replace(
        records,
        age=records.age[where],
        age_from=records.age_from[where],
        entered_at=records.entered_at[where],
        count=records.count[where],
        outcome=some(records.outcome),
        cause=some(records.cause),
        why=some(records.why),
        covariates={name: some(values) for name, values in records.covariates.items()},
        lines=some(records.lines),
    )
