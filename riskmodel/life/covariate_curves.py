"""Life curves for one engine, given its own traits.

The model of `covariates` with priors, for decisions. A part with terms x has
ln B50 = ln B50 of the population + (x - population's mean)'g. The prior of the shape is that
of the common shape, the prior of B50 that of an average part. The effects g have weak priors
about "no effect": the factor on life between any two levels of a column, and over two standard
deviations of a number, lies within EFFECT_PRIOR with 90 % (judgement). Levels are exchangeable,
so it does not matter which is the base.

A trait that is not stated is averaged over: the engine may be as any part on record is in
those columns, in proportion to how many there are (survivors weighed by the reporting ratio),
whatever its stated traits. Its curves are then the mixture of those of all such engines, never
narrower than theirs on average; how long it has survived re-weighs them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.covariate_design import Column, Design, Value, design
from riskmodel.life.covariate_effects import Belief, Effects, Mode
from riskmodel.life.grid import Axis, Line, nodes
from riskmodel.life.mixture import curves_of, gathered
from riskmodel.life.posterior import (
    Curves,
    axis_of,
    first_guess,
    posterior,
    require_bounds,
    surety_of,
)
from riskmodel.life.rows import Unknown
from riskmodel.records.errors import CannotAnswer, did_you_mean, one_of, plain, shown
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

EFFECT_PRIOR = Quantity(0.5, 2.0)
"""Central 90 % of the factor on life between two levels, or over two standard deviations."""

CERTAIN = 1e-3
"""An exact B50 is taken as known to so many parts of itself."""

PATTERNS = 100
"""Patterns of covariates kept apart where numbers can be rounded: 50 values of a number tell
its effect to a thousandth (judgement)."""

KINDS = 8
"""Kinds of engine that an unknown one may be, taken together at one point."""

GOLDEN = (math.sqrt(5) - 1) / 2
"""Its multiples are spread evenly over the unit interval, modulo 1."""


def trait_curves(
    records: LifeRecords,
    traits: Mapping[str, Value],
    shape_prior: Quantity,
    b50_prior: Quantity | None,
    survived: tuple[float, float] | None = None,
    finding_error: float = 0.1,
    visible_lead: Quantity | None = None,
    reporting_ratio: float = 1.0,
    *,
    unknown_as: Unknown = "wear",
) -> Curves:
    """Weibull curves of an engine with `traits` and how far each is believed, about 500.

    `survived` = (entered_at, age) is this engine still in service at `age`. All covariate
    columns of the records enter, traits or no. Where records stand for more parts than themselves
    they are as sure as without columns (`surety_of`). Raises CannotAnswer for a trait that is no
    column of the records or no value of its column, and where `posterior` does.
    """
    points = trait_points(
        records,
        traits,
        shape_prior,
        b50_prior,
        survived,
        finding_error,
        visible_lead,
        reporting_ratio,
        unknown_as=unknown_as,
    )
    return points if isinstance(points, Curves) else points.curves()


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Curves and effects together: the posterior of both, as points.

    `shapes` (M,) are the shapes, `row` (K,) that of each node and `y` its ln B50, `g` (K, R, p) the
    effects at its points. An engine of which a trait is missing may be of Q kinds, whose ln B50
    are `ys` (K, R, Q); else Q is 1. `mass` (K, R, Q) is how far each is believed, up to a factor;
    `precision` (p, p) that of what was believed of the effects beforehand, normal about none.
    """

    design: Design
    shapes: Floats
    row: Ints
    y: Floats
    g: Floats
    ys: Floats
    mass: Floats
    precision: Floats

    @property
    def known(self) -> bool:
        """Every trait is: a node's points share its curve."""
        return bool(self.ys.shape[2] == 1)

    def curves(self) -> Curves:
        if self.known:
            return curves_of(self.shapes[self.row], self.y, self.mass.sum(axis=(1, 2)))
        rows = np.repeat(self.row, self.mass[0].size)
        return gathered(self.shapes, rows, self.ys.ravel(), self.mass.ravel())


def trait_points(
    records: LifeRecords,
    traits: Mapping[str, Value],
    shape_prior: Quantity,
    b50_prior: Quantity | None,
    survived: tuple[float, float] | None = None,
    finding_error: float = 0.1,
    visible_lead: Quantity | None = None,
    reporting_ratio: float = 1.0,
    *,
    unknown_as: Unknown = "wear",
) -> Points | Curves:
    """What `trait_curves` is made of; the curves themselves where no column tells anything."""
    coded = design(
        records,
        finding_error,
        visible_lead,
        reporting_ratio,
        unknown_as=unknown_as,
        patterns_wanted=PATTERNS,
    )
    _refuse(coded, traits)
    if not coded.columns:
        return posterior(coded.pooled, shape_prior, b50_prior, survived)
    if b50_prior is None:
        require_bounds(coded.pooled, survived)
    if coded.pooled.weighed:
        coded = coded.blunted(surety_of(coded.pooled, shape_prior, b50_prior, survived))
    here, others, share = _kinds(coded, traits)
    b50 = None
    if b50_prior is not None:
        b50 = (math.log(b50_prior.median), max(b50_prior.spread, CERTAIN))
    belief = Belief(_precision(coded), b50)
    first = axis_of(shape_prior)

    made: list[tuple[Floats, Effects]] = []

    def effects(beta: Floats) -> tuple[Effects, Ints]:
        """The effects at `beta`, and which of their rows: what is tabulated serves again."""
        for known, given in made:
            if np.isin(beta, known).all():
                return given, np.argmax(known == beta[:, None], axis=1)
        made.append((beta, Effects(coded, here, belief, visible_lead, np.exp(beta))))
        return made[-1][1], np.arange(len(beta))

    section = _section(effects, first, survived)
    try:
        beta, y, weight = nodes(section, first, _second(coded, here, belief), _guess(coded))
    except np.linalg.LinAlgError:  # at shapes that nothing lives by, no effect can be told
        raise CannotAnswer(
            f"life.shape_prior: found [{shape_prior.low:g}, {shape_prior.high:g}], too wide a "
            "belief to weigh the traits on record by; expected a narrower one, such as [1.2, 5]"
        ) from None
    shapes, row = np.unique(beta, return_inverse=True)
    given, rows = effects(shapes)
    mode = given.mode(rows[row], y)
    g, log_weight = given.spread_about(mode, rows[row], y)
    # nodes carry Laplace's integral; each point's share of the exact one replaces it
    point = weight[:, None] * np.exp(log_weight - mode.log_integral[:, None])
    if len(others) == 0:
        ys = np.broadcast_to(y[:, None, None], (*point.shape, 1))
        return Points(coded, np.exp(shapes), row, y, g, ys, point[:, :, None], belief.precision)
    ys, shares = _mixed(y, g, others, share)
    shape = np.exp(shapes)[row][:, None, None]
    gain = _survival(survived, shape, ys) - _survival(survived, shape, y[:, None, None])
    mass = point[:, :, None] * shares * np.exp(gain)
    return Points(coded, np.exp(shapes), row, y, g, ys, mass, belief.precision)


def trait_notes(records: LifeRecords, traits: Mapping[str, Value]) -> tuple[str, ...]:
    """Sentences on what the records cannot tell of an engine with `traits`.

    Raises CannotAnswer for traits as `trait_curves` does.
    """
    coded = design(records, visible_lead=Quantity(1.0, 1.0), patterns_wanted=PATTERNS)
    _refuse(coded, traits)
    notes = []
    for column, at in zip(coded.columns, coded.slices(), strict=True):
        value = traits.get(column.name)
        if value is None:
            notes.append(
                f"The {column.name} of this engine is not stated: it is taken to be, with the "
                "same frequency, as on any record, which widens every range."
            )
        elif column.numeric:
            if not column.low <= float(value) <= column.high:
                notes.append(
                    f"{column.name} {plain(float(value))} lies outside of what is on record, "
                    f"{plain(column.low)} to {plain(column.high)}: the effect is carried on beyond."
                )
        else:
            same = (coded.patterns[coded.pattern_of, at] == column.coded([value])).all(axis=1)
            if not coded.failed[same].any():
                notes.append(
                    f"Of parts with {column.name} {shown(value)} {plain(coded.count[same].sum())} "
                    "are on record, and no part with it failed: how much longer they last rests on "
                    "the prior."
                )
    for name, same in coded.constant.items():
        if name in traits and traits[name] != same:
            notes.append(
                f"{name} is {plain(float(same))} on every record: what "
                f"{plain(float(traits[name]))} does to life is not known and is not counted."
            )
    return tuple(notes)


def _section(
    effects: Callable[[Floats], tuple[Effects, Ints]],
    first: Axis,
    survived: tuple[float, float] | None,
) -> Callable[[Floats], Line]:
    """ln posterior density of (ln shape, ln B50), effects integrated out by Laplace."""

    def section(beta: Floats) -> Line:
        given, rows = effects(beta)
        level = np.zeros(beta.shape)
        if first.spread > 0:
            level = -(((beta - first.centre) / first.spread) ** 2) / 2
        found: dict[tuple[int, ...], Mode] = {}

        def line(y: Floats) -> Floats:
            row = np.repeat(rows, y.shape[1])
            # the search for a grid asks again and again about nearly the same nodes
            mode = given.mode(row, y.ravel(), found.get(y.shape))
            found[y.shape] = mode
            value = mode.log_integral.reshape(y.shape)
            return level[:, None] + value + _survival(survived, np.exp(beta)[:, None], y)

        return line

    return section


def _guess(coded: Design) -> Callable[[Floats], Floats]:
    """A first guess of ln B50 at given ln shape."""
    known = first_guess(coded.pooled)
    if known is not None:
        return known
    return lambda beta: np.full(beta.shape, math.log(coded.pooled.reference))


def _survival(survived: tuple[float, float] | None, shape: Floats, y: Floats) -> Floats:
    """ln P(T > age | T > entered_at) at shape and y = ln B50, which broadcast."""
    if survived is None:
        return np.zeros(np.broadcast_shapes(shape.shape, y.shape))
    entered, age = survived
    log_scale = y - math.log(weibull.LN2) / shape
    ahead = weibull.log_hazard_ahead(entered, age - entered, shape, 1.0)
    with np.errstate(over="ignore", under="ignore"):
        return np.asarray(-np.exp(ahead - shape * log_scale))


def _second(coded: Design, here: Floats, belief: Belief) -> Axis | None:
    """What is believed of the engine's own ln B50."""
    if belief.b50 is None:
        return None
    centre, spread = belief.b50
    away = here - coded.mean
    return Axis(centre, math.sqrt(spread**2 + away @ np.linalg.solve(belief.precision, away)))


def _precision(coded: Design) -> Floats:
    """Of the prior of g: its inverse covariance, (p, p).

    Level l of a column lives exp(u_l) times as long as its average, u independent normal, so
    g_l = u_l - u_base has standard deviation s and correlation 1/2 with its neighbours.
    """
    s = EFFECT_PRIOR.spread
    precision = np.zeros((len(coded.terms), len(coded.terms)))
    for column, at in zip(coded.columns, coded.slices(), strict=True):
        size = len(column.terms)
        ones = np.ones((size, size))
        inverse = np.eye(size) if column.numeric else 2 * (np.eye(size) - ones / (size + 1))
        precision[at, at] = inverse / s**2
    return precision


def _refuse(coded: Design, traits: Mapping[str, Value]) -> None:
    """Raise CannotAnswer with everything that is wrong with the traits."""
    columns = {column.name: column for column in coded.columns}
    known = [*columns, *coded.constant]
    faults = []
    for name, value in traits.items():
        if name in columns:
            faults.append(columns[name].fault(value))
        elif name in coded.constant:
            same = coded.constant[name]
            if isinstance(same, str) or isinstance(value, str) or not math.isfinite(value):
                faults.append(Column(name, base=str(same)).fault(value))
        else:
            there = f"the records have {one_of(known)}" if known else "the records have none"
            faults.append(f"unknown trait {shown(name)}; {there}{did_you_mean(name, known)}")
    told = [fault for fault in faults if fault is not None]
    if told:
        raise CannotAnswer("; ".join(told))


def _kinds(coded: Design, traits: Mapping[str, Value]) -> tuple[Floats, Floats, Floats]:
    """The engine's terms (p,), how kinds of engine differ from them, and the kinds' shares.

    In columns without a trait the terms are the population's means; the kinds are then (Q, p)
    and (Q,), and none where every trait is stated.
    """
    here, missing = coded.mean.copy(), np.zeros(len(coded.terms), dtype=bool)
    for column, at in zip(coded.columns, coded.slices(), strict=True):
        if column.name in traits:
            here[at] = column.coded([traits[column.name]])[0]
        else:
            missing[at] = True
    if not missing.any():
        return here, np.zeros((0, len(here))), np.zeros(0)
    kinds, kind_of = np.unique(coded.patterns[:, missing], axis=0, return_inverse=True)
    parts = np.bincount(coded.pattern_of, coded.weight, minlength=len(coded.patterns))
    share = np.bincount(kind_of.reshape(-1), parts) / parts.sum()
    others = np.zeros((len(kinds), len(here)))
    others[:, missing] = kinds - here[missing]
    return here, others, share


def _mixed(y: Floats, g: Floats, others: Floats, share: Floats) -> tuple[Floats, Floats]:
    """ln B50 (K, R, Q) of the kinds of engine that it may be, and their shares (broadcast).

    All kinds at each of the points g (K, R, p); where there are more than KINDS, so many at
    each point, evenly spread over the kinds' shares and not the same from one to the next.
    """
    if len(share) <= KINDS:
        return y[:, None, None] + g @ others.T, share
    count = g.shape[0] * g.shape[1]
    shift = (np.arange(count) * GOLDEN % 1)[:, None]
    at = (np.arange(KINDS) + shift) / KINDS
    kind = np.minimum(np.searchsorted(np.cumsum(share), at), len(share) - 1)
    away = np.empty((count, KINDS))
    flat = g.reshape(count, -1)
    for q in range(KINDS):
        away[:, q] = (flat * others[kind[:, q]]).sum(axis=1)
    return y[:, None, None] + away.reshape(*g.shape[:2], KINDS), np.full(KINDS, 1 / KINDS)
