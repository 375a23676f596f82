"""Entries of the log in one line each, and the words for what they hold."""

from __future__ import annotations

from collections.abc import Mapping

from riskmodel.records.errors import plain
from riskmodel.records.inputs import BY_KEY, Unit
from riskmodel.records.log.entries import (
    Decision,
    Entry,
    Finding,
    InputsChanged,
    Job,
    LabColumns,
    MachineAdded,
    MachineRetired,
    MeterReading,
    OilChange,
    Payload,
    Quote,
    RecordsSet,
    SampleBack,
    SampleSent,
    SampleTaken,
    SampleTold,
    TableSet,
    Undone,
)
from riskmodel.records.tables import Reading
from riskmodel.words import formats

LOOKS: Mapping[str, str] = {
    "unworn": "not worn",
    "worn": "worn",
    "failed": "failed",
    "not_seen": "not looked at",
}
STAGES: Mapping[str, str] = {
    "taken": "taken, not sent yet",
    "sent": "sent, not back yet",
    "back": "back, owner not told yet",
    "told": "told",
}
PRICES: Mapping[str, str] = {
    "planned": "replacement in time",
    "urgent": "replacement at short notice",
    "failure": "failure",
    "found_worn": "extra if found worn",
    "investigation": "a look into it",
    "sample": "an oil sample",
    "oil_change": "an oil change",
}
_KEYS_TOLD = 3


def line(entry: Entry, unit: Unit) -> str:
    """An entry in one line: what, by whom, when."""
    return f"{formats.sentence(what(entry.payload, unit))} ({by(entry)})"


def by(entry: Entry) -> str:
    """Who wrote an entry and when: "Ann, 27 November 2026, 03:01 UTC"."""
    day, time = entry.recorded[:10], entry.recorded[11:16]
    return f"{entry.author}, {formats.day(day)}, {time} UTC"


def what(payload: Payload, unit: Unit) -> str:
    """What an entry says, in plain words."""
    match payload:
        case MachineAdded():
            return "taken into the log"
        case InputsChanged():
            return _changed(payload)
        case MeterReading():
            return f"meter at {_at(payload.reading, payload.date, unit)}{_note(payload.note)}"
        case OilChange():
            return f"oil changed at {_at(payload.reading, payload.date, unit)}{_note(payload.note)}"
        case SampleTaken() | SampleSent() | SampleBack() | SampleTold():
            return _sample(payload, unit)
        case Job():
            return job(payload, unit)
        case Finding():
            return finding(payload)
        case Quote():
            prices = [f"{PRICES[name]} {_price(value)}" for name, value in payload.prices.items()]
            by_whom = f" by {payload.by}" if payload.by else ""
            until = f", valid until {formats.day(payload.until)}" if payload.until else ""
            day = formats.day(payload.date)
            told = formats.listed(prices)
            return f"quote{by_whom} of {day}: {told}{until}{_note(payload.note)}"
        case Decision():
            return decision(payload)
        case RecordsSet():
            whose = "" if payload.group is None else " shared by all with such a part"
            done = "taken out" if payload.csv is None else "set"
            return f"life records{whose} {done}"
        case TableSet():
            entry = BY_KEY[payload.key].label.lower()
            return f"table ({entry}) {'taken out' if payload.csv is None else 'set'}"
        case MachineRetired():
            return f"given up at {_at(payload.reading, payload.date, unit)}{_note(payload.note)}"
        case LabColumns():
            return f"which column is what in tables of {payload.laboratory}"
        case Undone():
            return f"an earlier entry undone{_note(payload.reason)}"
    return payload.title


def job(held: Job, unit: Unit) -> str:
    done = {
        (False, True): "part replaced",
        (True, True): "part failed and was replaced",
        (True, False): "part failed, none fitted",
        (False, False): "work without replacing the part",
    }[held.failed, held.replaced]
    price = f", {formats.exact(held.price)} paid" if held.price is not None else ""
    return f"{done} at {_at(held.reading, held.date, unit)}{price}{_note(held.note)}"


def finding(held: Finding) -> str:
    clearance = f", {formats.exact(held.clearance)} mm" if held.clearance is not None else ""
    photo = f", photo {held.photo}" if held.photo else ""
    return f"found: {held.position} {LOOKS[held.look]}{clearance}{photo}{_note(held.note)}"


def decision(held: Decision) -> str:
    """What was advised and what was made of it."""
    made = f"chosen: {held.chosen}" if held.chosen else "nothing chosen"
    if held.declined:
        made = f"advice declined, {made}"
    by_whom = f", by {held.by}" if held.by else ""
    advised = f"advised: {held.advised}; " if held.advised else ""
    return f"{advised}{made}{by_whom}, {formats.day(held.date)}{_note(held.note)}"


def sample(held: SampleTaken, unit: Unit) -> str:
    """A sample by what it is known by: bottle, meter, day."""
    bottle = f"bottle {held.bottle}, " if held.bottle else ""
    if held.reading is not None:
        place = formats.usage(held.reading, unit)
    else:
        place = f"at a part's age of {formats.usage(held.age or 0.0, unit)}"
    return f"{bottle}{place}{f', {formats.day(held.date)}' if held.date else ''}"


def elements(held: Mapping[str, Reading]) -> str:
    return ", ".join(
        f"{symbol} {'<' if reading.below else ''}{plain(reading.value)}"
        for symbol, reading in held.items()
    )


def _sample(held: SampleTaken | SampleSent | SampleBack | SampleTold, unit: Unit) -> str:
    if isinstance(held, SampleTaken):
        results = f": {elements(held.elements)} ppm" if held.elements else ""
        return f"oil sample taken ({sample(held, unit)}){results}{_note(held.note)}"
    day = formats.day(held.date)
    if isinstance(held, SampleSent):
        return f"oil sample sent{f' to {held.lab}' if held.lab else ''}, {day}"
    if isinstance(held, SampleBack):
        return f"oil sample back, {day}: {elements(held.elements)} ppm"
    return f"owner told of the oil sample, {day}{_note(held.note)}"


def _changed(held: InputsChanged) -> str:
    told = []
    for key, value in held.changes.items():
        label = BY_KEY[key].label if key in BY_KEY else key
        if value is None:
            told.append(f"{label}: no longer stated")
        elif isinstance(value, dict) or (value and isinstance(value, list) and _rows(value)):
            told.append(label)
        else:
            told.append(f"{label}: {_price(value)}")
    more = len(told) - _KEYS_TOLD
    shown = told[:_KEYS_TOLD] + ([f"{more} more"] if more > 0 else [])
    return f"{'; '.join(shown)}{_note(held.note)}"


def _rows(value: list[object]) -> bool:
    return any(isinstance(item, dict) for item in value)


def _price(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return formats.exact(float(value))
    if isinstance(value, list | tuple):
        if not value:
            return "none"
        if all(isinstance(end, int | float) for end in value):
            return " to ".join(formats.exact(float(end)) for end in value)
        return formats.listed([str(item) for item in value])
    return str(value)


def _at(reading: float, date: str | None, unit: Unit) -> str:
    return f"{formats.usage(reading, unit)}{f', {formats.day(date)}' if date else ''}"


def _note(text: str) -> str:
    return f" – {' '.join(text.split())}" if text else ""
