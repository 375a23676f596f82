"""The look that a careful analyst takes at life records before believing a fit.

Nothing here changes the records: each finding is a remark in one plain sentence with the
lines concerned. How often each check speaks of records without a fault, and how often it
sees a fault put into them, is measured in tests/studies/check_power.py.
"""

from __future__ import annotations

import numpy as np

from riskmodel.life.check_duplicates import duplicates
from riskmodel.life.check_early import early_failures
from riskmodel.life.check_entry import entries
from riskmodel.life.check_fits import Fits
from riskmodel.life.check_heaping import heaping
from riskmodel.life.check_influence import influence
from riskmodel.life.check_remark import Kind, Remark
from riskmodel.life.check_sample import causes, levels, reach, survivors, suspicion
from riskmodel.life.check_units import converted, lone_ages, thousandfold, thousands, two_clusters
from riskmodel.records.inputs import Unit
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords

__all__ = ["Kind", "Remark", "check"]


def check(
    records: LifeRecords,
    unit: Unit | None = None,
    *,
    at: float | None = None,
    ahead: float = 0.0,
    finding_error: float = 0.1,
    visible_lead: Quantity | None = None,
    reporting_ratio: float = 1.0,
) -> tuple[Remark, ...]:
    """Remarks on records, the plainest faults of entry first.

    `unit` names the usage in the sentences and decides what counts as a round or a high age;
    without it mixed units are not looked for. `at` and `ahead` are the age that the fit will
    be asked about and the usage from there. The others are those of the fit being checked;
    without `visible_lead` parts that came out worn or unworn count as removed. Effects are
    told on the maximum-likelihood B10 life, the age by which one in ten has failed.

    Never raises on records that the reader of files accepts; where there is no best-fitting
    curve, what needs one is left out.
    """
    if len(records) == 0:
        return ()
    fits = Fits(records, finding_error, visible_lead, reporting_ratio)
    odd = thousandfold(records.age)
    found = [
        *duplicates(records),
        *thousands(records, unit),
        *lone_ages(records, unit),
        *converted(records, unit),
    ]
    index = np.flatnonzero(records.count > 0)
    early: list[Remark] = []
    if fits.rows is not None:
        # a figure a thousand times too small would only be told again as an early failure
        rows, index = fits.rows.keep(~odd[index]), index[~odd[index]]
        found += two_clusters(records, rows, index, unit)
        early = early_failures(records, rows, index, unit)
    found += entries(records, fits, unit)
    found += heaping(records, fits, unit)
    found += early
    if not odd.any():
        known = {line for remark in early for line in remark.lines}
        found += [r for r in influence(fits, records, unit) if not known.intersection(r.lines)]
    found += suspicion(records, fits, unit)
    found += causes(records, fits, unit)
    found += survivors(records, reporting_ratio)
    found += levels(records)
    found += reach(records, at, ahead, unit)
    return tuple(found)
