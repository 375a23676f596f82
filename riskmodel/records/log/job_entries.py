"""Entries about work on a part, its prices, and what was decided."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, Literal

from riskmodel.records.errors import plain, shown
from riskmodel.records.log.payload import LONGEST_NOTE, Faults, Payload, day, number, text
from riskmodel.records.tables import Cause, Why

Look = Literal["not_seen", "unworn", "worn", "failed"]
LOOKS: tuple[Look, ...] = ("not_seen", "unworn", "worn", "failed")
"""How a shell looked, from the least to the worst that can be said of it."""

PRICES = ("planned", "urgent", "failure", "found_worn", "investigation", "sample", "oil_change")
"""The prices of a case (under `cost`) that a quote may state."""


@dataclass(frozen=True, slots=True)
class Job(Payload):
    """Work on the part.

    | failed | replaced | what it was |
    | --- | --- | --- |
    | no | yes | the part was taken out in service and another fitted |
    | yes | yes | it failed and was put right with another |
    | yes | no | it failed and nothing was fitted |
    | no | no | a look without replacing, or other work |

    `why` says what led to a replacement, `cause` what a failure came from; a failure known
    only to lie between two readings has the earlier one in `whole_at`. The part fitted has
    `new_code` and `new_lining` (None: as the one before). A replacement brings fresh oil.
    `symptoms` are those that are still there afterwards. `price` is what was paid.
    """

    kind: ClassVar[str] = "job"
    title: ClassVar[str] = "job"
    reading: float
    date: str
    replaced: bool
    failed: bool = False
    why: Why = "scheduled"
    cause: Cause = "wear"
    whole_at: float | None = None
    new_code: str | None = None
    new_lining: str | None = None
    oil_changed: bool = False
    symptoms: tuple[str, ...] = ()
    price: float | None = None
    note: str = ""

    def _faults(self) -> Faults:
        yield from number("reading", self.reading)
        yield from day("date", self.date)
        yield from number("whole_at", self.whole_at)
        yield from number("price", self.price)
        if self.whole_at is not None and not self.failed:
            yield "whole_at", plain(self.whole_at), "nothing: only a failure has it"
        elif self.whole_at is not None and self.whole_at >= self.reading:
            yield "whole_at", plain(self.whole_at), f"less than the reading, {plain(self.reading)}"
        for name in ("new_code", "new_lining"):
            value = getattr(self, name)
            if value is not None:
                yield from text(name, value)
                if not self.replaced:
                    yield name, shown(value), "nothing: no part was fitted"
        yield from text("note", self.note, LONGEST_NOTE)


@dataclass(frozen=True, slots=True)
class Finding(Payload):
    """How one shell looked at a job (by the uuid of its `Job`).

    `position` is which shell ("rod 2, upper"), `clearance` in mm, `photo` the path of a
    picture. The worst look over all shells sets what the part's life record says.
    """

    kind: ClassVar[str] = "finding"
    title: ClassVar[str] = "finding"
    job: str
    position: str
    look: Look
    clearance: float | None = None
    note: str = ""
    photo: str = ""

    @property
    def gist(self) -> str:
        return f"{self.position}: {self.look}"

    def _faults(self) -> Faults:
        if not self.position.strip():
            yield "position", "nothing", "which shell it is"
        yield from text("position", self.position)
        yield from number("clearance", self.clearance)
        yield from text("note", self.note, LONGEST_NOTE)
        yield from text("photo", self.photo, 1000)


@dataclass(frozen=True, slots=True)
class Quote(Payload):
    """Prices somebody offered, as case.toml would state them: {"planned": [2200, 2600]}.

    The latest by date counts for each price; `by` is who offered, `until` how long it holds.
    """

    kind: ClassVar[str] = "quote"
    title: ClassVar[str] = "quote"
    date: str
    prices: Mapping[str, Any]
    by: str = ""
    until: str | None = None
    note: str = ""

    @property
    def gist(self) -> str:
        return ", ".join(self.prices)

    def _faults(self) -> Faults:
        yield from day("date", self.date)
        yield from day("until", self.until)
        if not self.prices:
            yield "prices", "nothing", "at least one price"
        for name in self.prices:
            if name not in PRICES:
                yield "prices", f"the unknown price {shown(name)}", ", ".join(PRICES)
        yield from text("by", self.by)
        yield from text("note", self.note, LONGEST_NOTE)


@dataclass(frozen=True, slots=True)
class Said:
    """A stated chance of a failure within `ahead` of usage, with its 90 % interval."""

    ahead: float
    probability: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Decision(Payload):
    """What was advised, and what was made of it.

    `advised` and `chosen` name a plan, `advised_at` and `chosen_at` its usage from now (0:
    now; None: never, or no plan). `declined` says that the advice was heard and not taken.
    `inputs` are the files of the case as they were, by name; `shown` is the answer word for
    word, which is what is printed again. `said` are the chances that were told, to be held
    against what comes (`reading` is the meter then).
    `worn_told` is the chance that it shows visible distress if it is looked at (None: not told).
    """

    kind: ClassVar[str] = "decision"
    title: ClassVar[str] = "decision"
    date: str
    reading: float
    advised: str
    shown: str
    inputs: Mapping[str, str]
    advised_at: float | None = None
    chosen: str = ""
    chosen_at: float | None = None
    declined: bool = False
    by: str = ""
    said: tuple[Said, ...] = ()
    note: str = ""
    worn_told: float | None = None

    def _faults(self) -> Faults:
        yield from day("date", self.date)
        yield from number("reading", self.reading)
        yield from number("advised_at", self.advised_at)
        yield from number("chosen_at", self.chosen_at)
        yield from number("worn_told", self.worn_told, high=1.0)
        for said in self.said:
            yield from number("said", said.ahead, above=0.0)
            for share in (said.low, said.probability, said.high):
                yield from number("said", share, high=1.0)
        for name in ("advised", "chosen", "by"):
            yield from text(name, getattr(self, name))
        yield from text("note", self.note, LONGEST_NOTE)
