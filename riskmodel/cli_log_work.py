"""What each sub-verb of `riskmodel log` does: the log is asked or told, words say how it went."""

from __future__ import annotations

import argparse
import tomllib
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from riskmodel.cli_rank import day_of
from riskmodel.records.errors import CannotAnswer, shown
from riskmodel.records.log.entries import (
    LOOKS,
    Decision,
    Finding,
    InputsChanged,
    Job,
    MachineRetired,
    MeterReading,
    OilChange,
    Payload,
    Quote,
    Said,
    SampleBack,
    SampleSent,
    SampleTaken,
    SampleTold,
)
from riskmodel.records.log.log import Log
from riskmodel.records.log.place import open_log, place, start_log
from riskmodel.records.log.rows import New, Written, new_uuid
from riskmodel.records.log.state import MachineState, SampleState
from riskmodel.records.scalars import UnreadableError, read_number
from riskmodel.records.tables import Reading
from riskmodel.report.terminal_log import Sheet
from riskmodel.words import log as words

Asked = argparse.Namespace


@dataclass(frozen=True, slots=True)
class Answer:
    """What to print: one object for programs; sentences and tables for people."""

    held: dict[str, Any]
    lines: Sequence[str] = ()
    tables: Sequence[Sheet] = field(default_factory=list)
    status: int = 0


def _opened(asked: Asked) -> Log:
    return open_log(place(asked.log))


def _day(asked: Asked) -> str:
    return day_of(asked.date).isoformat()


def _added(asked: Asked, payload: Payload) -> Answer:
    with _opened(asked) as log:
        done = log.add(payload, author=asked.author, machine=asked.machine)
    return _written(done)


def _written(done: Written) -> Answer:
    held = {
        "entries": [e.seq for e in done.entries],
        "machine": done.entry.machine,
        "kind": done.entry.kind,
        "warnings": list(done.warnings),
    }
    return Answer(held, words.written(done))


# --- the log itself --------------------------------------------------------------------


def do_start(asked: Asked) -> Answer:
    path = place(asked.log)
    start_log(path).close()
    return Answer({"log": str(path)}, [words.started(path)])


def do_backup(asked: Asked) -> Answer:
    with _opened(asked) as log:
        path = log.backup(asked.file)
    return Answer({"backup": str(path)}, [words.backed_up(path)])


def do_restore(asked: Asked) -> Answer:
    from riskmodel.records.log.log import restore

    path = place(asked.log)
    kept = restore(asked.file, path)
    held = {"log": str(path), "kept": None if kept is None else str(kept)}
    return Answer(held, [words.restored(path, kept)])


def do_csv(asked: Asked) -> Answer:
    from riskmodel.records.log.folder import export_log

    with _opened(asked) as log:
        export_log(log, asked.folder)
    files = sorted(path.name for path in asked.folder.iterdir())
    held = {"folder": str(asked.folder), "files": files}
    return Answer(held, [words.as_text(asked.folder, len(files))])


def do_undo(asked: Asked) -> Answer:
    with _opened(asked) as log:
        done = log.undo(asked.number, author=asked.author, reason=asked.reason)
    return _written(done)


def do_history(asked: Asked) -> Answer:
    with _opened(asked) as log:
        entries = log.history(asked.machine)
        undone = {entry.seq for entry in entries if log.undone_by(entry.seq) is not None}
    held = [
        {
            "number": e.seq,
            "recorded": e.recorded,
            "author": e.author,
            "machine": e.machine,
            "kind": e.kind,
            "what": e.payload.gist,
            "undoes": e.undoes,
            "undone": e.seq in undone,
        }
        for e in entries
    ]
    rows = [words.entry_row(e, e.seq in undone) for e in entries]
    return Answer({"entries": held}, [], [Sheet(words.ENTRIES, words.ENTRY_HEADINGS, rows)])


def do_list(asked: Asked) -> Answer:
    from riskmodel.records.log.waiting import sample_list

    with _opened(asked) as log:
        state = log.state()
        machines = [log.machine(asked.machine)] if asked.machine else list(state.machines.values())
    samples = sample_list(state, _day(asked), machine=asked.machine)
    waiting = [s for s in samples if asked.machine or s.sample.stage != "told"]
    held = {
        "machines": [
            {
                "machine": m.id, "name": m.name, "unit": m.unit, "reading": m.reading,
                "date": m.date, "part": m.parts[-1].code, "in_service": m.in_service,
                "overdue_oil": m.overdue_oil,
            }
            for m in machines
        ],
        "samples": [
            {
                "machine": s.machine.id, "bottle": s.sample.taken.what.bottle,
                "reading": s.sample.taken.what.reading, "state": s.sample.stage,
                "since": s.since, "overdue_days": s.overdue,
            }
            for s in samples
        ],
    }  # fmt: skip
    tables = [
        Sheet(words.SAMPLES, words.SAMPLE_HEADINGS, [words.sample_row(s) for s in waiting]),
        Sheet(words.MACHINES, words.MACHINE_HEADINGS, [words.machine_row(m) for m in machines]),
    ]
    return Answer(held, [] if machines else [words.NO_MACHINE], tables)


# --- cases -----------------------------------------------------------------------------


def do_import(asked: Asked) -> Answer:
    from riskmodel.records.files import read_case
    from riskmodel.records.log.bridge import import_case

    case = read_case(asked.case)
    with _opened(asked) as log:
        found = import_case(
            log, case, author=asked.author, machine=asked.as_, source=str(asked.case.name)
        )
    held = {
        "machine": found.machine,
        "own_records": found.own_records,
        "warnings": list(found.warnings),
    }
    return Answer(held, words.brought(found))


def do_export(asked: Asked) -> Answer:
    from riskmodel.records.files import write_case
    from riskmodel.records.log.bridge import export_files

    with _opened(asked) as log:
        found = export_files(log, asked.machine, shared=not asked.as_it_came)
    write_case(found.case(), asked.folder)
    held = {
        "folder": str(asked.folder),
        "files": sorted(found.files),
        "lives_left_out": found.lives_left_out,
    }
    return Answer(held, [words.exported(asked.machine, asked.folder, found.lives_left_out)])


# --- entries ---------------------------------------------------------------------------


def do_reading(asked: Asked) -> Answer:
    return _added(asked, MeterReading(asked.reading, _day(asked), asked.note))


def do_oil(asked: Asked) -> Answer:
    return _added(asked, OilChange(asked.reading, _day(asked), asked.note))


def do_retire(asked: Asked) -> Answer:
    return _added(asked, MachineRetired(asked.reading, _day(asked), asked.note))


def do_sample(asked: Asked) -> Answer:
    results = _results(asked.results)
    with _opened(asked) as log:
        machine = log.machine(asked.machine)
        sample = SampleTaken(
            oil_age=asked.oil_age,
            reading=machine.reading if asked.at is None else asked.at,
            date=_day(asked),
            top_up=asked.top_up,
            lab=asked.lab,
            bottle=asked.bottle,
            drained=asked.drained,
            elements=results,
            note=asked.note,
        )
        return _written(log.add(sample, author=asked.author, machine=asked.machine))


def do_sent(asked: Asked) -> Answer:
    with _opened(asked) as log:
        sample = _sample(log.machine(asked.machine), asked.bottle, ("taken",))
        step = SampleSent(sample.uuid, _day(asked), asked.lab)
        return _written(log.add(step, author=asked.author, machine=asked.machine))


def do_back(asked: Asked) -> Answer:
    results = _results(asked.results)
    with _opened(asked) as log:
        sample = _sample(log.machine(asked.machine), asked.bottle, ("taken", "sent"))
        step = SampleBack(sample.uuid, _day(asked), results)
        return _written(log.add(step, author=asked.author, machine=asked.machine))


def do_told(asked: Asked) -> Answer:
    with _opened(asked) as log:
        sample = _sample(log.machine(asked.machine), asked.bottle, ("back",))
        step = SampleTold(sample.uuid, _day(asked), asked.note)
        return _written(log.add(step, author=asked.author, machine=asked.machine))


def _sample(machine: MachineState, bottle: str, stages: Sequence[str]) -> SampleState:
    """The one sample of a machine that is so far, by what stands on its bottle where told."""
    found = [s for s in machine.samples if s.stage in stages]
    if bottle:
        found = [s for s in found if s.taken.what.bottle.casefold() == bottle.casefold()]
    if len(found) == 1:
        return found[0]
    what = f"{machine.id}: {len(found)} samples that are {' or '.join(stages)}"
    if not found:
        raise CannotAnswer(f"{what}{f' with bottle {bottle}' if bottle else ''}, expected one")
    told = ", ".join(s.taken.what.bottle or "one without a bottle" for s in found)
    raise CannotAnswer(f"{what}; say which with --bottle: {told}")


def do_job(asked: Asked) -> Answer:
    looks = []
    for text in asked.found:
        shell, look = _pair("--found", text, "SHELL=LOOK")
        if look not in LOOKS:
            raise CannotAnswer(f"--found: found {shown(look)}, expected {', '.join(LOOKS)}")
        looks.append((shell, look))
    job = Job(
        reading=asked.reading,
        date=_day(asked),
        replaced=not asked.not_replaced,
        failed=asked.failed,
        why=asked.why,
        cause=asked.cause,
        whole_at=asked.whole_at,
        new_code=asked.new_code,
        new_lining=asked.new_lining,
        price=asked.price,
        note=asked.note,
    )
    uuid = new_uuid()
    new = [New(job, asked.machine, uuid)]
    new += [New(Finding(uuid, shell, look), asked.machine) for shell, look in looks]
    with _opened(asked) as log:
        done = log.add_all(new, author=asked.author)
    answer = _written(done)
    lines = [line for entry in done.entries for line in words.written(Written((entry,)))]
    return Answer(answer.held, [*lines, *done.warnings])


def do_quote(asked: Asked) -> Answer:
    prices: dict[str, Any] = {}
    for text in asked.prices:
        name, amount = _pair("quote", text, "PRICE=AMOUNT")
        ends = [_number(f"quote, {name}", part) for part in amount.split("..")]
        prices[name] = ends[0] if len(ends) == 1 else ends
    quote = Quote(_day(asked), prices, asked.by, asked.until, asked.note)
    return _added(asked, quote)


def do_set(asked: Asked) -> Answer:
    changes: dict[str, Any] = {}
    for text in asked.changes:
        key, value = _pair("set", text, "KEY=VALUE", empty=True)
        changes[key] = _stated(value)
    return _added(asked, InputsChanged(changes, asked.note))


def _stated(text: str) -> Any:
    """A value as case.toml states it; a word without quotes is a word; nothing is None."""
    if not text:
        return None
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except tomllib.TOMLDecodeError:
        return text


def do_decide(asked: Asked) -> Answer:
    import math

    from riskmodel import words as all_words
    from riskmodel.decision.prepared import grounds
    from riskmodel.decision.weigh import weigh
    from riskmodel.records.log.bridge import decision_inputs, export_case
    from riskmodel.risk.distress import distress_today
    from riskmodel.words.plan_names import plan_name

    chosen_at: float | None = None
    if asked.chosen == "now":
        chosen_at = 0.0
    elif asked.chosen not in ("", "never"):
        chosen_at = _number("--chosen", asked.chosen)
    with _opened(asked) as log:
        seen = log.machine(asked.machine)
        case = export_case(log, asked.machine)
        weighing = weigh(case)
        if weighing.chosen is None:
            raise CannotAnswer(all_words.stop_heading(case))
        best, found = weighing.all_plans[weighing.chosen], grounds(case)
        verdict = [all_words.verdict(weighing), *all_words.chance_sentences(weighing)]
        said = {
            c.ahead: Said(c.ahead, c.chance.value, c.chance.low, c.chance.high)
            for c in weighing.risk
            if c.ahead > 0 and math.isfinite(c.ahead)
        }
        decision = Decision(
            date=_day(asked),
            reading=case.machine.reading,
            advised=plan_name(weighing, weighing.chosen),
            advised_at=None if weighing.sells else best.at,
            shown="\n".join(verdict) + "\n",
            inputs=decision_inputs(case),
            chosen=asked.chosen,
            chosen_at=chosen_at,
            declined=asked.declined,
            by=asked.author,
            said=tuple(said.values()),
            note=asked.note,
            worn_told=distress_today(found.case, found.curves, found.taken, found.ages),
        )
        done = log.add(decision, author=asked.author, machine=asked.machine, based_on=seen.last)
    answer = _written(done)
    held = {**answer.held, "advised": decision.advised, "advised_at": decision.advised_at,
            "said": [asdict(each) for each in decision.said],
            "worn_told": decision.worn_told}  # fmt: skip
    return Answer(held, [*verdict, "", *answer.lines])


# --- many at once, and looking back ----------------------------------------------------


def do_lab(asked: Asked) -> Answer:
    from riskmodel.records.disk import read_file
    from riskmodel.records.log.lab_entries import LabColumns
    from riskmodel.records.log.laboratory import read_laboratory, write_batch

    columns = dict(_pair("--column", text, "FIELD=HEADING") for text in asked.column)
    elements = dict(_pair("--element", text, "METAL=HEADING") for text in asked.element)
    machines = dict(_pair("--machine", text, "THEIRS=OURS") for text in asked.machine)
    today = day_of(asked.date)
    data = read_file(asked.file)
    with _opened(asked) as log:
        state = log.state()
        held = state.laboratories.get(asked.laboratory)
        changes = None
        if columns or elements or machines or asked.dates or asked.decimal:
            before = None if held is None else held.what
            guess = read_laboratory(data, asked.file.name, state, asked.laboratory, today)
            known = before or guess.columns
            changes = LabColumns(
                asked.laboratory, columns, elements, machines,
                asked.dates or known.dates, asked.decimal or known.decimal,
            )  # fmt: skip
        batch = read_laboratory(data, asked.file.name, state, asked.laboratory, today, changes)
        if not asked.try_:
            write_batch(
                log, batch, author=asked.author, file=asked.file.name,
                leave_out_unknown=asked.leave_out_unknown,
            )  # fmt: skip
    told = {
        "wrote": not asked.try_,
        "new": [{"line": r.line, "machine": r.machine} for r in batch.new],
        "back": [{"line": r.line, "machine": r.machine} for r in batch.back],
        "duplicates": [{"line": line, "machine": m} for line, m in batch.duplicates],
        "unlike": [{"line": line, "machine": m} for line, m in batch.unlike],
        "unknown": {name: list(lines) for name, lines in batch.unknown.items()},
        "problems": [str(problem) for problem in batch.problems],
        "columns": {**batch.columns.columns, **batch.columns.elements},
    }
    lines = [*words.columns(batch), *words.batch(batch, wrote=not asked.try_)]
    lines += [str(problem) for problem in batch.problems]
    return Answer(told, lines, status=2 if batch.problems else 0)


def do_said(asked: Asked) -> Answer:
    import numpy as np

    from riskmodel.records.log.decided import came_out, followed
    from riskmodel.risk.said_and_seen import Told, found_when_replaced, said_and_seen
    from riskmodel.words import said_and_seen as said_words

    with _opened(asked) as log:
        state = log.state()
    rows = followed(state, asked.group)
    out = came_out(state, asked.group)
    found = said_and_seen(
        [Told(np.array(row.ahead), np.array(row.chance)) for row in rows],
        np.array([row.followed for row in rows]),
        np.array([row.ended == "failed" for row in rows], dtype=bool),
    )
    looks = found_when_replaced(
        np.array([row.look == "worn" or row.look == "failed" for row in out], dtype=bool),
        np.array([row.look != "not_seen" for row in out], dtype=bool),
        np.array([row.chance for row in out]),
    )
    told = {
        **asdict(found),
        "few": found.few,
        "replaced": asdict(looks),
        "decisions_followed": [asdict(row) for row in rows],
    }
    return Answer(told, said_words.sentences(found, looks))


# --- what was typed --------------------------------------------------------------------


def _results(texts: Sequence[str]) -> dict[str, Reading]:
    found = {}
    for text in texts:
        symbol, value = _pair("results", text, "METAL=PPM")
        below = value.startswith("<")
        found[symbol] = Reading(_number(symbol, value.removeprefix("<")), below)
    return found


def _pair(option: str, text: str, expected: str, *, empty: bool = False) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not name.strip() or not (empty or value.strip()):
        raise CannotAnswer(f"{option}: found {shown(text)}, expected {expected}")
    return name.strip(), value.strip()


def _number(what: str, text: str) -> float:
    try:
        return read_number(text)
    except UnreadableError as fault:
        raise CannotAnswer(f"{what}: found {shown(text)}, expected {fault}") from None
