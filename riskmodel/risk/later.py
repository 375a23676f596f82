"""A part that is itself a later one: it lives as parts to come are believed to.

`plan.new_part_life` is how long a replacement lasts against the part that the machine was built
with. Where `part.fitted_at` is not 0 the part in the machine is such a replacement, so its own
curves are those of the records, their scales times that factor. What the factor stands for (the
worn shaft, the workshop, the parts that are sold today) stays: those fitted after it live as this
one does, by the same factor and not by another draw of it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from riskmodel.life.joint_curves import JointCurves
from riskmodel.life.mixture import gathered, gathered_by
from riskmodel.life.posterior import Curves
from riskmodel.life.weibull import LN2, hazard_ahead
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.use.spread import even_grid

POINTS = (0.5, 4.0)
"""Step and reach, in standard deviations, of the grid over the factor."""


def is_later(case: Case) -> bool:
    """Whether the part in the machine is not the one that it was built with."""
    return case.part.fitted_at > 0


def with_life_of_later(curves: Curves, case: Case) -> Curves:
    """`curves`, those of a part that the machine was built with and of this one's survival in plain
    ages, as this part's own: the same where it is that part."""
    if not is_later(case):
        return curves
    return shortened(curves, case.plan.new_part_life, (case.part.entered_at, case.age))


def shortened(
    curves: Curves, factor: Quantity, survived: tuple[float, float] | None = None
) -> Curves:
    """Curves whose scales are so many times as long, about as many as before.

    `survived` = (entered_at, age) is what `curves` know of this part's survival already: it is
    taken back at each and told of the longer or shorter curve. None where they know nothing of it.
    """
    if factor == exactly(1.0):
        return curves
    if factor.exact:
        times, share = np.array([factor.median]), np.ones(1)
    else:
        z, share = even_grid(*POINTS)
        times = np.asarray(factor.quantile(z))
    scale = curves.scale[:, None] * times
    mass = curves.weight[:, None] * share
    if survived is not None:
        entered, age = survived
        lived = hazard_ahead(entered, age - entered, curves.shape, curves.scale)[:, None]
        shorter = hazard_ahead(entered, age - entered, curves.shape[:, None], scale)
        log = np.where(mass > 0, lived - shorter, -np.inf)
        with np.errstate(under="ignore"):
            mass = mass * np.exp(log - log.max())
    if factor.exact:
        mass = mass[:, 0] / mass.sum()
        return replace(curves, scale=scale[:, 0], weight=mass)
    shapes, row = np.unique(curves.shape, return_inverse=True)
    y = np.log(scale) + np.log(LN2) / curves.shape[:, None]
    row, y, mass = np.repeat(row, len(times)), y.ravel(), mass.ravel()
    if not isinstance(curves, JointCurves):
        return gathered(shapes, row, y, mass)
    label = np.repeat(np.arange(len(curves)), len(times))
    found, by = gathered_by(shapes, row, y, mass, label)
    return JointCurves(found.shape, found.scale, found.weight, by @ curves.share, curves.pace)


def with_parts_alike(case: Case) -> Case:
    """The case in which parts to come live as the present one does, where that is a later one."""
    if not is_later(case):
        return case
    return replace(case, plan=replace(case.plan, new_part_life=exactly(1.0)))
