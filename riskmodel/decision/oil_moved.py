"""The plans weighed anew with what is not known of the warning, and what is judged of the oil, at
the settings that it may have: side by side on few curves, as differences."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from riskmodel.decision.abreast import abreast
from riskmodel.decision.basis import unsampled
from riskmodel.decision.moved import POINTS, Moved, Settings, Weighed, moved, three
from riskmodel.decision.prepared import Grounds, Prepared, expected_costs, prepare, prepared
from riskmodel.decision.sampling import LeadLife, Sampling
from riskmodel.oil.history import roughly
from riskmodel.oil.mass_balance import wear_rates
from riskmodel.records.case import Case, Element
from riskmodel.records.quantity import Quantity, scaled

MISLEADING = (0.005, 0.02, 0.08)
SHARED = (0.0, 0.5, 0.9)
LEAD_LIFE = (-0.5, 0.0, 0.5)
"""Correlation of lead and life tried (judgement)."""
TIMES = (0.5, 1.0, 2.0)
"""What is a judgement and stated as varying from part to part is halved and doubled whole."""

Row = tuple[str, Settings, list[Sampling | None]]
"""An input, its settings, and the samples read at each; None as they stand."""

FACTOR = "warning.lead_factor"


def by_oil(
    found: Grounds, few: Prepared, stands: Weighed, bare: Prepared | None
) -> Iterator[Moved]:
    """The warning's factor on the lead and silent share, then what is judged of the oil. The case
    of `found` costs what it does as it `stands`, `few` is the same on few curves and `bare`, if it
    is at hand, without samples to come."""
    case, warning, own = found.case, found.case.warning, few.present.watch
    lasting = np.inf if own is None else own.lasting
    factors = three(warning.lead_factor.quantile(POINTS))

    rates = wear_rates(case)  # what is read in a sample hangs on nothing that is moved here
    known_now = roughly(found.history(case, rates))

    def watched(changed: Case, lead_life: float = 0.0) -> Sampling:
        together = LeadLife(lead_life, few.curves, few.ages)
        told = known_now
        if changed is not case and known_now is not None:
            told = roughly(found.history(changed, rates))
            told = None if told is None else told.as_alike(known_now)
        return Sampling(changed, told, together, lasting, factors, rough=True)

    def judged(key: str, values: Settings, cases: list[Case]) -> Row:
        return key, values, [None if c == case else watched(c).on_average() for c in cases]

    usual = watched(case)
    known = _known(usual)
    rows = [
        *known,
        judged("oil.element.rise", TIMES, [_elements(case, times) for times in TIMES]),
        judged("oil.misleading", MISLEADING, [_oil(case, misleading=v) for v in MISLEADING]),
        judged("oil.shared_scatter", SHARED, [_oil(case, shared_scatter=v) for v in SHARED]),
    ]
    together = [watched(case, v).on_average() if v else None for v in LEAD_LIFE]
    rows.append(("warning.lead_life", LEAD_LIFE, together))
    unseen = _unseen(found, few, usual, bare) if case.sampled and known else {}

    before, *after = _side_by_side(few, usual.on_average(), rows)
    each = iter(after)
    for key, at, watches in rows:
        if key == FACTOR and case.sampled:  # parts to come have the factor of the present one
            whole = prepare(case, few.curves, usual.history, usual, few.ages, coarse=True)
            since = expected_costs(whole)
        else:
            since = before
        weighed = [stands if w is None else moved(stands, since, next(each)) for w in watches]
        yield Moved(key, at, weighed, unseen.get(key))


def _known(watch: Sampling) -> list[Row]:
    """What is not known of the warning at its settings."""
    warning, rows = watch.case.warning, list[Row]()
    if not warning.lead_factor.exact:
        at = three(warning.lead_factor.quantile(POINTS))
        rows.append((FACTOR, at, [watch.settled(factor=value) for value in at]))
    if not warning.silent.exact:
        at, mean = three(warning.silent.quantile(POINTS)), watch.on_average()
        rows.append(("warning.silent", at, [mean.settled(silent=value) for value in at]))
    return rows


def _unseen(
    found: Grounds, few: Prepared, usual: Sampling, bare: Prepared | None
) -> dict[str, list[Weighed]]:
    """The same without samples to come, by input."""
    stands = expected_costs(prepared(found, unsampled(found.case)) if bare is None else bare)
    quiet = usual.unsampled()
    rows = _known(quiet)
    if found.taken is None:  # then nothing is told that could hang on it
        return {key: [stands] * len(at) for key, at, _ in rows}
    before, *after = _side_by_side(few, quiet.on_average(), rows)
    each = iter(after)
    return {key: [moved(stands, before, next(each)) for _ in at] for key, at, _ in rows}


def _side_by_side(few: Prepared, usual: Sampling, rows: list[Row]) -> list[Weighed]:
    """As it is usually, and at all settings of all rows that differ from that."""
    watches = [watch for *_, each in rows for watch in each if watch is not None]
    return [expected_costs(each) for each in abreast(few, [usual, *watches])]


def _oil(case: Case, **changes: float) -> Case:
    return replace(case, oil=replace(case.oil, **changes))  # type: ignore[arg-type]


def _elements(case: Case, times: float) -> Case:
    """Every rise so many times as far above 1."""

    def raised(element: Element) -> Element:
        rise = scaled(element.rise, times)
        return replace(element, rise=Quantity(max(rise.low, 1.01), max(rise.high, 1.02)))

    return replace(
        case, oil=replace(case.oil, element=tuple(raised(each) for each in case.oil.element))
    )
