"""Ranking of many machines against weighing them one by one.

    python -m tests.benchmarks.rank_speed [MACHINES]

Prints seconds and ratios of one run on one machine: the ratios, of processor time, are what may
be compared.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from pathlib import Path

from riskmodel.decision.rank import GivenCase, case_folders, rank
from riskmodel.decision.weigh import weigh
from riskmodel.records.files import write_case
from riskmodel.threads import one_thread
from tests.decision.many_machines import machines

SAMPLES = 10
ONE_BY_ONE = 20
IN_FOLDERS = 1_000


def main(count: int = 10_000) -> None:
    one_thread()
    cases = machines(count, samples=SAMPLES)
    sources = [GivenCase(case.machine.name, case) for case in cases]
    shown = [0]

    def progress(done: int, total: int) -> None:
        shown[0] += 1

    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    before = used.ru_utime + used.ru_stime
    start = time.perf_counter()
    ranking = rank(sources, workers=2, progress=progress)
    together = time.perf_counter() - start
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = used.ru_utime + used.ru_stime - before
    most = used.ru_maxrss / 1024
    print(f"{count} machines, {SAMPLES} samples each, two processes")
    print(f"  ranked                    {together:8.2f} s, told of progress {shown[0]} times")
    print(f"  processor time            {spent:8.2f} s, {1e3 * spent / count:.2f} ms each")
    print(f"  memory of one process     {most:8.0f} MB at most")
    print(f"  not weighed               {len(ranking.unread):8d}")
    start = time.process_time()
    for case in cases[:ONE_BY_ONE]:
        weigh(case)
    alone = (time.process_time() - start) / ONE_BY_ONE
    print(f"  weighed one by one, each  {1e3 * alone:8.2f} ms, {count * alone:.0f} s for all")
    print(f"  ratio of processor time   {count * alone / spent:8.0f}")
    few = min(IN_FOLDERS, count)
    with tempfile.TemporaryDirectory() as folder:
        for number, case in enumerate(cases[:few]):
            write_case(case, Path(folder) / f"machine-{number}")
        start = time.perf_counter()
        rank(case_folders(Path(folder)), workers=2)
        print(f"  {few} out of folders, each {1e3 * (time.perf_counter() - start) / few:8.2f} ms")


if __name__ == "__main__":
    main(*(int(each) for each in sys.argv[1:]))
