"""The workshop's screen in words: the state of each machine, and in which order they stand."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import quote

from riskmodel.decision.rank_standings import Ranking, Standing
from riskmodel.records.log.laboratory import Batch
from riskmodel.records.log.state import MachineState
from riskmodel.records.log.waiting import SampleLine
from riskmodel.words import formats, log, rank
from riskmodel.words.cautions import symptom_words
from riskmodel.words.log_page_entries import STAGES, sample
from riskmodel.words.log_page_forms import days

TITLE = "All machines"
BACK = "Back to the machine"
NONE = "No machine is kept yet. Open a case of your own, or keep an example, to start the log."
FILTER = "Find (name, part code)"
SHOW = "Show"
SHOWN: Mapping[str, str] = {
    "all": "all machines",
    "urgent": "with symptoms or an overdue sample",
    "service": "in service",
    "retired": "given up or without a part",
}
LAB = "Bring in a laboratory's table"
LAB_ABOUT = (
    "A table with a row for each sample, of any number of machines. Nothing is written before you "
    "say so, and then all of it or nothing."
)
LAB_FILE, LAB_NAME = "The table (CSV)", "Which laboratory"
LAB_NAME_HELP = "Its name; which column is what is remembered for its next table."
LAB_COLUMNS, LAB_NONE = "Which column is what", "no column"
LAB_FIELDS: Mapping[str, str] = {
    "machine": "Machine",
    "date": "Day of the sample",
    "reading": "Meter",
    "age": "Age of the part",
    "oil_age": "Usage on that oil",
    "top_up": "Topped up, litres",
    "bottle": "Bottle",
}
LAB_DATES, LAB_DECIMAL = "Order of dates", "Decimals"
LAB_ORDERS: Mapping[str, str] = {
    "ymd": "year, month, day",
    "dmy": "day, month, year",
    "mdy": "month, day, year",
}
LAB_POINTS: Mapping[str, str] = {"point": "a point (1.5)", "comma": "a comma (1,5)"}
LAB_WHO = "“{name}” in the table is"
LAB_LEFT_OUT = "none of mine: leave it out"
LAB_WRITE, LAB_NAME_IT = "Bring it in", "Name the laboratory to go on."
LAB_WOULD, LAB_DONE = "It would bring:", "Brought in:"
LAB_FAULTS = "Nothing can be brought in before these are put right."
SAMPLES = "Oil samples under way"
NO_SAMPLES = "No sample is under way."
MACHINE, METER, PART, STATE = "Machine", "Meter", "Part", "State"
SAMPLE, STEP, SINCE, OVERDUE = "Sample", "Where it is", "Since", "Overdue by"
WAITING_MEANS = (
    "Waiting costs or saves: the average cost of the cheapest plan that does not replace the part "
    "before the next oil change, held against that of replacing it now."
)
WAITING, WHY = "Waiting until the next oil change", "Why"
RANK_THEM, RANKING = "Rank all machines (takes a while)", "Ranking the machines…"
TAKEN_OUT = "Taken out of the log"
TAKEN_OUT_ABOUT = "Their entries are still there; a machine can be brought back as it was."
BRING_BACK = "Bring back {name}"

State = tuple[int, str]
"""How urgent (0: most), and why in words."""


def state(machine: MachineState, overdue: SampleLine | None) -> State:
    """How a machine stands: the most urgent thing about it."""
    if machine.retired is not None:
        return 5, f"given up, {formats.day(machine.retired.what.date)}"
    if machine.part is None:
        return 2, "no part in service"
    symptoms = machine.contents.get("machine", {}).get("symptoms") or []
    if symptoms:
        told = formats.listed([symptom_words(name) for name in symptoms])
        return 0, f"{formats.sentence(told)}: do not start it"
    if overdue is not None:
        return 1, f"a sample is overdue by {days(overdue.overdue)}"
    if machine.overdue_oil > 0:
        late = formats.usage(machine.overdue_oil, machine.unit)
        return 3, f"the oil change is overdue by {late}"
    return 4, ""


def place(of: State, ranked: int | None, name: str) -> tuple[bool, int, int, str]:
    """Where a machine stands in the list: as ranked, then those that are not."""
    if ranked is not None:
        return False, ranked, 0, ""
    return of[0] > 1, 0, of[0], name.lower()


def wanted(choice: str, of: State, machine: MachineState) -> bool:
    """Whether a machine is among those asked for."""
    return {
        "all": True,
        "urgent": of[0] <= 1,
        "service": machine.in_service,
        "retired": not machine.in_service,
    }[choice]


def row(machine: MachineState, of: State, standing: Standing | None) -> dict[str, str]:
    """One machine in the list: how it stands, and why."""
    date = f", {formats.day(machine.date)}" if machine.date else ""
    part = machine.parts[-1]
    told = formats.sentence(part.name) + (f" {part.code}" if part.code else "")
    if machine.part is not None:
        told += f", {formats.usage(machine.reading - part.fitted_at, machine.unit)} old"
    meter = formats.usage(machine.reading, machine.unit) + date
    found = {MACHINE: name_of(machine), METER: meter, PART: told, STATE: of[1] or "in service"}
    if standing is None:
        return {**found, WAITING: "", rank.ADVICE: "", WHY: ""}
    told = formats.sentence(rank.advice(standing)) + (" *" if standing.full else "")
    return {**found, WAITING: waiting(standing), rank.ADVICE: told, WHY: rank.why(standing)}


def name_of(machine: MachineState) -> str:
    """Its name; one that is made up says so."""
    name = machine.name or machine.id
    made_up = machine.contents.get("machine", {}).get("invented", False)
    return f"{name} (invented)" if made_up and "invented" not in name.lower() else name


def waiting(standing: Standing) -> str:
    """What waiting until the next oil change costs or saves."""
    if standing.waiting is None:
        return "stop: not weighed" if standing.symptoms else ""
    amount = formats.money(abs(standing.waiting), standing.currency)
    return f"costs {amount}" if standing.waiting > 0 else f"saves {amount}"


def in_full(number: int) -> str:
    """What weighs the first few of those shown in full."""
    return f"Weigh {'it' if number == 1 else f'the first {number}'} in full (some seconds)"


def book_heading(month: str) -> str:
    """The heading over what has to be booked by the end of a month ("2026-12")."""
    return f"To book in {rank.month(month)}"


def brings(found: Batch) -> list[str]:
    """What a laboratory's table would bring, or brought."""
    told = [text for text in log.batch(found, wrote=True) if not text.startswith("“")]
    lines = [len(rows) for rows in found.unknown.values()]
    if lines:
        told.append(f"{formats.plural(sum(lines), 'row')} of machines that the log has not.")
    return told


def unread(found: Ranking, machines: Mapping[str, MachineState]) -> list[str]:
    """Those of the log's machines that could not be weighed, and why."""
    return [f"{name_of(machines[each.name])}: {' '.join(each.why)}" for each in found.unread]


def under_way(line: SampleLine) -> bool:
    """Whether a sample still has a way to go. One entered with its results has none."""
    stage = line.sample.stage
    return stage in ("taken", "sent") or (stage == "back" and line.sample.back is not None)


def sample_row(line: SampleLine) -> dict[str, str]:
    """One sample in the list."""
    return {
        MACHINE: name_of(line.machine),
        SAMPLE: sample(line.sample.taken.what, line.machine.unit),
        STEP: step(line),
        SINCE: "" if line.since is None else formats.day(line.since),
        OVERDUE: days(line.overdue),
    }


def step(line: SampleLine) -> str:
    """How far a sample has come; nobody waits to be told of one entered with its results."""
    if line.sample.stage == "back" and line.sample.back is None:
        return "back"
    return STAGES[line.sample.stage]


def link(machine: str) -> str:
    """The address of a machine on this page."""
    return f"?machine={quote(machine)}"


def counted(shown: int, of: int) -> str:
    if shown == of:
        return f"{formats.plural(of, 'machine')} in the log."
    return f"{shown:,} of {formats.plural(of, 'machine')} shown."
