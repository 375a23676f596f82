"""Make the life records and oil samples of the two example cases again.

    python data/make_examples.py            write the five CSV files
    python data/make_examples.py --check    compare only; exit 1 if anything differs

EVERYTHING HERE IS INVENTED. No part, engine, owner, club, workshop or laboratory behind these
files exists; nothing in them says anything about a real machine. The two `case.toml` files are
written by hand. This script reads the oil section of each, simulates `records.csv`, `oil.csv`
and, for the boat, `fleet.csv`, and tests that the case and its tables agree (meter, dates,
columns, kinds of use).

How the life records were simulated (the figures stand in `example_truth.py`)
- True life: the wear life is Weibull in units of average use. A part in a use of harshness k fails
  at that life times mean harshness / k. Any other covariate has no effect.
- Other causes: a second, independent failure at a constant rate, whatever the age.
- Late entry: a share of the owners bought used. A machine whose part failed or was replaced before
  the purchase never reaches the list: it is drawn and thrown away.
- End of watch: how long an owner watched is independent of the life.
- Early removal: a share of the owners replace at an age chosen beforehand (`scheduled`). Of those
  whose part is in visible distress, some suspect it and have it out (`suspected`); a few suspect
  for no reason. Most removals come with a finding, some of the findings are wrong.
- Reporting: failures and survivors report alike (a reporting ratio of 1). No real club can claim
  that.
- Interval failures: some owners know only the last age at which it ran and the first at which it
  did not.
- Fleets: a few owners of several machines report those still whole as one line with a count.
- Cause: some failures are reported with the cause not known.
- Rounding: each reporter rounds to a step of his own, coarse ones more often than exact ones.

How the oil samples were simulated
- Wear rate of each fill: the engine's own level, times the mean of rise ** (distress fraction)
  over the fill once distress has begun, times exp(sigma t), sigma = ln scatter and t from Student's
  t with 4 degrees of freedom.
- Mass balance: what the drain left behind, dilution by top-ups. Then the laboratory's noise, then
  rounding to whole ppm, "<1" below half a ppm. One element of one report is missing.
- A new part sheds more in its break-in (the boat).
- The car's part has hidden distress, begun some 9,000 km before its last sample; the boat's none.

How the oil samples of other boats were simulated (`fleet.csv`)
- Each boat has a usual wear rate of its own, lognormal between boats; none is in distress. Then as
  above: a scatter from fill to fill, mass balance, noise, rounding. What the oil before the first
  sample left behind is that of a fill at the boat's usual rate.

The random generator's starting numbers are not the first that were tried (the records' were chosen
among 1,800 and 1,200). They were picked so that the counts and the fitted curve come out near the
truth, and so that the oil shows an unremarkable history. So these lists agree better with their
truth than a random list of this size would: learn the tool on them, never test its intervals.
"""

from __future__ import annotations

import argparse
import bisect
import csv
import io
import itertools
import math
import random
import sys
import tomllib
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from statistics import NormalDist
from typing import Any

from example_truth import (
    BOAT_OIL,
    CAR_OIL,
    OTHER_BOATS,
    ROAD_CAR,
    WORK_BOAT,
    Fleet,
    History,
    OtherEngines,
    Population,
)

HERE = Path(__file__).resolve().parent
Z95 = NormalDist().inv_cdf(0.95)
RECORD_COLUMNS = ("age", "outcome", "age_from", "entered_at", "count", "cause", "why")
OIL_COLUMNS = ("reading", "date", "oil_age", "top_up", "lab")
FLEET_COLUMNS = ("engine", "reading", "oil_age", "top_up")


class Draw:
    """Random numbers by inversion from `random.random`, whose sequence Python promises to keep.

    numpy makes no such promise for its distributions, and the files must always come out the same.
    """

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)

    def share(self) -> float:
        """Uniform on (0, 1)."""
        return 1.0 - self._random.random() * (1.0 - 1e-12) - 5e-13

    def happens(self, probability: float) -> bool:
        return self.share() < probability

    def uniform(self, low: float, high: float) -> float:
        return low + (high - low) * self.share()

    def exponential(self, mean: float) -> float:
        return -mean * math.log(self.share())

    def weibull(self, shape: float, scale: float) -> float:
        return scale * math.pow(-math.log(self.share()), 1.0 / shape)

    def normal(self) -> float:
        return NormalDist().inv_cdf(self.share())

    def lognormal(self, low: float, high: float) -> float:
        """Central 90 % between `low` and `high`."""
        middle, spread = math.log(low * high) / 2, math.log(high / low) / 2 / Z95
        return math.exp(middle + spread * self.normal())

    def t4(self) -> float:
        """Student's t with 4 degrees of freedom: chi-squared with 4 is -2 ln(U1 U2)."""
        return self.normal() / math.sqrt(-math.log(self.share() * self.share()) / 2)

    def pick(self, shares: dict[Any, float]) -> Any:
        """Draw one of the keys, with chances in proportion to the values."""
        below = list(itertools.accumulate(shares.values()))
        return list(shares)[bisect.bisect_left(below, self.share() * below[-1])]


EXAMPLES = {"road-car": (ROAD_CAR, CAR_OIL), "work-boat": (WORK_BOAT, BOAT_OIL)}
OTHERS = {"work-boat": OTHER_BOATS}


# --- life records ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class Part:
    """One part as it really was."""

    age: float
    outcome: str
    entered_at: float = 0.0
    age_from: float | None = None
    cause: str = ""
    why: str = ""


def true_part(p: Population, draw: Draw, use: str, fleet: Fleet | None = None) -> Part:
    """Draw machines until one comes that its present owner could report."""
    while True:
        entry = draw.lognormal(*p.entry) if fleet is None and draw.happens(p.late) else 0.0
        wear = draw.weibull(p.shape, p.scale) / p.relative_harshness(use)
        other = draw.exponential(p.other_mean)
        seen_from = wear - draw.lognormal(*p.visible)
        ends = {"failed": min(wear, other)}
        if fleet is not None:
            ends["scheduled" if fleet.removed else "running"] = fleet.age
        else:
            ends["running"] = entry + draw.lognormal(*p.watch)
            if draw.happens(p.scheduled):
                ends["scheduled"] = draw.uniform(*p.schedule)
            if draw.happens(p.noticed):
                ends["suspected"] = draw.uniform(max(seen_from, 0.0), wear)
            elif draw.happens(p.false_suspicion):
                ends["suspected"] = draw.uniform(0.0, p.scale)
        end = min(ends, key=ends.__getitem__)
        age = ends[end]
        if age > entry:  # otherwise it was over before the purchase: nobody reports it
            break
    if end == "running":
        return Part(age, "running", entry)
    if end == "failed":
        cause = "wear" if wear < other else "other"
        if draw.happens(p.cause_unknown):
            cause = "unknown"
        if draw.happens(p.interval):
            age_from = age - draw.uniform(*p.gap)
            if age_from > entry:
                return Part(age + draw.uniform(*p.gap), "failed", entry, age_from, cause)
        return Part(age, "failed", entry, cause=cause)
    outcome = "removed"
    if draw.happens(p.found):
        worn = (age > seen_from) != draw.happens(p.finding_error)
        outcome = "removed_worn" if worn else "removed_unworn"
    return Part(age, outcome, entry, why=end)


def rounded(p: Population, draw: Draw, part: Part) -> tuple[int, int | None, int]:
    """Age, age_from and entered_at as the reporter tells them, still in their true order."""
    while True:
        step, entry_step = draw.pick(p.steps), draw.pick(p.steps)
        age = round(part.age / step) * step
        age_from = None if part.age_from is None else round(part.age_from / step) * step
        entry = round(part.entered_at / entry_step) * entry_step
        if entry < (age if age_from is None else age_from) and (age_from is None or age_from < age):
            return age, age_from, entry


def records(p: Population) -> str:
    """The life records as CSV text; a blank cell is the column's default."""
    draw = Draw(p.seed)
    lines: list[list[Any]] = []

    def add(part: Part, use: str, count: int = 1) -> None:
        age, age_from, entry = rounded(p, draw, part)
        idle = [draw.pick(levels) for levels in p.idle_columns.values()]
        given = [age, part.outcome, "" if age_from is None else age_from, entry or ""]
        lines.append([*given, count if count > 1 else "", part.cause, part.why, use, *idle])

    for _ in range(p.owners):
        use = draw.pick({level: share for level, (share, _) in p.use.items()})
        add(true_part(p, draw, use), use)
    for fleet in p.fleets:
        parts = [true_part(p, draw, fleet.use, fleet) for _ in range(fleet.machines)]
        whole = Counter(part for part in parts if part.outcome != "failed")
        for part in [*whole, *(part for part in parts if part.outcome == "failed")]:
            add(part, fleet.use, whole.get(part, 1))
            lines.insert(int(draw.uniform(0, len(lines))), lines.pop())
    return as_csv([*RECORD_COLUMNS, "use", *p.idle_columns], lines)


# --- oil samples ----------------------------------------------------------------------------------


def mean_rise(h: History, symbol: str, start: float, end: float, lost: float) -> float:
    """Mean of rise ** (distress fraction) over a fill, older metal diluted by the top-ups since."""
    ages = [start + (end - start) * (i + 0.5) / 500 for i in range(500)]
    kept = [math.exp(-lost * (end - age)) for age in ages]
    distress = [min(max((age - h.onset) / (h.failure - h.onset), 0.0), 1.0) for age in ages]
    risen = [h.rise[symbol] ** fraction for fraction in distress]
    return sum(map(math.prod, zip(risen, kept, strict=True))) / sum(kept)


def oil_samples(h: History, case: dict[str, Any]) -> str:
    """The oil samples as CSV text, by the mass balance of the model."""
    draw = Draw(h.seed)
    oil, fitted_at = case["oil"], case["part"]["fitted_at"]
    ppm: dict[str, float] = {}
    lines: list[list[Any]] = []
    for reading, date, oil_age, top_up in h.samples:
        age = reading - fitted_at
        lost = top_up / oil["sump_litres"] / oil_age  # share of the oil replaced per unit of usage
        kept = math.exp(-lost * oil_age)
        cells: list[Any] = []
        for element in oil["element"]:
            symbol = element["symbol"]
            usual = h.level[symbol] / 1_000
            if symbol in h.rise:
                usual *= mean_rise(h, symbol, age - oil_age, age, lost)
            if age <= oil["break_in"]:
                usual *= h.new_part
            rate = usual * math.exp(math.log(element["scatter"]) * draw.t4())
            carried = oil["carry_over"] * ppm.get(symbol, usual * oil_age)
            made = rate * ((1 - kept) / lost if lost else oil_age)
            ppm[symbol] = carried * kept + made
            told = round(ppm[symbol] + element["noise"] * draw.normal())
            cells.append("" if (reading, symbol) == h.missing else told if told >= 1 else "<1")
        lines.append([reading, date, oil_age, top_up, "laboratory A", *cells])
    return as_csv([*OIL_COLUMNS, *(element["symbol"] for element in oil["element"])], lines)


def fleet_samples(f: OtherEngines, case: dict[str, Any]) -> str:
    """Oil samples of other engines as CSV text, by the mass balance of the model."""
    draw = Draw(f.seed)
    oil = case["oil"]
    lines: list[list[Any]] = []
    for number in range(1, f.engines + 1):
        level = {symbol: draw.lognormal(*ends) for symbol, ends in f.level.items()}
        reading = round(draw.uniform(*f.begun))
        ppm: dict[str, float] = {}
        for _ in range(round(draw.uniform(f.samples[0] - 0.5, f.samples[1] + 0.5))):
            oil_age, top_up = round(draw.uniform(*f.oil_age)), draw.pick(f.top_ups)
            reading += oil_age
            lost = top_up / oil["sump_litres"] / oil_age
            kept = math.exp(-lost * oil_age)
            cells: list[Any] = []
            for element in oil["element"]:
                symbol = element["symbol"]
                usual = level[symbol] / 1_000
                rate = usual * math.exp(math.log(f.scatter[symbol]) * draw.t4())
                carried = oil["carry_over"] * ppm.get(symbol, usual * oil_age)
                ppm[symbol] = carried * kept + rate * ((1 - kept) / lost if lost else oil_age)
                told = round(ppm[symbol] + element["noise"] * draw.normal())
                cells.append(told if told >= 1 else "<1")
            lines.append([f"boat {number}", reading, oil_age, top_up, *cells])
    return as_csv([*FLEET_COLUMNS, *(element["symbol"] for element in oil["element"])], lines)


# --- files ----------------------------------------------------------------------------------------


def as_csv(columns: list[str], lines: list[list[Any]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(lines)
    return text.getvalue()


def disagreements(case: dict[str, Any], records_text: str, oil_text: str) -> list[str]:
    """What in a hand-written case does not fit the simulated tables."""
    machine, part, use = case["machine"], case["part"], case["use"]
    lives = list(csv.DictReader(io.StringIO(records_text)))
    last = list(csv.DictReader(io.StringIO(oil_text)))[-1]
    due = int(last["reading"]) + case["oil"]["interval"]
    kinds = {kind["name"] for kind in use["kinds"]}
    mixes = [use["ahead"], *(stretch.get("shares", {}) for stretch in use["stretches"])]
    levels = {column: {life[column] for life in lives} for column in part["traits"]}
    columns = set(lives[0]) - set(RECORD_COLUMNS)
    tests = {
        "machine.invented is not true": machine["invented"] is True,
        "machine.reading is before the last sample": machine["reading"] >= int(last["reading"]),
        "machine.date is before the last sample": machine["date"].isoformat() >= last["date"],
        "oil.next_change_in does not follow from the last change": (
            machine["reading"] + case["oil"]["next_change_in"] == due
        ),
        "use.stretches do not end at machine.reading": (
            use["stretches"][-1]["until"] == machine["reading"]
        ),
        "shares name a kind that use.kinds has not": all(set(mix) <= kinds for mix in mixes),
        "shares of a mix do not add up to 1": all(
            math.isclose(sum(mix.values()), 1) for mix in mixes if mix
        ),
        "kinds of use differ from the records' column": kinds == {life["use"] for life in lives},
        "part.traits and the records' columns differ": columns == set(levels),
        "part.traits has a value that no record has": all(
            value in levels[column] for column, value in part["traits"].items()
        ),
    }
    return [fault for fault, fits in tests.items() if not fits]


def main() -> int:
    parser = argparse.ArgumentParser(description="Make the invented example data again.")
    parser.add_argument(
        "--check", action="store_true", help="write nothing; exit 1 on a difference"
    )
    check = parser.parse_args().check
    faults: list[str] = []
    for name, (population, history) in EXAMPLES.items():
        case = tomllib.loads((HERE / name / "case.toml").read_text(encoding="utf-8"))
        made = {"records.csv": records(population), "oil.csv": oil_samples(history, case)}
        faults += [f"{name}/case.toml: {fault}" for fault in disagreements(case, *made.values())]
        if name in OTHERS:
            made["fleet.csv"] = fleet_samples(OTHERS[name], case)
        for file, text in made.items():
            path = HERE / name / file
            if not check:
                path.write_bytes(text.encode())
            elif not path.is_file() or path.read_bytes() != text.encode():
                faults.append(f"{name}/{file}: differs from what the script makes")
    for fault in faults:
        print(fault, file=sys.stderr)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
