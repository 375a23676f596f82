"""What is not known, as equally likely draws: intervals of costs and chances are over these."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from riskmodel.decision.payments import World
from riskmodel.decision.prepared import Prepared
from riskmodel.decision.prices import FAILURE
from riskmodel.decision.results import Interval
from riskmodel.decision.sale import Selling
from riskmodel.decision.timing import Timing
from riskmodel.life.other_causes import Rate
from riskmodel.life.quantile import weighted_quantile
from riskmodel.records.quantity import Quantity
from riskmodel.risk.forecast import TAIL
from riskmodel.use.spread import spread_points

Floats = NDArray[np.float64]

SEED = 20261127
DRAWS = 4096
"""Fixed, evenly spread points over what is not known, for intervals and the bad case."""


@dataclass(frozen=True, slots=True, eq=False)
class Possible:
    """What is not known, as equally likely draws: a node of `PresentPart` and a set of prices.

    `pair` (draws,) are indices of nodes, `prices` (draws, events), `fault` (draws,) chances of a
    fitting fault, `faults` (F,) those at which the chance to last is known.
    """

    pair: NDArray[np.int64]
    prices: Floats
    fault: Floats
    faults: Floats
    more_other: Floats
    """Rate of failures of other causes, less the one that the plans are evaluated at."""
    timing: Timing
    sold: Floats | None = None
    """What selling today costs, (draws,); None where it is not weighed."""

    def at_nodes(self) -> tuple[Possible, NDArray[np.int64]]:
        """The same among the nodes that some draw lies at, and which these are, in rising order."""
        nodes, pair = np.unique(self.pair, return_inverse=True)
        return replace(self, pair=pair), nodes

    def costs(self, counts: Floats) -> Floats:
        """What plans with `counts` (plans, events, nodes) cost in every draw; (plans, draws)."""
        drawn = np.einsum("pde,de->pd", counts.transpose(0, 2, 1)[:, self.pair], self.prices)
        # More failures of other causes cost every plan much the same: their own price.
        usage = np.linspace(0.0, self.timing.keep, 65)
        worth = np.trapezoid(self.timing.discount(usage), usage)
        return np.asarray(drawn + self.more_other * worth * self.prices[:, FAILURE])

    def failures(self, lasts: Floats) -> Floats:
        """Chance of at least one failure in every draw, from `lasts` (plans, faults, nodes)."""
        # a rate so high that nothing lasts at it may be drawn much lower
        spared = np.exp(np.minimum(-self.more_other * self.timing.keep, 700.0))
        drawn = _at_faults(lasts[:, :, self.pair], self.faults, self.fault)
        return np.asarray(1 - np.clip(drawn * spared, 0.0, 1.0))


def drawn(value: float, draws: Floats) -> Interval:
    """A mean with its interval over equally likely draws."""
    low, high = np.quantile(draws, [TAIL, 1 - TAIL])
    return Interval(value, float(low), float(high))


def evenly(quantity: Quantity, draws: int) -> Floats:
    """As many values of one more quantity, evenly spread and apart from all others; (draws,)."""
    order = np.random.default_rng(SEED).permutation(draws)
    return quantity.quantile(ndtri((order + 0.5) / draws))


def over_nodes(values: Floats, weight: Floats, alike: int = 1) -> Interval:
    """What depends on the node alone, (nodes,): its mean, and its interval over all of them; each
    `alike` nodes in a row have one value."""
    values, weight = values[::alike], weight.reshape(-1, alike).sum(axis=1)
    low, high = weighted_quantile(values, weight, [TAIL, 1 - TAIL])
    return Interval(float(values @ weight), float(low), float(high))


def possible(ready: Prepared, sale: Selling | None = None) -> tuple[Possible, World]:
    """Draws of all that is not known, and of the world in which lives are played out with them;
    with what a `sale` today takes and gives, where that is weighed."""
    case, curves, prices = ready.case, ready.curves, ready.prices
    priced_at, more_unknown = 3 + prices.unknown, 0 if sale is None else sale.unknown
    points = spread_points(DRAWS, priced_at + more_unknown)
    priced = prices.draw(points[:, 3:priced_at])
    stated = sale is not None and sale.without is not None
    sold = sale.draws(points[:, priced_at:]) if sale is not None and stated else None
    node = _nodes(ready.present.believed.ravel(), points[:, 0])
    curve = node % len(curves)
    pair = node * len(ready.joined.share) + _nodes(ready.joined.share, points[:, 1])
    rates = _rates(ready.other, points[:, 2])
    more = rates - ready.joined.lives.other
    faults = ready.present.new_part.faults
    found = Possible(pair, priced.events(), priced.fault, faults, more, ready.timing, sold)
    scale = curves.scale[curve]
    new_scale = scale * case.plan.new_part_life.quantile(ndtri(points[:, 1]))
    lead = case.warning.visible_lead
    index = node // len(curves)
    age, shape = ready.ages[curve], curves.shape[curve]
    world = World(age, shape, scale, new_scale, rates, priced, lead, index)
    return found, world


def _rates(other: Rate | None, uniform: Floats) -> Floats:
    """Possible rates of failures of other causes (Jeffreys, as `other_causes`); (draws,)."""
    if other is None:
        return np.zeros(len(uniform))
    return other.quantile(uniform)


def _nodes(weight: Floats, uniform: Floats) -> NDArray[np.int64]:
    edges = np.cumsum(weight)
    return np.searchsorted(edges / edges[-1], uniform).astype(np.int64)


def _at_faults(lasts: Floats, faults: Floats, fault: Floats) -> Floats:
    """The chance to last (plans, draws) where a fitting is faulty with chance `fault` (draws,),
    from that at the chances `faults`: a polynomial in it of low degree, the fittings' number."""
    apart = faults[:, None] - faults + np.eye(len(faults))
    away = fault - faults[:, None]
    weights = [
        np.prod(np.delete(away, i, axis=0), axis=0) / np.prod(apart[i]) for i in range(len(faults))
    ]
    return np.asarray(np.einsum("pfd,fd->pd", lasts, np.array(weights)))
