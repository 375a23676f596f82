"""What a log says at present, as CSV files for reading on."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from riskmodel.records.csv_text import written
from riskmodel.records.errors import plain
from riskmodel.records.log.lives import records_csv
from riskmodel.records.log.state import Held, LogState, groups_of
from riskmodel.records.scalars import FORMULA_STARTS

RUN = (*FORMULA_STARTS, *"＝＋－＠")
"""What a spreadsheet may run, behind blanks and tabs too, and in the wide forms of some scripts."""


def sheets(state: LogState) -> dict[str, bytes]:
    """The CSV files by name: machines, parts, readings, oil changes, samples, jobs, findings,
    quotes, decisions, and for each group its life records (without names)."""
    machines = state.machines.values()
    found = {
        "machines.csv": _sheet(
            "machine,name,unit,part_code,lining,reading,date,in_service",
            (
                (m.id, m.name, m.unit, m.parts[-1].code, m.parts[-1].lining, m.reading, m.date,
                 m.in_service)
                for m in machines
            ),
        ),
        "parts.csv": _sheet(
            "machine,part,part_code,lining,fitted_at,entered_at,ended_at,worst_look",
            (
                (m.id, p.name, p.code, p.lining, p.fitted_at, p.entered_at,
                 None if p.ended is None else p.ended.job.what.reading,
                 None if p.ended is None else p.ended.worst)
                for m in machines
                for p in m.parts
            ),
        ),
        "readings.csv": _sheet(
            "machine,reading,date,what,entry",
            ((m.id, k.reading, k.date, k.entry.kind, k.entry.seq) for m in machines
             for k in m.marks),
        ),
        "oil_changes.csv": _sheet(
            "machine,reading,date,note",
            ((m.id, h.what.reading, h.what.date, h.what.note) for m in machines
             for h in m.oil_changes),
        ),
        "samples.csv": _samples(state),
        "jobs.csv": _sheet(
            "machine,job,reading,date,replaced,failed,cause,why,worst_look,price,note",
            (
                (m.id, j.uuid, j.job.what.reading, j.job.what.date, j.job.what.replaced,
                 j.job.what.failed, j.job.what.cause, j.job.what.why, j.worst, j.job.what.price,
                 j.job.what.note)
                for m in machines
                for j in m.jobs
            ),
        ),
        "findings.csv": _sheet(
            "machine,job,position,look,clearance_mm,note,photo",
            (
                (m.id, f.what.job, f.what.position, f.what.look, f.what.clearance, f.what.note,
                 f.what.photo)
                for m in machines
                for j in m.jobs
                for f in j.findings
            ),
        ),
        "quotes.csv": _sheet(
            "machine,date,by,until,price,low,high,note",
            (
                (m.id, q.what.date, q.what.by, q.what.until, name, *_ends(price), q.what.note)
                for m in machines
                for q in m.quotes
                for name, price in q.what.prices.items()
            ),
        ),
        "decisions.csv": _sheet(
            "machine,date,reading,advised,advised_at,chosen,chosen_at,declined,by,program,note",
            ((m.id, *_decision(d)) for m in machines for d in m.decisions),
        ),
    }  # fmt: skip
    groups = {group for machine in machines for group in groups_of(machine)} | set(state.records)
    order = sorted(groups, key=lambda g: (g.code, g.lining, g.unit, g.invented))
    for number, group in enumerate(order, start=1):
        if (data := records_csv(state, group)) is not None:
            code = re.sub(r"[^A-Za-z0-9]+", "-", group.code).strip("-")[:40]
            found[f"life-records-{number}-{code}.csv"] = data
    return found


def _decision(held: Held) -> tuple[object, ...]:  # type: ignore[type-arg]
    d = held.what
    return (d.date, d.reading, d.advised, d.advised_at, d.chosen, d.chosen_at, d.declined, d.by,
            held.entry.program, d.note)  # fmt: skip


def _ends(price: object) -> tuple[object, object]:
    return (price[0], price[1]) if isinstance(price, list | tuple) else (price, price)


def _samples(state: LogState) -> bytes:
    held = [(machine, sample) for machine in state.machines.values() for sample in machine.samples]
    symbols = list(dict.fromkeys(symbol for _, sample in held for symbol in sample.elements))
    rows = []
    for machine, sample in held:
        taken = sample.taken.what
        steps = (sample.sent, sample.back, sample.told)
        days = [None if step is None else step.what.date for step in steps]
        printed = [sample.elements.get(symbol) for symbol in symbols]
        values = [None if r is None else ("<" if r.below else "") + plain(r.value) for r in printed]
        rows.append(
            (machine.id, taken.bottle, taken.reading, taken.age, taken.oil_age, taken.top_up,
             sample.lab, sample.stage, taken.date, *days, *values)
        )  # fmt: skip
    header = "machine,bottle,reading,age,oil_age,top_up,lab,state,taken,sent,back,told"
    return _sheet(",".join([header, *symbols]), rows)


def _sheet(header: str, rows: Iterable[Sequence[object]]) -> bytes:
    return written(header.split(","), [[_cell(value) for value in row] for row in rows])


def _cell(value: object) -> str:
    """A cell; a text that a spreadsheet would run as a formula is marked as text."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return plain(value)
    text = str(value)
    return f"'{text}" if text.lstrip().startswith(RUN) else text
