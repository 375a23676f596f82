"""When used-oil samples would show that a part is in distress: at which service first, and whether
in time.

Nothing here depends on the life curve: a part that fails at a given age is followed through its
services, averaged over the warning lead and over how far its wear rises. Each service takes a
sample of oil as old as the interval. A part is seen where the sample alarms, distress has begun
and the investigation finds it; one whose failure gives no signal in the oil is never seen.
(Delay-time model: Christer & Waller 1984, Journal of the Operational Research Society 35, 401-406;
P-F interval: SAE JA1012.)
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from riskmodel.oil.alarm import Alarm, shed
from riskmodel.oil.alarm import alarm as alarm_of
from riskmodel.oil.rise import fill_pieces, onset_age
from riskmodel.records.case import Element
from riskmodel.records.quantity import Quantity

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
LogLikelihood = Callable[[Floats, Floats], Floats]
"""Of samples in hand against no distress: age at failure and lead, both (nodes,), to a last axis
over the rises, (nodes, rises). `History.log_likelihood` is one."""

RISE_POINTS = 5
"""Quadrature points over how far wear rises, which varies from part to part."""
FARTHEST = 6.0
"""The lead is followed this many standard deviations to either side."""
LONGEST = 3.0
"""Services are followed back through leads up to so many standard deviations above the median."""
MOST_SERVICES = 400
PHASES = 8
"""Quadrature points over where a failure falls between two services."""
EVEN: Floats = ndtri((np.arange(40) + 0.5) / 40)
"""Normal deviates of equal probability."""
CHEBYSHEV: Floats = -EVEN[0] * np.cos(np.pi * (np.arange(5) + 0.5) / 5)
"""Deviates of the lead factor at which a share is worked out; between them a quartic."""
NODES = ((0.7, 4), (2.0, 7), (5.0, 12), (np.inf, 20))
"""Quadrature points in a stretch of leads up to so many standard deviations wide."""


@dataclass(frozen=True, eq=False, slots=True)
class Onsets:
    """Where distress may have begun: quadrature over the lead for each age at failure.

    All are (nodes,): `row` the index of the failure age, `onset` the age, `weight` its
    probability, which sum to 1 within a row.
    """

    row: Ints
    onset: Floats
    weight: Floats


@dataclass(frozen=True, eq=False, slots=True)
class Seen:
    """What the samples of the coming services show of a part that fails at each age.

    `first` (ages, services) is the chance that it is seen at that service and at none before;
    `alarms` (ages, services) that the sample of a part not seen before alarms, false alarms
    included; `mass` (ages,) the likelihood of the samples in hand, 1 without any, which
    `first` and `alarms` contain as a factor. Nothing happens at or after failure.
    """

    first: Floats
    alarms: Floats
    mass: Floats
    unheard: Floats
    """`alarms` of a part whose failure gives no signal; (ages, services)."""

    def mixed(self, silent: float) -> Seen:
        """Where a share `silent` of the failures gives no signal; samples in hand say nothing
        of those, so their likelihood is 1."""
        heard = 1 - silent
        return Seen(
            heard * self.first,
            heard * self.alarms + silent * self.unheard,
            heard * self.mass + silent,
            self.unheard,
        )


def onsets(failure: ArrayLike, breaks: ArrayLike, lead: Quantity, factor: float = 1.0) -> Onsets:
    """Quadrature over the lead, its median times `factor`, in stretches between `breaks` (ages).

    What follows an onset is smooth between one break and the next, not across it. Leads
    longer than the age at failure count as distress from the start.
    """
    failure = np.asarray(failure, dtype=float)
    rows = np.arange(len(failure))
    if lead.exact:
        return Onsets(rows, onset_age(failure, lead.low * factor), np.ones(len(failure)))
    middle, spread = np.log(lead.median * factor), lead.spread
    breaks = np.unique(np.asarray(breaks, dtype=float))
    starts = np.concatenate([[0.0], breaks[breaks > 0], [np.inf]])
    with np.errstate(divide="ignore"):
        edges = (np.log(np.maximum(failure[:, None] - starts, 0.0)) - middle) / spread
    far = np.clip(edges, -FARTHEST, FARTHEST)
    width = far[:, :-1] - far[:, 1:]
    mass = ndtr(edges[:, :-1]) - ndtr(edges[:, 1:])
    row, onset, weight = [rows], [np.zeros(len(failure))], [1 - ndtr(edges[:, 0])]
    least = 0.0
    for most, count in NODES:
        at, panel = np.nonzero((width > least) & (width <= most))
        least = most
        place, share = np.polynomial.legendre.leggauss(count)
        z = far[at, panel + 1][:, None] + width[at, panel][:, None] * (place + 1) / 2
        part = share * np.exp(-(z**2) / 2)
        part *= (mass[at, panel] / part.sum(axis=1))[:, None]
        row.append(np.repeat(at, count))
        onset.append((failure[at][:, None] - np.exp(middle + spread * z)).ravel())
        weight.append(part.ravel())
    joined = np.concatenate(onset)
    return Onsets(np.concatenate(row), np.maximum(joined, 0.0), np.concatenate(weight))


def rise_points(elements: Sequence[Element], points: int = RISE_POINTS) -> tuple[Floats, Floats]:
    """Normal deviates of the rise and their weights, both (points,).

    One quantile is common to all elements of a part: a part that sheds much lead sheds much
    copper too.
    """
    if all(element.rise.exact for element in shed(elements)):
        points = 1
    z, weight = np.polynomial.hermite_e.hermegauss(points)
    return z, weight / weight.sum()


def detection(
    failure: ArrayLike,
    services: ArrayLike,
    interval: float,
    lead: Quantity,
    elements: Sequence[Element],
    alarms: Alarm | Sequence[Alarm],
    sees: float,
    *,
    lead_factor: float = 1.0,
    rises: tuple[Floats, Floats] | None = None,
    log_likelihood: LogLikelihood | None = None,
    breaks: ArrayLike = (),
) -> Seen:
    """Follow a part that fails at each age `failure` (ages,), not silent, through its services.

    `services` (services,) are ages in ascending order, in the unit of `failure`, `interval`
    (the age of the oil sampled) and `lead`; `alarms` one for all or one for each. `sees` is the
    chance that an investigation finds distress which is there. The lead's median is taken
    times `lead_factor`; `rises` are normal deviates and weights other than `rise_points`. With
    `log_likelihood` the leads and rises are weighed by the samples in hand as well; `breaks`
    are then ages at which it bends: the samples, and where their oil began. Raises ValueError
    where the alarms and the services do not match.
    """
    failure, services = np.asarray(failure, dtype=float), np.asarray(services, dtype=float)
    each = (alarms,) * len(services) if isinstance(alarms, Alarm) else tuple(alarms)
    if len(each) != len(services):
        raise ValueError(f"{len(services)} services need as many alarms, not {len(each)}")
    if not (np.diff(services) > 0).all():
        raise ValueError("services must be in ascending order")
    bends = np.concatenate([services, services - interval, np.asarray(breaks, dtype=float)])
    node = onsets(failure, bends, lead, lead_factor)
    fails = failure[node.row]
    deviates, rise_weight = rise_points(elements) if rises is None else rises
    log_rise = np.log([element.rise.quantile(deviates) for element in shed(elements)]).T
    going = np.multiply.outer(node.weight, rise_weight)
    if log_likelihood is not None:
        going *= np.exp(log_likelihood(fails, fails - node.onset))

    def by_age(values: Floats) -> Floats:
        """Sum (nodes,) to (ages,)."""
        return np.bincount(node.row, values, minlength=len(failure)).astype(np.float64)

    mass = by_age(going.sum(axis=1))
    first, alarmed, unheard = np.zeros((3, len(failure), len(services)))
    followed = follow(fails, node.onset, going, services, interval, log_rise, each, sees)
    for j, (ringing, found) in enumerate(followed):
        alarmed[:, j], first[:, j] = by_age(ringing), by_age(found)
        unheard[:, j] = np.where(failure > services[j], float(each[j].chance_at(0.0)), 0.0)
    return Seen(first, alarmed, mass, unheard)


def follow(
    failure: Floats,
    onset: Floats,
    going: Floats,
    services: Floats,
    interval: float,
    log_rise: Floats,
    alarms: Sequence[Alarm],
    sees: float,
) -> Iterator[tuple[Floats, Floats]]:
    """Follow parts that are not silent, with distress from `onset` (N,) to `failure` (N,), through
    the samples at `services` (ages), of oil as old as `interval`.

    `going` (N, R) is how many of each are in place, by ln rise `log_rise` (R, E). Gives for each
    service in turn how many alarm there, false alarms included, and how many of those are seen;
    (N,) both. What is seen is followed no further; nothing happens at or after failure.
    """
    going = np.array(going)
    for service, alarm in zip(services.tolist(), alarms, strict=True):
        there = failure > service
        ringing = np.where(there, float(alarm.chance_at(0.0)) * going.sum(axis=1), 0.0)
        found = np.zeros_like(ringing)
        ill = np.flatnonzero(there & (onset < service))
        pieces = fill_pieces(onset[ill, None, None], failure[ill, None, None], service, interval)
        rung = alarm.chance(pieces.log_mean(log_rise)) * going[ill]
        ringing[ill] = rung.sum(axis=1)
        found[ill] = sees * ringing[ill]
        going[ill] -= sees * rung
        yield ringing, found


def caught(
    lead: Quantity,
    elements: Sequence[Element],
    alarm: Alarm,
    interval: float,
    turnaround: float,
    sees: float,
    lead_factor: float = 1.0,
) -> float:
    """Of the failures that give a signal, the share that samples at every `interval` catch in
    time: seen, and replaced `turnaround` later, before they fail.

    Averaged over where the failure falls between two services, every place being as likely.
    All usages in one unit.
    """
    if not interval > 0 or turnaround < 0:
        raise ValueError("the interval must be above 0 and the turnaround not below 0")
    longest = float(lead.quantile(LONGEST)) * lead_factor
    count = min(int(np.ceil((longest + turnaround) / interval)) + 1, MOST_SERVICES)
    # A part found too late is not caught: the last service that helps lies more than the
    # turnaround before failure, anywhere between that and an interval earlier.
    place, share = np.polynomial.legendre.leggauss(PHASES)
    phase, share = interval * (place + 1) / 2, share / 2
    if lead.exact:  # its onset falls on a service at one place: both sides apart
        bend = (longest - turnaround) % interval / interval
        phase = np.concatenate([bend * phase, bend * interval + (1 - bend) * phase])
        share = np.concatenate([bend * share, (1 - bend) * share])
    services = interval * np.arange(1, count + 1)
    failure = services[-1] + turnaround + phase
    seen = detection(
        failure, services, interval, lead, elements, alarm, sees, lead_factor=lead_factor
    )
    return float(share @ seen.first.sum(axis=1))


def less_warning_than(usage: float, lead: Quantity, lead_factor: float = 1.0) -> float:
    """Chance that the lead, its median times `lead_factor`, is shorter than `usage`."""
    if lead.exact:
        return float(lead.low * lead_factor < usage)
    return float(ndtr(np.log(usage / (lead.median * lead_factor)) / lead.spread))


@dataclass(frozen=True, slots=True)
class Share:
    """A share of all failures: its mean, and its central 90 % over what is not known."""

    mean: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Foresight:
    """What sampling does against failures: the shares of all failures, silent ones among them,
    that it catches in time at this `interval` and at half of it, and the share that gives
    less warning than one interval or none."""

    interval: float
    caught: Share
    caught_at_half: Share
    short_warning: Share


def foresight(
    lead: Quantity,
    lead_factor: Quantity,
    silent: Quantity,
    elements: Sequence[Element],
    interval: float,
    used: Mapping[str, float],
    false_alarm: float,
    turnaround: float,
    sees: float,
    shared: float = 0.0,
) -> Foresight:
    """What would be seen at this interval and at half of it, whose readings are noisier.

    `used` counts the samples, by element, from which the engine's own level is known. The
    ranges are over `lead_factor` and `silent` alone: rises, misleading samples and the way
    wear climbs are taken as stated.
    """
    quiet, factors = silent.quantile(EVEN), lead_factor.quantile(EVEN)

    def share(heard: Floats) -> Share:
        """Over all that is not known, of the shares (factors, silent shares)."""
        low, high = np.quantile(heard, [0.05, 0.95])
        return Share(float(heard.mean()), float(low), float(high))

    def at(every: float) -> Share:
        ring = alarm_of(elements, every, used, false_alarm, shared)

        def of(factor: float) -> float:
            return caught(lead, elements, ring, every, turnaround, sees, factor)

        return share(np.multiply.outer(_over(lead_factor, of, smooth=not lead.exact), 1 - quiet))

    short = np.array([less_warning_than(interval, lead, float(factor)) for factor in factors])
    return Foresight(
        interval,
        at(interval),
        at(interval / 2),
        share(np.multiply.outer(short, 1 - quiet) + quiet),
    )


def _over(quantity: Quantity, of: Callable[[float], float], *, smooth: bool) -> Floats:
    """`of` at the quantity's even points; where it is smooth, by a quartic through five."""
    if quantity.exact:
        return np.full(len(EVEN), of(quantity.low))
    if not smooth:
        return np.array([of(float(value)) for value in quantity.quantile(EVEN)])
    found = [of(float(value)) for value in quantity.quantile(CHEBYSHEV)]
    curve = np.polynomial.Polynomial.fit(CHEBYSHEV, found, len(found) - 1)
    return np.asarray(np.clip(curve(EVEN), 0.0, 1.0))
