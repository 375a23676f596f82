"""What the sub-verbs of `riskmodel log` do that add an entry about one machine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from riskmodel.cli_log_typed import (
    Answer,
    Asked,
    added,
    day,
    number,
    opened,
    pair,
    results_typed,
    stated,
    written,
)
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
    Quote,
    Said,
    SampleBack,
    SampleSent,
    SampleTaken,
    SampleTold,
)
from riskmodel.records.log.rows import New, Written, new_uuid
from riskmodel.records.log.state import MachineState, SampleState
from riskmodel.words import log as words


def do_reading(asked: Asked) -> Answer:
    return added(asked, MeterReading(asked.reading, day(asked), asked.note))


def do_oil(asked: Asked) -> Answer:
    return added(asked, OilChange(asked.reading, day(asked), asked.note))


def do_retire(asked: Asked) -> Answer:
    return added(asked, MachineRetired(asked.reading, day(asked), asked.note))


def do_sample(asked: Asked) -> Answer:
    results = results_typed(asked.results)
    with opened(asked) as log:
        machine = log.machine(asked.machine)
        sample = SampleTaken(
            oil_age=asked.oil_age,
            reading=machine.reading if asked.at is None else asked.at,
            date=day(asked),
            top_up=asked.top_up,
            lab=asked.lab,
            bottle=asked.bottle,
            drained=asked.drained,
            elements=results,
            note=asked.note,
        )
        return written(log.add(sample, author=asked.author, machine=asked.machine))


def do_sent(asked: Asked) -> Answer:
    with opened(asked) as log:
        sample = _sample(log.machine(asked.machine), asked.bottle, ("taken",))
        step = SampleSent(sample.uuid, day(asked), asked.lab)
        return written(log.add(step, author=asked.author, machine=asked.machine))


def do_back(asked: Asked) -> Answer:
    results = results_typed(asked.results)
    with opened(asked) as log:
        sample = _sample(log.machine(asked.machine), asked.bottle, ("taken", "sent"))
        step = SampleBack(sample.uuid, day(asked), results)
        return written(log.add(step, author=asked.author, machine=asked.machine))


def do_told(asked: Asked) -> Answer:
    with opened(asked) as log:
        sample = _sample(log.machine(asked.machine), asked.bottle, ("back",))
        step = SampleTold(sample.uuid, day(asked), asked.note)
        return written(log.add(step, author=asked.author, machine=asked.machine))


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
        shell, look = pair("--found", text, "SHELL=LOOK")
        if look not in LOOKS:
            raise CannotAnswer(f"--found: found {shown(look)}, expected {', '.join(LOOKS)}")
        looks.append((shell, look))
    job = Job(
        reading=asked.reading,
        date=day(asked),
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
    with opened(asked) as log:
        done = log.add_all(new, author=asked.author)
    answer = written(done)
    lines = [line for entry in done.entries for line in words.written(Written((entry,)))]
    return Answer(answer.held, [*lines, *done.warnings])


def do_quote(asked: Asked) -> Answer:
    prices: dict[str, Any] = {}
    for text in asked.prices:
        name, amount = pair("quote", text, "PRICE=AMOUNT")
        ends = [number(f"quote, {name}", part) for part in amount.split("..")]
        prices[name] = ends[0] if len(ends) == 1 else ends
    quote = Quote(day(asked), prices, asked.by, asked.until, asked.note)
    return added(asked, quote)


def do_set(asked: Asked) -> Answer:
    changes: dict[str, Any] = {}
    for text in asked.changes:
        key, value = pair("set", text, "KEY=VALUE", empty=True)
        changes[key] = stated(value)
    return added(asked, InputsChanged(changes, asked.note))


def do_decide(asked: Asked) -> Answer:
    import math

    from riskmodel import words as all_words
    from riskmodel.decision.prepared import grounds
    from riskmodel.decision.weigh import weigh
    from riskmodel.records.log.bridge import decision_inputs, export_case
    from riskmodel.words.plan_names import advice

    chosen_at: float | None = None
    if asked.chosen == "now":
        chosen_at = 0.0
    elif asked.chosen not in ("", "never"):
        chosen_at = number("--chosen", asked.chosen)
    with opened(asked) as log:
        seen = log.machine(asked.machine)
        case = export_case(log, asked.machine)
        weighing = weigh(case)
        advised, found = advice(weighing), grounds(case)
        if advised is None:
            raise CannotAnswer(all_words.stop_heading(case))
        verdict = [all_words.verdict(weighing), *all_words.chance_sentences(weighing)]
        said = {
            c.ahead: Said(c.ahead, c.chance.value, c.chance.low, c.chance.high)
            for c in weighing.risk
            if c.ahead > 0 and math.isfinite(c.ahead)
        }
        decision = Decision(
            date=day(asked),
            reading=case.machine.reading,
            advised=advised.name,
            advised_at=advised.at,
            shown="\n".join(verdict) + "\n",
            inputs=decision_inputs(case),
            chosen=asked.chosen,
            chosen_at=chosen_at,
            declined=asked.declined,
            by=asked.author,
            said=tuple(said.values()),
            note=asked.note,
            worn_told=found.worn_today,
        )
        done = log.add(decision, author=asked.author, machine=asked.machine, based_on=seen.last)
    answer = written(done)
    held = {**answer.held, "advised": decision.advised, "advised_at": decision.advised_at,
            "said": [asdict(each) for each in decision.said],
            "worn_told": decision.worn_told}  # fmt: skip
    return Answer(held, [*verdict, "", *answer.lines])
