"""A fuzzer that follows coverage, over every reader: `python -m tests.proof.fuzz READER`.

By hand only; it needs `pip install atheris` (libFuzzer for Python), which nothing else here does.
Whatever the bytes, a reader gives a value or raises InputError, each problem with its file and what
was found and expected, within two seconds of processor time and 500 MB. What breaks that is
told once for each place in the code, and its bytes are written to `--keep`. `READER` is one of
case, life, oil, fleet, loose, laboratory, zip, payload, log, folder, arguments.
"""

from __future__ import annotations

import argparse
import os
import resource
import sys
import tempfile
import time
import traceback
from pathlib import Path

try:
    import atheris
except ImportError:  # told when it is run
    atheris = None

SLOW, MEGABYTES = 2.0, 500


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("reader")
    parser.add_argument("--minutes", type=float, default=1.0)
    parser.add_argument("--keep", type=Path, default=Path("fuzz-finds"))
    asked = parser.parse_args()
    if atheris is None:
        print("this needs: pip install atheris")
        return 2
    with atheris.instrument_imports(include=["riskmodel.records", "riskmodel.cli", "tomllib"]):
        from riskmodel.records.errors import InputError
        from tests.proof import fuzz_readers
    chosen = dict(fuzz_readers.readers())[asked.reader]
    seen: set[tuple[object, ...]] = set()
    told = {"runs": 0, "read": 0, "slowest": 0.0}

    def note(place: tuple[object, ...], what: str, data: bytes) -> None:
        if place in seen:
            return
        seen.add(place)
        asked.keep.mkdir(exist_ok=True)
        file = asked.keep / f"{asked.reader}-{len(seen)}"
        file.write_bytes(data)
        print(f"FOUND {file}: {what}", flush=True)

    def one(data: bytes) -> None:
        told["runs"] += 1
        began = time.process_time()
        try:
            chosen.read(data)
            told["read"] += 1
        except InputError as refused:
            for problem in refused.problems:
                if not (problem.file and problem.found and problem.expected) or "\n" in str(
                    problem
                ):
                    note(
                        ("untold", problem.expected),
                        f"a problem that tells too little: {problem!r}",
                        data,
                    )
            if not refused.problems:
                note(("empty",), "a refusal without a problem", data)
        except Exception as fault:  # noqa: BLE001
            frames = traceback.extract_tb(fault.__traceback__)
            place = type(fault), frames[-1].filename, frames[-1].lineno
            own = [f for f in frames if "/riskmodel/" in f.filename][-1:]
            note(place, f"{type(fault).__name__}: {fault} at {frames[-1]}, from {own}", data)
        spent = time.process_time() - began
        told["slowest"] = max(told["slowest"], spent)
        if spent > SLOW:
            note(("slow",), f"{spent:.1f} s", data)

    with tempfile.TemporaryDirectory(prefix="corpus-") as folder:
        corpus = Path(folder)
        for number, seed in enumerate(chosen.seeds):
            (corpus / f"seed{number}").write_bytes(seed)
        words = corpus.with_suffix(".dict")
        words.write_text(
            "".join('"' + "".join(f"\\x{byte:02x}" for byte in w) + '"\n' for w in chosen.words)
        )
        longest = max(4096, 2 * max(map(len, chosen.seeds)))
        started = time.time()

        def until(data: bytes) -> None:
            one(data)
            if time.time() - started > 60 * asked.minutes:
                peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
                if peak > MEGABYTES:
                    print(f"FOUND a peak of {peak:.0f} MB", flush=True)
                spent, kept = time.time() - started, len(list(corpus.iterdir()))
                print(
                    f"{time.strftime('%Y-%m-%d')} {asked.reader}: {told['runs']} runs in ", end=""
                )
                print(f"{spent:.0f} s, {told['read']} read, {len(seen)} finds, slowest ", end="")
                print(f"{told['slowest']:.2f} s, peak {peak:.0f} MB, {kept} in the corpus")
                fuzz_readers.clean()
                words.unlink(missing_ok=True)
                sys.stdout.flush()
                os._exit(0)

        atheris.Setup(
            [sys.argv[0], str(corpus), f"-dict={words}", f"-max_len={longest}", "-timeout=30",
             "-rss_limit_mb=2000", "-verbosity=0", "-len_control=0"],
            until,
        )  # fmt: skip
        atheris.Fuzz()
    return 0


if __name__ == "__main__":
    sys.exit(main())
