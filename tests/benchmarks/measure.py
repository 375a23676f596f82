"""Processor time and memory of a piece of work, and where the time goes.

Processor time, not that of the clock: it hardly depends on what else the machine does. Ratios
within one run are what may be compared; seconds are those of one machine.
"""

from __future__ import annotations

import math
import os
import pickle
import resource
import signal
import sys
import time
import traceback
import tracemalloc
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

import numpy as np

PACKAGE = str(Path(__file__).parents[2] / "riskmodel") + os.sep


def timed(work: Callable[[], object], least: float = 0.5, times: int = 3) -> float:
    """Median seconds of processor time of one call, over at least `times` calls and `least` s."""
    work()
    spent: list[float] = []
    while len(spent) < times or (sum(spent) < least and len(spent) < 200):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    return float(np.median(spent))


def once(work: Callable[[], object]) -> float:
    """Seconds of processor time of one call, its ended processes included."""
    start = time.process_time() + _children()
    work()
    return time.process_time() + _children() - start


def _children() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


@dataclass(frozen=True, slots=True)
class Spent:
    """Processor time of one call [s], and the most memory that it held at a time [MB]."""

    seconds: float
    memory: float


def apart(work: Callable[[], object], least: float = 0.3, times: int = 3) -> Spent:
    """The same in a process of its own; one more call for the memory (that of Python and numpy,
    as `tracemalloc` counts it). A call that takes longer than `least` is timed once."""
    sys.stdout.flush()
    reads, writes = os.pipe()
    child = os.fork()
    if child == 0:
        status = 1
        try:
            first = once(work)
            seconds = first if first > least else timed(work, least, times)
            tracemalloc.start()
            work()
            peak = tracemalloc.get_traced_memory()[1]
            with os.fdopen(writes, "wb") as pipe:
                pickle.dump(Spent(seconds, peak / 2**20), pipe)
            status = 0
        except BaseException:  # noqa: BLE001 - told, and the process ends
            traceback.print_exc()
        finally:
            os._exit(status)
    os.close(writes)
    with os.fdopen(reads, "rb") as pipe:
        told = pipe.read()
    os.waitpid(child, 0)
    found = pickle.loads(told)
    assert isinstance(found, Spent)
    return found


def exponent(sizes: Sequence[float], values: Sequence[float]) -> float:
    """The power of the size with which a figure grows, over the larger half of the sizes."""
    some = len(sizes) // 2
    x = [math.log(s) for s in sizes[some:]]
    y = [math.log(max(v, 1e-9)) for v in values[some:]]
    return float(np.polyfit(x, y, 1)[0])


def where(work: Callable[[], object], calls: int, below: str) -> tuple[Counter[str], Counter[str]]:
    """Shares of the processor time by stage (what the function `below` calls) and by module.

    The stack is looked at every two milliseconds of processor time; what passed since the last
    look goes to the innermost function of the package.
    """
    stages: Counter[str] = Counter()
    modules: Counter[str] = Counter()
    last = [0.0]

    def look(_: int, frame: FrameType | None) -> None:
        now = time.process_time()
        passed, last[0] = now - last[0], now
        inner, stage = "", ""
        while frame is not None:
            code = frame.f_code
            if code.co_filename.startswith(PACKAGE):
                inner = inner or code.co_filename.removeprefix(PACKAGE)
                if code.co_name == below:
                    break
                stage = code.co_name
            frame = frame.f_back
        stages[stage or below] += passed  # type: ignore[assignment]
        modules[inner or "outside"] += passed  # type: ignore[assignment]

    work()
    before = signal.signal(signal.SIGPROF, look)
    last[0] = time.process_time()
    signal.setitimer(signal.ITIMER_PROF, 0.002, 0.002)
    try:
        for _ in range(calls):
            work()
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)
    return stages, modules


def shares(found: Counter[str], most: int) -> str:
    """The greatest shares of a count, as "forecast 31 %, ..."."""
    total = sum(found.values())
    told = [f"{name} {100 * spent / total:.0f} %" for name, spent in found.most_common(most)]
    return ", ".join(told)
