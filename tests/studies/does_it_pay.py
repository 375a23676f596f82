"""Does following the tool pay? Simulated owners with drawn truths and noisy knowledge.

    python -m tests.studies.does_it_pay plain --owners 5000 --records 150 --records 30
    python -m tests.studies.does_it_pay sampled --owners 500 --records 150 --world half-lead
    python -m tests.studies.does_it_pay forms
    python -m tests.studies.does_it_pay refitted
    python -m tests.studies.does_it_pay choice
    python -m tests.studies.does_it_pay tables

Each owner has a true life curve from the prior that the tool is given too, records of so many
parts in the way of a club (`owners_club.py`), an engine and prices of its own (`owners.py`), and is
followed to keep-until under every rule with the same luck (`owners_life.py`, `owners_oil.py`:
written from the model's text). The tool is asked by its own code, again at every oil change
(`owners_verdict.py`).

`plain` is without oil samples, `sampled` with one at every oil change; `forms` compares the forms
of the verdict used here with the whole `weigh`; `refitted` asks again for newly fitted parts;
`choice` samples only where the tool's figures say that it saves; `tables` prints what is there as
Markdown. Results are kept in --folder in pieces of 50 owners: a run that was broken off goes on
where it was. Seeds are fixed.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Callable, Sequence
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from tempfile import gettempdir

from riskmodel.threads import one_thread
from tests.studies.does_it_pay_choice import choice
from tests.studies.does_it_pay_forms import compare
from tests.studies.does_it_pay_plain import Row, plain
from tests.studies.does_it_pay_refitted import compare as compare_refitted
from tests.studies.does_it_pay_sampled import sampled
from tests.studies.does_it_pay_tables import tables
from tests.studies.owners import MISFITS, Misfit

PIECE = 50
One = Callable[[int, Misfit, int], tuple[float, Row]]
KINDS: dict[str, One] = {"plain": plain, "sampled": sampled}


def piece(folder: Path, kind: str, worlds: Sequence[str], parts: int, first: int) -> str:
    """Work out owners `first` to `first` + PIECE in the worlds where that is not done yet."""
    paths = {w: folder / f"{kind}_{w}_{parts}_{first:05d}.json" for w in worlds}
    todo = {world: path for world, path in paths.items() if not path.exists()}
    owners: dict[str, list[tuple[int, float, Row]]] = {world: [] for world in todo}
    spent = dict.fromkeys(todo, 0.0)
    for number in range(first, first + PIECE):
        for world in todo:  # innermost: worlds that share records share what is learned from them
            start = time.process_time()
            owners[world].append((number, *KINDS[kind](number, MISFITS[world], parts)))
            spent[world] += time.process_time() - start
    for world, path in todo.items():
        half = path.with_suffix(".half")
        half.write_text(json.dumps({"seconds": spent[world], "owners": owners[world]}))
        half.replace(path)
    return f"{kind}, {parts} records, owners {first} to {first + PIECE - 1}: {', '.join(todo)}"


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("what", choices=[*KINDS, "forms", "refitted", "choice", "tables"])
    parser.add_argument("--owners", type=int, default=500)
    parser.add_argument("--records", type=int, action="append")
    parser.add_argument("--world", action="append", choices=list(MISFITS))
    parser.add_argument("--folder", type=Path, default=Path(gettempdir()) / "does_it_pay")
    parser.add_argument("--workers", type=int, default=1)
    options = parser.parse_args()
    one_thread()
    options.folder.mkdir(parents=True, exist_ok=True)
    if options.what == "tables":
        print(tables(options.folder))
    elif options.what == "forms":
        print(compare(options.owners))
    elif options.what == "refitted":
        print(compare_refitted(options.owners))
    elif options.what == "choice":
        for world in options.world or ["own"]:
            print(choice(options.folder, world), end="\n\n")
    else:
        worlds = options.world or ["own"]
        with get_context("spawn").Pool(options.workers, one_thread) as pool:
            for parts in options.records or [150]:
                work = partial(piece, options.folder, options.what, worlds, parts)
                for done in pool.imap(work, range(0, options.owners, PIECE)):
                    print(done, flush=True)


if __name__ == "__main__":
    main()
