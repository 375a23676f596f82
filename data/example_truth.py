"""The invented truth behind the two example cases: the figures `make_examples.py` draws from.

EVERYTHING HERE IS INVENTED and says nothing about a real machine. How the figures are used stands
in the docstring of `make_examples.py`. Ages are km (car) or engine hours (boat); a pair is the
central 90 % of a lognormal unless it is said to be uniform.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Fleet:
    """Machines of one owner, all at the same age: a workshop, a hire firm, a yard."""

    machines: int
    use: str
    age: float
    removed: bool = False  # all replaced at that age, on schedule


@dataclass(frozen=True)
class Population:
    """The truth behind one list of life records."""

    seed: int
    owners: int  # single lines; the fleets' lines come on top
    shape: float  # of the wear life, in average use
    scale: float
    other_mean: float  # mean age at failure of another cause, at a constant rate
    use: dict[str, tuple[float, float]]  # level: (share, harshness)
    idle_columns: dict[
        str, dict[str, float]
    ]  # covariates without any effect: shares of their levels
    late: float  # share of the owners who bought used
    entry: tuple[float, float]  # age at purchase
    watch: tuple[float, float]  # usage from the purchase, or from new, to the last report
    scheduled: float  # share of the owners who have chosen an age to replace at
    schedule: tuple[float, float]  # that age, uniform
    visible: tuple[float, float]  # usage before failure from which a look shows distress
    noticed: float  # share of the parts in visible distress whose owner suspects it in time
    false_suspicion: float  # share of owners who suspect for no reason, at a random age
    found: float  # share of the removals that come with a finding
    finding_error: float  # share of the findings that are wrong
    interval: float  # share of the failures known only to lie between two ages
    gap: tuple[float, float]  # usage between the failure and each of those two ages, uniform
    cause_unknown: float  # share of the failures whose cause nobody wrote down
    steps: dict[int, float]  # what people round to, and how many of them
    fleets: tuple[Fleet, ...]

    def relative_harshness(self, use: str) -> float:
        """Average usage that one unit of this use is worth."""
        return self.use[use][1] / sum(share * harsh for share, harsh in self.use.values())


@dataclass(frozen=True)
class History:
    """The truth behind one engine's oil samples."""

    seed: int
    samples: tuple[tuple[int, str, int, float], ...]  # reading, date, oil_age, top_up in litres
    level: dict[str, float]  # this engine's usual wear rate, ppm per 1,000 units
    missing: tuple[int, str]  # the sample (by its reading) whose report lacks an element
    new_part: float = 1.0  # how many times the usual rate a new part sheds in its break-in
    onset: float = math.inf  # age at which distress begins
    failure: float = math.inf  # age at which the part would fail
    rise: dict[str, float] = field(default_factory=dict)  # times the usual rate at failure


@dataclass(frozen=True)
class OtherEngines:
    """The truth behind the oil samples of other engines of the kind, none of them in distress."""

    seed: int
    engines: int
    samples: tuple[int, int]  # of each, at least and at most
    begun: tuple[int, int]  # meter at the first of them, uniform
    oil_age: tuple[int, int]  # uniform
    top_ups: dict[float, float]  # litres, and how often
    level: dict[str, tuple[float, float]]  # usual wear rate from engine to engine
    scatter: dict[str, float]  # factor of one fill about it


ROAD_CAR = Population(
    seed=963,
    owners=180,
    shape=2.9,
    scale=186_000,
    other_mean=4_000_000,
    use={"mixed": (0.65, 1.0), "town": (0.27, 1.15), "track": (0.08, 1.6)},
    idle_columns={"oil_interval": {"long": 0.6, "short": 0.4}},
    late=0.55,
    entry=(24_000, 130_000),
    watch=(30_000, 165_000),
    scheduled=0.35,
    schedule=(75_000, 170_000),
    visible=(12_000, 60_000),
    noticed=0.10,
    false_suspicion=0.03,
    found=0.75,
    finding_error=0.1,
    interval=0.12,
    gap=(500, 9_000),
    cause_unknown=0.12,
    steps={1: 0.07, 100: 0.04, 500: 0.05, 1_000: 0.45, 5_000: 0.24, 10_000: 0.15},
    fleets=(
        Fleet(5, "town", 88_000),
        Fleet(3, "mixed", 61_500),
        Fleet(4, "mixed", 132_000),
        Fleet(3, "town", 100_000, removed=True),
    ),
)

WORK_BOAT = Population(
    seed=1191,
    owners=155,
    shape=2.25,
    scale=4_300,
    other_mean=60_000,
    use={"cruising": (0.55, 1.0), "fishing": (0.30, 0.95), "towing": (0.15, 1.4)},
    idle_columns={},
    late=0.5,
    entry=(350, 2_600),
    watch=(550, 3_600),
    scheduled=0.42,
    schedule=(1_500, 4_000),
    visible=(200, 1_200),
    noticed=0.10,
    false_suspicion=0.03,
    found=0.75,
    finding_error=0.1,
    interval=0.12,
    gap=(10, 180),
    cause_unknown=0.12,
    steps={1: 0.18, 10: 0.24, 50: 0.26, 100: 0.26, 500: 0.06},
    fleets=(
        Fleet(4, "fishing", 1_850),
        Fleet(3, "cruising", 940),
        Fleet(3, "towing", 1_500, removed=True),
    ),
)

CAR_OIL = History(
    seed=12,
    samples=(
        (29_800, "2018-04-12", 14_900, 1.0),  # the first owner's, found among the car's papers
        (44_900, "2019-10-03", 15_100, 1.5),
        (60_200, "2021-04-20", 7_400, 0.5),  # drawn by the buyer before the purchase
        (63_100, "2021-07-09", 2_100, 0.0),
        (70_800, "2022-03-18", 7_700, 0.5),
        (80_500, "2023-01-14", 9_700, 0.5),
        (90_600, "2023-11-25", 10_100, 1.0),
        (100_900, "2024-10-19", 10_300, 0.5),
        (111_300, "2025-09-12", 10_400, 1.0),
        (122_000, "2026-08-22", 10_700, 1.0),
    ),
    level={"Pb": 0.38, "Cu": 0.55, "Sn": 0.085, "Fe": 1.6, "Si": 0.6},
    missing=(44_900, "Sn"),
    onset=113_000,
    failure=139_000,
    rise={"Pb": 8.0, "Cu": 4.0, "Sn": 4.0},
)

BOAT_OIL = History(
    seed=19,
    samples=(
        (1_168, "2023-05-06", 48, 0.0),  # first oil of the new shells
        (1_310, "2023-07-20", 142, 0.5),
        (1_465, "2023-10-21", 155, 0.5),
        (1_640, "2024-06-08", 150, 0.5),
        (1_795, "2024-08-17", 155, 1.0),
        (1_905, "2024-11-09", 110, 0.5),
        (2_060, "2025-06-28", 155, 0.5),
        (2_215, "2025-09-06", 155, 1.0),
        (2_465, "2026-06-20", 155, 0.5),
        (2_630, "2026-08-29", 165, 1.0),
    ),
    level={"Pb": 24.0, "Cu": 36.0, "Sn": 6.0, "Fe": 95.0, "Si": 30.0},
    missing=(2_060, "Si"),
    new_part=3.0,
)

OTHER_BOATS = OtherEngines(
    seed=4,
    engines=12,
    samples=(5, 8),
    begun=(250, 2_600),
    oil_age=(110, 190),
    top_ups={0.0: 0.3, 0.5: 0.45, 1.0: 0.25},
    level={"Pb": (13, 55), "Cu": (18, 70), "Sn": (4, 18), "Fe": (50, 190), "Si": (15, 65)},
    scatter={"Pb": 1.30, "Cu": 1.30, "Sn": 1.35, "Fe": 1.25, "Si": 1.40},
)
