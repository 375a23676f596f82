"""Many machines in the order in which they want attention.

First those with symptoms (stop: nothing is weighed), then those with an overdue sample, each and
the rest by what waiting until their next service costs: the expected cost of the cheapest plan
that does not replace before it, less that of replacing now. Above 0 replacing now is cheaper. One
whose part its owner's limit has replaced before then stands before those that can wait.

Every machine is weighed by the quick form (`rank_quick`), selling it today included; a look or a
second sample first is left to the full form, and a machine where one may be worth it says so. The
first few can be weighed fully as well, and then name the verdict's own advice. Machines are taken
in chunks by a few processes, so that neither all cases nor all results but their `Standing` are
ever held at once.
"""

from __future__ import annotations

import datetime
import math
from collections import deque
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from itertools import islice
from multiprocessing import get_context
from pathlib import Path
from typing import Protocol

import numpy as np

from riskmodel.decision.rank_curves import without_own
from riskmodel.decision.rank_quick import Quick, quick
from riskmodel.decision.rank_shared import Shared
from riskmodel.decision.rank_standings import (
    Instead,
    Kind,
    Ranking,
    Standing,
    Unread,
    of_group,
    place_of,
    to_book,
    with_verdict,
)
from riskmodel.decision.results import Weighing
from riskmodel.decision.sale import sold_instead
from riskmodel.decision.weigh import HINT, recommended, weigh
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer, InputError
from riskmodel.records.files import read_case
from riskmodel.threads import one_thread

CHUNK = 64
"""Machines that one process takes at once."""
FEW = 48
"""So few are weighed in this process: starting others takes longer."""
Progress = Callable[[int, int], None]
"""Told how many machines are done, and of how many."""


class Source(Protocol):
    """Where a machine's case comes from. It travels to another process, so it is small."""

    @property
    def name(self) -> str:
        """What the machine is called where it comes from."""
        ...

    @property
    def overdue_days(self) -> int:
        """By how many days its longest overdue sample is late; 0: none is."""
        ...

    def load(self) -> tuple[Case, bool]:
        """The case, and whether its life records hold the part itself, in service today.

        Raises InputError or CannotAnswer.
        """
        ...


@dataclass(frozen=True, slots=True)
class CaseFolder:
    """A case in a folder of its own."""

    path: Path
    overdue_days: int = 0

    @property
    def name(self) -> str:
        return self.path.name

    def load(self) -> tuple[Case, bool]:
        return read_case(self.path), False


@dataclass(frozen=True, slots=True)
class GivenCase:
    """A case that was read already."""

    name: str
    case: Case
    overdue_days: int = 0

    def load(self) -> tuple[Case, bool]:
        return self.case, False


def case_folders(folder: Path) -> list[CaseFolder]:
    """Every folder below `folder` that holds a case.toml, by name; `folder` itself if it does.
    Hidden ones are passed by: an environment in `.venv` brings the examples along.

    Raises InputError where there is none.
    """
    from riskmodel.records.errors import Problem
    from riskmodel.records.files import CASE_FILE

    try:
        within = Path(folder)
        found = sorted(
            path.parent
            for path in within.rglob(CASE_FILE)
            if not any(part.startswith(".") for part in path.relative_to(within).parts)
        )
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        raise InputError([Problem(str(folder), "", reason, "a folder of cases")]) from None
    if not found:
        what = "no case" if Path(folder).is_dir() else "no such folder"
        expected = f"a folder with cases in it, each with its {CASE_FILE}"
        raise InputError([Problem(str(folder), "", what, expected)])
    return [CaseFolder(path) for path in found]


@dataclass(slots=True)
class _Work:
    """What a process keeps from chunk to chunk."""

    shared: Shared = field(default_factory=Shared)


_WORK = _Work()


def rank(
    sources: Sequence[Source],
    *,
    today: datetime.date | None = None,
    full: int | Collection[str] = 0,
    workers: int = 2,
    progress: Progress | None = None,
    begin: tuple[Callable[..., None], tuple[object, ...]] | None = None,
) -> Ranking:
    """Rank the machines.

    `today` is the day that due dates count from (left out: the day that each case calls today).
    `full` machines at the top, or those whose sources have these names, are weighed fully as well;
    they share the same places among themselves. `begin` is a function, with its arguments, called
    once in each process before its first chunk. `workers` 1 stays in this process; a script that
    asks for more must be importable (`if __name__ == "__main__"`).
    """
    total = len(sources)
    with _Pool(workers if total > FEW else 1, begin) as pool:
        found: list[Standing | Unread] = []
        places: dict[int, Source] = {}
        for chunk, standings in pool.each(_stand_all, _chunks(sources), today):
            for source, standing in zip(chunk, standings, strict=True):
                places[id(standing)] = source
                found.append(standing)
            if progress is not None:
                progress(len(found), total)
        ranked = sorted((s for s in found if isinstance(s, Standing)), key=place_of)
        asked = range(len(ranked))[:full] if isinstance(full, int) else _named(ranked, full)
        first = [ranked[i] for i in asked if not ranked[i].symptoms]
        ones = [[places[id(standing)]] for standing in first]
        exact: dict[int, Standing] = {}
        for standing, (_, weighed) in zip(first, pool.each(_weigh_all, ones, today), strict=True):
            if isinstance(weighed[0], Standing):
                exact[id(standing)] = weighed[0]
    told = sorted((exact.get(id(ranked[i]), ranked[i]) for i in asked), key=place_of)
    for i, standing in zip(asked, told, strict=True):
        ranked[i] = standing
    return Ranking(tuple(ranked), tuple(u for u in found if isinstance(u, Unread)))


def _named(ranked: Sequence[Standing], names: Collection[str]) -> list[int]:
    """The places of those with these names."""
    return [i for i, standing in enumerate(ranked) if standing.name in names]


def _stand_all(sources: Sequence[Source], today: datetime.date | None) -> list[Standing | Unread]:
    """The standing of each by the quick form."""
    found: list[Standing | Unread | None] = [None] * len(sources)
    cases, counted, places = [], [], []
    for i, source in enumerate(sources):
        try:
            case, known = source.load()
        except (InputError, CannotAnswer) as fault:
            found[i] = _unread(source, fault)
            continue
        if case.machine.symptoms:
            found[i] = _plain(source, case)
            continue
        cases.append(case)
        counted.append(known)
        places.append(i)
    for i, case, told in zip(places, cases, quick(cases, counted, _WORK.shared), strict=True):
        source = sources[i]
        found[i] = (
            _unread(source, told)
            if isinstance(told, CannotAnswer)
            else _of_quick(_plain(source, case), case, told, today)
        )
    return [each for each in found if each is not None]


def _of_quick(plain: Standing, case: Case, told: Quick, today: datetime.date | None) -> Standing:
    best = recommended(case, told.at, told.cost, told.failure)
    cost, failure = float(told.cost[best]), float(told.failure[best])
    sells = told.sale is not None and sold_instead(told.sale, cost, failure, case.plan.most_risk)
    instead = Instead("sale", 0.0, told.sale) if sells and told.sale is not None else None
    told_of = replace(
        plain,
        until=told.until,
        chance=told.chance,
        without_oil=None if told.oil_factor is None else told.without_oil,
        oil_factor=told.oil_factor,
        selling=told.sale,
        unweighed=_unweighed(case, told),
    )
    return with_verdict(told_of, case, told.at, told.cost, told.failure, best, today, instead)


def _unweighed(case: Case, told: Quick) -> tuple[Kind, ...]:
    """What the quick form leaves out and may be worth it: a look that is offered, and after a hint
    in the samples a second one whose result is there before the next service."""
    found: list[Kind] = [] if case.inspection.cost is None else ["inspection"]
    hint = told.oil_factor is not None and told.oil_factor >= HINT
    if hint and case.sampled and case.oil.retest_in + case.oil.turnaround < told.until:
        found.append("retest")
    return tuple(found)


def _weigh_all(sources: Sequence[Source], today: datetime.date | None) -> list[Standing | Unread]:
    """The standing of each, weighed fully: the same case as on the machine's own page."""
    found: list[Standing | Unread] = []
    for source in sources:
        try:
            case, counted = source.load()
            told = weigh(without_own(case) if counted else case)
        except (InputError, CannotAnswer) as fault:
            found.append(_unread(source, fault))
            continue
        plain, risk = _plain(source, case), told.risk[0]
        if told.recommended is None:
            found.append(plain)
            continue
        standing = replace(
            plain,
            until=float(told.services[0]) if len(told.services) else told.keep,
            chance=risk.chance,
            without_oil=None if risk.without_oil is None else risk.without_oil.value,
            oil_factor=risk.oil_factor,
            selling=None
            if told.sale is None or told.sale.plan is None
            else told.sale.plan.cost.value,
            full=True,
        )
        at = np.array([math.inf if plan.at is None else plan.at for plan in told.plans])
        cost = np.array([plan.cost.value for plan in told.plans])
        failure = np.array([plan.failure.value for plan in told.plans])
        best, instead = told.recommended, _instead(told)
        found.append(with_verdict(standing, case, at, cost, failure, best, today, instead))
    return found


def _instead(told: Weighing) -> Instead | None:
    """What the verdict names in place of the plan recommended."""
    if told.sells and told.sale is not None and told.sale.plan is not None:
        return Instead("sale", 0.0, told.sale.plan.cost.value)
    look = None if told.information is None else told.information.inspection
    if told.first_step == "retest" and told.retest is not None:
        return Instead("retest", told.retest.at, told.retest.cost.value)
    if told.first_step == "inspection" and look is not None:
        return Instead("inspection", 0.0, look.cost.value)
    return None


def _plain(source: Source, case: Case) -> Standing:
    """What is known of a machine before it is weighed."""
    return Standing(
        name=source.name,
        machine=case.machine.name,
        code=case.part.code,
        unit=case.machine.unit,
        currency=case.cost.currency,
        invented=case.machine.invented,
        age=case.age,
        symptoms=case.machine.symptoms,
        overdue_days=source.overdue_days,
    )


def _unread(source: Source, fault: InputError | CannotAnswer) -> Unread:
    if isinstance(fault, InputError):
        return Unread(source.name, tuple(str(problem) for problem in fault.problems))
    return Unread(source.name, (str(fault),))


def _chunks(sources: Sequence[Source]) -> Iterator[list[Source]]:
    rest = iter(sources)
    while chunk := list(islice(rest, CHUNK)):
        yield chunk


Call = Callable[[Sequence[Source], datetime.date | None], list[Standing | Unread]]


class _Pool:
    """A few processes, or none: `each` gives the results of chunks in their order, with no more
    than a few chunks under way."""

    def __init__(
        self, workers: int, begin: tuple[Callable[..., None], tuple[object, ...]] | None
    ) -> None:
        self._workers, self._begin = workers, begin
        self._pool: ProcessPoolExecutor | None = None

    def __enter__(self) -> _Pool:
        if self._workers > 1:
            self._pool = ProcessPoolExecutor(
                self._workers, get_context("spawn"), _start, (self._begin,)
            )
        else:
            _WORK.shared = Shared()
            if self._begin is not None:
                self._begin[0](*self._begin[1])
        return self

    def __exit__(self, *_: object) -> None:
        _WORK.shared = Shared()
        if self._pool is not None:
            self._pool.shutdown(cancel_futures=True)

    def each(
        self, call: Call, chunks: Iterable[list[Source]], today: datetime.date | None
    ) -> Iterator[tuple[list[Source], list[Standing | Unread]]]:
        if self._pool is None:
            for chunk in chunks:
                yield chunk, call(chunk, today)
            return
        under_way: deque[tuple[list[Source], Future[list[Standing | Unread]]]] = deque()
        for chunk in chunks:
            under_way.append((chunk, self._pool.submit(call, chunk, today)))
            if len(under_way) > 2 * self._workers:
                first, result = under_way.popleft()
                yield first, result.result()
        while under_way:
            first, result = under_way.popleft()
            yield first, result.result()


def _start(begin: tuple[Callable[..., None], tuple[object, ...]] | None) -> None:
    """A process begins: linear algebra on one thread, and what its sources need."""
    one_thread()
    if begin is not None:
        begin[0](*begin[1])


__all__ = [
    "FEW",
    "CaseFolder",
    "GivenCase",
    "Progress",
    "Ranking",
    "Source",
    "Standing",
    "Unread",
    "case_folders",
    "of_group",
    "place_of",
    "rank",
    "to_book",
]
