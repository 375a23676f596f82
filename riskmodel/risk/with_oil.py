"""The chance of failure ahead, given that the part lasts today and what its oil has shown.

Given survival to today and all samples the density of the failure age T is proportional to
f(T) G(T) on T > today, G = silent + (1 - silent) E[L]. What is not known, the life curve, the
factor on the lead and the silent share, is weighed by the integral of f G beyond today: the
samples say something about each of them too.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from riskmodel.life import weibull
from riskmodel.life.posterior import Curves
from riskmodel.life.quantile import evenly_drawn, quantiles_of_rows
from riskmodel.oil.history import History, history
from riskmodel.oil.history_ahead import likelihood_ahead
from riskmodel.records.case import Case
from riskmodel.risk.forecast import TAIL, chance_ahead

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ORDER = 6
"""Gauss-Legendre nodes in a panel of failure ages."""
BEND = 2.0
"""How far the log density of the failure age may move within one panel."""
REACH = 25.0
"""A curve is followed until its cumulative hazard has grown so far: e^-25 are left."""
TAILS = (TAIL, 1 - TAIL)
DRAWN = 3000
"""Of curves, factors and silent shares, where a chart is all that is asked for: ends are then
within a hundredth of themselves."""
BLOCK = 1 << 16
"""Curves by failure ages worked on at once: they stay in the processor's cache, though there are
tens of thousands of curves where nothing is told of how it was driven."""


@dataclass(frozen=True, slots=True)
class Chance:
    """A posterior mean and the ends of its 90 % credible interval; (points,) each."""

    value: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class WithOil:
    """Chances of failing within each usage `ahead` (points,), with the samples and without.

    `factor` (points,) is the one over the other. `weight` (curves, F, S) is what is believed,
    with the samples, of each curve, factor on the lead and silent share, in the order of the
    curves and of the history's `factor_points` and `silent_points`; it sums to 1.
    """

    ahead: Floats
    with_oil: Chance
    without: Chance
    weight: Floats

    @property
    def factor(self) -> Floats:
        with np.errstate(invalid="ignore", divide="ignore"):
            ratio = self.with_oil.value / self.without.value
        return np.asarray(np.where(self.without.value > 0, ratio, 1.0))


@dataclass(frozen=True, slots=True)
class Ahead:
    """Failure ages from today to `end`, in panels: nodes and weights (J,), the panel's number
    `panel` (J,), and for each usage ahead how many panels lie within it, `within` (points,)."""

    age: Floats
    weight: Floats
    panel: NDArray[np.int64]
    within: NDArray[np.int64]
    end: float


def chance_with_oil(
    case: Case,
    curves: Curves,
    ahead: ArrayLike,
    found: History | None = None,
    age: Floats | float | None = None,
) -> WithOil:
    """P(fail by age + d | lasts today, samples) for each d of `ahead` (points,), usage.

    `curves` are those of `life_curves(case)`: they know of the survival to today. `found` is the
    history of the case, if it is known already; `age` each curve's own today (K,), where it
    has one. The credible interval is over the curves, the factor on the lead and the silent share.
    """
    ahead = np.atleast_1d(np.asarray(ahead, dtype=float))
    known = history(case) if found is None else found
    if age is None:
        age = case.age if known is None else known.today
    without = Chance(*chance_ahead(curves, age, ahead))
    if known is None:
        return WithOil(ahead, without, without, curves.weight[:, None, None])
    told, weight = told_with_oil(curves, known, ahead, age)
    return WithOil(ahead, told, without, weight)


def told_with_oil(
    curves: Curves, found: History, ahead: Floats, age: Floats | float, told: int | None = None
) -> tuple[Chance, Floats]:
    """The chance of failing within each usage `ahead` (points,) with the samples of `found`, and
    how far each curve, factor on the lead and silent share is believed, (curves, F, S). Ends of
    intervals are over all of these for the first so many that are `told`, left out: all; the rest,
    which a chart shows, are over DRAWN of them."""
    nodes = _nodes(curves, found, ahead, age)
    flat, many, ends = nodes.weight.ravel(), told or len(ahead), np.empty((len(ahead), 2))
    first = nodes.chances(slice(many)).reshape(-1, len(flat))
    ends[:many] = quantiles_of_rows(first, flat, TAILS)
    if many < len(ahead):
        middle = (many + len(ahead)) // 2
        order = np.argsort(nodes.chances(slice(middle, middle + 1)).ravel())
        some, times = evenly_drawn(order, flat, DRAWN)
        ends[many:] = quantiles_of_rows(nodes.drawn(slice(many, None), some), times, TAILS)
    return Chance(nodes.mean(), ends[:, 0], ends[:, 1]), nodes.weight


def by_node(
    curves: Curves, found: History, ahead: Floats, age: Floats | float | None = None
) -> tuple[Floats, Floats]:
    """P(fail within each usage `ahead` | lasts today, samples) (points, curves, F, S) at each
    curve, factor on the lead and silent share, and how far each is believed (curves, F, S)."""
    nodes = _nodes(curves, found, ahead, found.today if age is None else age)
    return nodes.chances(slice(None)), nodes.weight


@dataclass(frozen=True, slots=True)
class _Nodes:
    """Every curve, factor on the lead and silent share, (K, F, S): of all failures from today on,
    `beyond`, those `within` each usage ahead where a part gives a signal, (points, K, F), and where
    none does, `plain` (points, K); the silent shares `silent` (S,), and how far each node is
    believed, `weight`."""

    within: Floats
    plain: Floats
    beyond: Floats
    silent: Floats
    weight: Floats

    def chances(self, some: slice) -> Floats:
        """Of failing within `some` of the usages; (some, K, F, S)."""
        whole = np.where(self.beyond > 0, self.beyond, np.inf)
        chances, of_silent = (
            self.within[some, ..., None] * ((1 - self.silent) / whole),
            self.silent / whole,
        )
        for each, alone in zip(chances, self.plain[some], strict=True):  # stays in the cache
            each += of_silent * alone[:, None, None]
        return np.asarray(chances)

    def drawn(self, some: slice, nodes: Ints) -> Floats:
        """The same at some nodes alone, numbered throughout; (some, nodes)."""
        k, f, s = np.unravel_index(nodes, self.weight.shape)
        silent, beyond = self.silent[s], self.beyond[k, f, s]
        failing = (1 - silent) * self.within[some, k, f] + silent * self.plain[some, k]
        return np.asarray(failing / beyond)

    def mean(self) -> Floats:
        """The mean over all nodes; (points,)."""
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where(self.beyond > 0, self.weight / self.beyond, 0.0)
        signal, none = share @ (1 - self.silent), (share @ self.silent).sum(axis=1)
        told = self.within.reshape(len(self.within), -1) @ signal.ravel()
        return np.asarray(told + self.plain @ none)


def _nodes(curves: Curves, found: History, ahead: Floats, age: Floats | float) -> _Nodes:
    within, total = masses(curves, found, ahead, age)
    silent, silent_weight = found.silent_points
    plain = weibull.conditional_failure(age, ahead[:, None], curves.shape, curves.scale)
    beyond = silent + (1 - silent) * total[..., None]  # the mass beyond today
    prior = curves.weight[:, None, None] * found.factor_points[1][:, None] * silent_weight
    weight = prior * beyond
    return _Nodes(within, plain, beyond, silent, weight / weight.sum())


def masses(
    curves: Curves, found: History, ahead: Floats, age: Floats | float | None = None
) -> tuple[Floats, Floats]:
    """Integrals of f E[L] from today, given survival to today, for parts that are not silent.

    Within each usage `ahead` (points, curves, F), and in all (curves, F): f the curves' density
    given survival, E[L] the history's likelihood at each node of the factor on the lead.
    """
    today = found.today if age is None else age
    own = np.broadcast_to(np.asarray(today, dtype=float), curves.shape.shape)[:, None]
    grid = ages_ahead(curves, found, ahead, own[:, 0])
    told = np.ascontiguousarray(likelihood_ahead(found, grid.age).T)  # (J, F)
    since = grid.age - found.today
    # whole panels between one usage ahead and the next, as nodes
    parts = np.unique([0, *grid.within, *grid.panel[-1:] + 1])
    ends = parts * ORDER
    by_part = np.zeros((len(parts), len(curves), told.shape[1]))
    size = max(1, BLOCK // max(1, len(since)))
    for start in range(0, len(curves), size):
        few = slice(start, start + size)
        shape, scale = curves.shape[few, None], curves.scale[few, None]
        weighted = weibull.density_ahead(own[few], since, shape, scale) * grid.weight  # (few, J)
        for p, (first, last) in enumerate(pairwise(ends), start=1):
            by_part[p, few] = weighted[:, first:last] @ told[first:last]
    summed = np.cumsum(by_part, axis=0)
    # beyond the last panel no sample tells one failure age from another
    far = weibull.conditional_survival(
        own[:, 0], max(grid.end - found.today, 0.0), curves.shape, curves.scale
    )
    later = weibull.conditional_survival(
        own[:, 0], np.maximum(ahead, grid.end - found.today)[:, None], curves.shape, curves.scale
    )
    within = summed[np.searchsorted(parts, grid.within)] + (far - later)[..., None]
    return within, summed[-1] + far[:, None]


def ages_ahead(curves: Curves, found: History, ahead: Floats, age: Floats) -> Ahead:
    """Panels from today, close together where the likelihood or any curve bends.

    They end where no sample tells one failure age from another, or no curve reaches.
    """
    lead = found.lead
    factor = found.factor_points[0].max()
    longest = float(lead.quantile(np.array(4.5))) * float(factor)
    lasting = weibull.remaining_quantile(-np.expm1(-REACH), age, curves.shape, curves.scale)
    some = curves.weight > 1e-9
    end = float(min(found.last + longest, found.today + lasting[some].max()))
    end = max(end, found.today)
    near = float(np.median(found.samples.oil_age)) / 4
    start = found.today - found.last + near
    count = int(np.ceil(3 * np.log((end - found.last + near) / start))) if end > found.today else 0
    breaks = (
        found.last
        - near
        + start * np.exp(np.linspace(0, 1, count + 1) * np.log((end - found.last + near) / start))
        if count
        else np.array([found.today])
    )
    breaks[0], breaks[-1] = found.today, end if count else found.today
    inner = found.today + ahead[(ahead > 0) & (found.today + ahead < end)]
    breaks = np.unique(np.concatenate([breaks, inner, _kinks(found, end)]))
    breaks = _halved(breaks, curves, found.today, age)
    x, w = np.polynomial.legendre.leggauss(ORDER)
    width = np.diff(breaks)
    age = breaks[:-1, None] + width[:, None] * (x + 1) / 2
    weight = width[:, None] * w / 2
    panel = np.repeat(np.arange(len(width)), ORDER)
    within = np.searchsorted(breaks, np.minimum(found.today + ahead, end), side="right") - 1
    return Ahead(age.ravel(), weight.ravel(), panel, within, end)


def _kinks(found: History, end: float) -> Floats:
    """Where a lead known exactly makes the likelihood bend: failures whose distress begins at a
    sample, or with its oil."""
    if found.lead.spread > 0:
        return np.empty(0)
    lead = found.lead.median * found.factor_points[0]
    begun = np.concatenate([found.ages, found.ages - found.samples.oil_age[0], [0.0]])
    at = (begun[:, None] + lead).ravel()
    return np.asarray(at[(at > found.today) & (at < end)])


def _halved(breaks: Floats, curves: Curves, today: float, own: Floats) -> Floats:
    """Panels halved until no curve's log density, where it still matters, bends too far."""
    some = curves.weight > 1e-6
    shape, scale, own = curves.shape[some], curves.scale[some], own[some]
    left, right = breaks[:-1], breaks[1:]
    for _ in range(12):
        start, stop = own + left[:, None] - today, own + right[:, None] - today
        alive = weibull.hazard_ahead(own, left[:, None] - today, shape, scale) < REACH
        age = np.maximum(start, 1e-9 * stop)
        slope = np.abs((shape - 1) / age) + weibull.hazard(stop, shape, scale)
        with np.errstate(invalid="ignore"):
            bend = np.where(alive, np.minimum(slope * (right - left)[:, None], 1e6), 0.0)
        wide = bend.max(axis=1) > BEND
        if not wide.any() or len(breaks) > 2000:
            break
        left, right = left[wide], right[wide]  # the others stay as they are
        middle = (left + right) / 2
        breaks = np.sort(np.append(breaks, middle))
        left, right = np.append(left, middle), np.append(middle, right)
    return breaks
