"""What stands in the widgets of the short forms, as an entry of the log."""

from __future__ import annotations

import datetime
import math
from typing import cast

import streamlit as st

from riskmodel.decision.results import Weighing
from riskmodel.page import log_file, state
from riskmodel.page.answer import grounds_of
from riskmodel.records.errors import InputError, Problem
from riskmodel.records.log.bridge import decision_inputs
from riskmodel.records.log.entries import (
    Decision,
    Finding,
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
from riskmodel.records.log.state import MachineState
from riskmodel.records.scalars import UnreadableError, read_number
from riskmodel.records.tables import Reading
from riskmodel.words import log_page
from riskmodel.words import log_page_forms as words
from riskmodel.words.plan_names import Advice, advice, plan_name, replaces_at

COUNT = "log.count"
"""How often each form was entered: its widgets are then new."""


def key(machine: str, kind: str, name: str) -> str:
    """A widget of a form, new once the form was entered."""
    return f"log.{machine}.{kind}.{name}#{st.session_state.get(f'{COUNT}.{kind}', 0)}"


def symbols_of(machine: MachineState) -> list[str]:
    """The elements that a machine's case declares."""
    return [str(row["symbol"]) for row in machine.contents.get("oil", {}).get("element", [])]


class Form:
    """What stands in the widgets of one form."""

    def __init__(self, machine: str, kind: str) -> None:
        self.machine, self.kind = machine, kind

    def _value(self, name: str) -> object:
        return st.session_state.get(key(self.machine, self.kind, name))

    def text(self, name: str) -> str:
        return str(self._value(name) or "").strip()

    def number(self, name: str) -> float | None:
        return cast("float | None", self._value(name))

    def needed(self, name: str) -> float:
        value = self.number(name)
        if value is None:
            title = words.FORMS[self.kind]
            raise InputError([Problem(title, name, log_page.NOTHING, log_page.A_NUMBER)])
        return value

    def day(self, name: str = "date") -> str | None:
        value = self._value(name)
        return value.isoformat() if isinstance(value, datetime.date) else None

    def date(self) -> str:
        value = self.day()
        if value is None:
            title = words.FORMS[self.kind]
            raise InputError([Problem(title, "date", log_page.NOTHING, log_page.A_DATE)])
        return value

    def payload(self, w: Weighing | None) -> Payload:
        """The entry. Raises InputError."""
        match self.kind:
            case "reading":
                return MeterReading(self.needed("reading"), self.date(), self.text("note"))
            case "oil":
                return OilChange(self.needed("reading"), self.date(), self.text("note"))
            case "retired":
                return MachineRetired(self.needed("reading"), self.date(), self.text("note"))
            case "taken":
                return self._taken()
            case "sent":
                return SampleSent(self.text("sample"), self.date(), self.text("lab"))
            case "told":
                return SampleTold(self.text("sample"), self.date(), self.text("note"))
            case "back":
                return SampleBack(self.text("sample"), self.date(), self._elements())
            case "quote":
                return self._quote()
            case "job":
                return self._job()
            case "finding":
                return self._finding()
        assert self.kind == "decision"
        assert w is not None
        return self._decision(w)

    def _taken(self) -> SampleTaken:
        return SampleTaken(
            oil_age=self.needed("oil_age"),
            reading=self.needed("reading"),
            date=self.date(),
            top_up=self.number("top_up") or 0.0,
            lab=self.text("lab"),
            bottle=self.text("bottle"),
            drained=bool(self._value("drained")),
            note=self.text("note"),
        )

    def _elements(self) -> dict[str, Reading]:
        """The results as the laboratory printed them. Raises InputError."""
        found, problems = {}, []
        log = log_file.made()
        for symbol in symbols_of(log.machine(self.machine)):
            text = self.text(f"element.{symbol}")
            if not text:
                continue
            below = text.startswith("<")
            try:
                found[symbol] = Reading(read_number(text.removeprefix("<").strip()), below)
            except UnreadableError:
                title = words.FORMS[self.kind]
                problems.append(Problem(title, symbol, f"“{text}”", words.NOT_A_NUMBER))
        if problems:
            raise InputError(problems)
        return found

    def _quote(self) -> Quote:
        ends = [end for end in (self.number("low"), self.number("high")) if end is not None]
        if not ends:
            self.needed("low")
        price = ends[0] if len(set(ends)) == 1 else ends
        return Quote(
            date=self.date(),
            prices={self.text("price"): price},
            by=self.text("by"),
            until=self.day("until"),
            note=self.text("note"),
        )

    def _job(self) -> Job:
        done = self.text("done")
        failed = done in ("failed", "failed_replaced")
        replaced = done in ("replaced", "failed_replaced", "fitted")
        return Job(
            reading=self.needed("reading"),
            date=self.date(),
            replaced=replaced,
            failed=failed,
            why="suspected" if self.text("why") == "suspected" else "scheduled",
            cause=self.text("cause") if failed else "wear",  # type: ignore[arg-type]
            whole_at=self.number("whole_at"),
            new_code=self.text("new_code") or None,
            new_lining=self.text("new_lining") or None,
            oil_changed=done == "looked_oil",
            symptoms=tuple(cast("list[str]", self._value("symptoms") or [])),
            price=self.number("price"),
            note=self.text("note"),
        )

    def _finding(self) -> Finding:
        return Finding(
            job=self.text("job"),
            position=self.text("position"),
            look=self.text("look"),  # type: ignore[arg-type]
            clearance=self.number("clearance"),
            note=self.text("note"),
            photo=self.text("photo"),
        )

    def _decision(self, w: Weighing) -> Decision:
        """The answer word for word, with the case it was given on."""
        advised, chosen = advice(w), self.text("chosen")
        made = None
        if chosen == words.FIRST:
            made = advised
        elif chosen:
            plan = int(chosen)
            made = Advice(plan_name(w, plan), replaces_at(w, plan))
        return Decision(
            date=self.date(),
            reading=w.case.machine.reading,
            advised="" if advised is None else advised.name,
            advised_at=None if advised is None else advised.at,
            shown=words.shown(w),
            inputs=decision_inputs(w.case),
            chosen="" if made is None else made.name,
            chosen_at=None if made is None else made.at,
            declined=bool(self._value("declined")),
            by=self.text("by") or state.author(),
            said=tuple(_said(w).values()),
            worn_told=grounds_of(w.case).worn_today,
            note=self.text("note"),
        )


def _said(w: Weighing) -> dict[float, Said]:
    """Each chance that was told, by the usage ahead: told twice, it counts once."""
    return {
        told.ahead: Said(told.ahead, told.chance.value, told.chance.low, told.chance.high)
        for told in w.risk
        if told.ahead > 0 and math.isfinite(told.ahead)
    }
