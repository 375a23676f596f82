"""What the other sub-verbs of `riskmodel log` do: the whole log, many machines, looking back."""

from __future__ import annotations

from dataclasses import asdict

from riskmodel.cli_log_typed import (
    Answer,
    Asked,
    day,
    opened,
    pair,
    written,
)
from riskmodel.cli_rank import day_of
from riskmodel.records.log.place import place, start_log
from riskmodel.report.terminal_log import Sheet
from riskmodel.words import log as words


def do_start(asked: Asked) -> Answer:
    path = place(asked.log)
    start_log(path).close()
    return Answer({"log": str(path)}, [words.started(path)])


def do_backup(asked: Asked) -> Answer:
    with opened(asked) as log:
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

    with opened(asked) as log:
        export_log(log, asked.folder)
    files = sorted(path.name for path in asked.folder.iterdir())
    held = {"folder": str(asked.folder), "files": files}
    return Answer(held, [words.as_text(asked.folder, len(files))])


def do_undo(asked: Asked) -> Answer:
    with opened(asked) as log:
        done = log.undo(asked.number, author=asked.author, reason=asked.reason)
    return written(done)


def do_history(asked: Asked) -> Answer:
    with opened(asked) as log:
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

    with opened(asked) as log:
        state = log.state()
        machines = [log.machine(asked.machine)] if asked.machine else list(state.machines.values())
    samples = sample_list(state, day(asked), machine=asked.machine)
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
    with opened(asked) as log:
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

    with opened(asked) as log:
        found = export_files(log, asked.machine, shared=not asked.as_it_came)
    write_case(found.case(), asked.folder)
    held = {
        "folder": str(asked.folder),
        "files": sorted(found.files),
        "lives_left_out": found.lives_left_out,
    }
    return Answer(held, [words.exported(asked.machine, asked.folder, found.lives_left_out)])


def do_lab(asked: Asked) -> Answer:
    from riskmodel.records.disk import read_file
    from riskmodel.records.log.lab_entries import LabColumns
    from riskmodel.records.log.laboratory import read_laboratory, write_batch

    columns = dict(pair("--column", text, "FIELD=HEADING") for text in asked.column)
    elements = dict(pair("--element", text, "METAL=HEADING") for text in asked.element)
    machines = dict(pair("--machine", text, "THEIRS=OURS") for text in asked.machine)
    today = day_of(asked.date)
    data = read_file(asked.file)
    with opened(asked) as log:
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

    with opened(asked) as log:
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
