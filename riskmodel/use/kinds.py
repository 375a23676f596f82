"""Kinds of hard use: what they mean, how harsh they are taken to be, how common.

No published figure for how much faster any of them ages plain bearings was found: cold starts
wear piston rings far above steady running (SAE 600190), which says little of big ends, and that
full throttle at low speed squeezes the oil film is common practice without a source. So every
harshness is the same wide range and every share a judgement; users state better ones.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Final, Literal

from riskmodel.records.case import KindOfUse
from riskmodel.records.inputs import BY_KEY, JUDGEMENT, Unit
from riskmodel.records.quantity import Quantity

Machine = Literal["car", "boat"]


def _default_harshness() -> Quantity:
    stated: Any = BY_KEY["use.kinds.harshness"].default
    return Quantity(*stated)


HARSHNESS: Final = _default_harshness()
"""Of any hard use, unless the user or the records say better: judgement."""


@dataclass(frozen=True, slots=True)
class StandardKind:
    """A hard use as the tool offers it.

    `population_share` is the share of all usage of such parts that is taken to be of this kind,
    `words` tell it by in a name that a user typed.
    """

    key: str
    name: str
    meaning: str
    population_share: float
    words: tuple[str, ...]
    harshness: Quantity = HARSHNESS
    source: str = JUDGEMENT

    def as_stated(self) -> KindOfUse:
        """The kind as a case holds it."""
        return KindOfUse(self.name, self.harshness, self.population_share)


COLD, UNWARMED, FULL_LOAD, OLD_OIL, WRONG_OIL, LOW_OIL, LUGGING, TOWING, HEAVY = (
    "cold_starts",
    "load_before_warm",
    "sustained_load",
    "long_oil_intervals",
    "wrong_oil",
    "low_oil",
    "lugging",
    "towing",
    "heavy_displacement",
)

CAR: Final = (
    StandardKind(
        COLD,
        "cold starts and short trips",
        "Trips that end before the oil is warm: water and fuel stay in it.",
        0.20,
        ("cold start", "cold starts", "short trip", "short trips", "town", "city"),
    ),
    StandardKind(
        UNWARMED,
        "load before the oil is warm",
        "Pulling hard or revving high in the first kilometres of a longer trip.",
        0.10,
        ("before warm", "before the oil is warm", "cold load", "not warmed up"),
    ),
    StandardKind(
        FULL_LOAD,
        "sustained high load or competition",
        "Track days, timed runs, long full throttle.",
        0.08,
        ("competition", "track", "track days", "race", "racing", "high load", "full throttle"),
    ),
    StandardKind(
        OLD_OIL,
        "long oil intervals",
        "Usage on oil that is older than the maker's interval.",
        0.12,
        ("long interval", "long intervals", "long oil intervals", "old oil"),
    ),
    StandardKind(
        WRONG_OIL,
        "thin or wrong oil",
        "Oil thinner than the maker asks for, of another grade, or thinned by fuel.",
        0.04,
        ("thin oil", "wrong oil", "thin or wrong oil"),
    ),
    StandardKind(
        LOW_OIL,
        "low oil level",
        "Usage with the level below the lower mark.",
        0.04,
        ("low oil", "low level", "low oil level"),
    ),
    StandardKind(
        LUGGING,
        "lugging",
        "Wide throttle at low engine speed, in too high a gear.",
        0.06,
        ("lugging", "labouring", "too high a gear"),
    ),
    StandardKind(
        TOWING,
        "towing",
        "A trailer or a caravan behind.",
        0.02,
        ("towing", "trailer", "caravan"),
    ),
)

BOAT: Final = (
    StandardKind(
        COLD,
        "cold starts and short runs",
        "Runs that end before the oil is warm, or long idling at the berth.",
        0.12,
        ("cold start", "cold starts", "short run", "short runs", "short trips", "idling"),
    ),
    StandardKind(
        UNWARMED,
        "load before the oil is warm",
        "Full power soon after casting off.",
        0.08,
        ("before warm", "before the oil is warm", "cold load", "not warmed up"),
    ),
    StandardKind(
        FULL_LOAD,
        "sustained high load or competition",
        "Long running near full power, racing.",
        0.15,
        ("competition", "race", "racing", "high load", "full throttle", "full power"),
    ),
    StandardKind(
        OLD_OIL,
        "long oil intervals",
        "Hours on oil that is older than the maker's interval, or that stood in it over winter.",
        0.10,
        ("long interval", "long intervals", "long oil intervals", "old oil"),
    ),
    StandardKind(
        WRONG_OIL,
        "thin or wrong oil",
        "Oil thinner than the maker asks for, of another grade, or thinned by fuel.",
        0.03,
        ("thin oil", "wrong oil", "thin or wrong oil"),
    ),
    StandardKind(
        LOW_OIL,
        "low oil level",
        "Hours with the level below the lower mark, or heeled so far that the pickup draws air.",
        0.03,
        ("low oil", "low level", "low oil level"),
    ),
    StandardKind(
        LUGGING,
        "lugging",
        "A propeller too large or fouled: the engine does not reach its rated speed.",
        0.08,
        ("lugging", "labouring", "overpropped"),
    ),
    StandardKind(
        TOWING,
        "towing",
        "Another vessel, a net or a barge in tow.",
        0.06,
        ("towing", "trawling"),
    ),
    StandardKind(
        HEAVY,
        "heavy displacement",
        "A heavy hull, or one loaded deep, pushed near its hull speed.",
        0.15,
        ("heavy displacement", "loaded deep", "heavy hull"),
    ),
)


def machine_of(unit: Unit) -> Machine:
    """What is looked after: hours are taken for a boat's, kilometres and miles for a car's."""
    return "boat" if unit == "h" else "car"


def standard_kinds(unit: Unit) -> tuple[StandardKind, ...]:
    """The kinds offered for a case counted in `unit`."""
    return BOAT if machine_of(unit) == "boat" else CAR


def like(name: str, unit: Unit) -> str | None:
    """Key of the standard kind that `name`, typed by a user, speaks of; None where none does or
    where it speaks of several."""
    told = " ".join(re.findall(r"[a-z]+", name.lower()))
    found = {
        kind.key
        for kind in standard_kinds(unit)
        if any(f" {words} " in f" {told} " for words in (kind.name, *kind.words))
    }
    return found.pop() if len(found) == 1 else None
