"""Seeded faults: each must turn some quick test red.

`python -m tests.proof.mutants` copies the project to a temporary folder and, one fault at a time,
changes one text there and runs the tests named beside it; nothing in place is touched. First the
same tests run unchanged: one that is red already proves nothing. A fault that no test notices has
survived, and wants a test. `--only oil` takes the faults whose names begin so, `--list` names them.

How far a suite of tests finds seeded faults: DeMillo, Lipton & Sayward 1978, Computer 11(4), 34-41.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable
from pathlib import Path

from tests.proof.mutants_decision import DECISION
from tests.proof.mutants_life import LIFE
from tests.proof.mutants_made import Mutant
from tests.proof.mutants_means import MEANS
from tests.proof.mutants_moved import MOVED
from tests.proof.mutants_oil import OIL
from tests.proof.mutants_paid import PAID
from tests.proof.mutants_rank import RANK
from tests.proof.mutants_records import RECORDS

ROOT = Path(__file__).resolve().parents[2]
MUTANTS: tuple[Mutant, ...] = (
    *LIFE,
    *OIL,
    *DECISION,
    *MOVED,
    *MEANS,
    *PAID,
    *RANK,
    *RECORDS,
)
COPIED = ("riskmodel", "tests", "data", "app.py", "pyproject.toml")
QUICK = "not slow and not browser"
PYTEST = ("-m", "pytest", "-q", "-n0", "-x", "-p", "no:cacheprovider", "-m", QUICK)
LONGEST = 600.0
"""Seconds after which a fault counts as one that hangs."""


def copied(into: Path) -> Path:
    """A copy of the project in `into`, checked to be the one that is imported there."""
    for name in COPIED:
        source, target = ROOT / name, into / name
        if source.is_dir():
            shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy2(source, target)
    where = "import riskmodel, tests; print(riskmodel.__file__, tests.__file__)"
    told = subprocess.run(
        [sys.executable, "-c", where], cwd=into, env=_environment(into),
        capture_output=True, text=True, check=True,
    ).stdout.split()  # fmt: skip
    if not all(Path(file).resolve().is_relative_to(into.resolve()) for file in told):
        raise SystemExit(f"not the copy is imported, but {told}")
    return into


def _environment(copy: Path) -> dict[str, str]:
    single = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    return {**os.environ, **single, "PYTHONPATH": str(copy), "PYTHONHASHSEED": "0"}


def run(copy: Path, tests: Iterable[str]) -> tuple[str, str, float]:
    """("green", "red", "broken" or "hangs", the first red test, seconds of processor time)."""
    before = os.times()
    try:
        done = subprocess.run(
            [sys.executable, *PYTEST, *tests], cwd=copy, env=_environment(copy),
            capture_output=True, text=True, timeout=LONGEST, check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return "hangs", "", LONGEST
    after = os.times()
    spent = after.children_user + after.children_system - before.children_user
    spent -= before.children_system
    first = re.search(r"^(?:FAILED|ERROR) (\S+)", done.stdout, re.MULTILINE)
    if done.returncode == 0:
        return "green", "", spent
    if done.returncode == 1 and first and first[0].startswith("FAILED"):
        return "red", first[1], spent
    return "broken", (done.stdout + done.stderr)[-2000:], spent


def seeded(copy: Path, mutant: Mutant) -> tuple[str, str, float]:
    """One fault put into the copy, its tests run, and the fault taken out again."""
    path = copy / "riskmodel" / mutant.file
    whole = path.read_text(encoding="utf-8")
    if whole.count(mutant.text) != 1:
        return "broken", f"its text occurs {whole.count(mutant.text)} times", 0.0
    try:
        _write(path, whole.replace(mutant.text, mutant.changed))
        return run(copy, mutant.tests)
    finally:
        _write(path, whole)


def _write(path: Path, text: str) -> None:
    """A compiled file is told from its source by second and size: none may be left behind."""
    path.write_text(text, encoding="utf-8")
    for stale in (path.parent / "__pycache__").glob(f"{path.stem}.*.pyc"):
        stale.unlink()


def main() -> int:
    form = argparse.RawTextHelpFormatter
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=form)
    parser.add_argument("--only", nargs="*", default=[""], help="faults whose names begin so")
    parser.add_argument("--list", action="store_true", help="name them, run nothing")
    asked = parser.parse_args()
    chosen = [mutant for mutant in MUTANTS if mutant.name.startswith(tuple(asked.only))]
    if asked.list:
        for mutant in chosen:
            print(f"{mutant.name:28} {mutant.file:28} {mutant.wrong}")
        return 0
    began = time.strftime("%Y-%m-%d %H:%M")
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        copy = copied(Path(folder))
        wanted = sorted({test for mutant in chosen for test in mutant.tests})
        red = [test for test in wanted if run(copy, [test])[0] != "green"]
        if red:
            print(f"red or empty without any fault, so they prove nothing: {', '.join(red)}")
            return 1
        found: dict[str, list[str]] = {}
        for mutant in chosen:
            result, test, spent = seeded(copy, mutant)
            found.setdefault(result, []).append(mutant.name)
            word = "SURVIVED" if result == "green" else result
            print(f"{word:9} {mutant.name:28} {spent:6.1f} s  {test or mutant.wrong}", flush=True)
    survived, broken = found.get("green", []), found.get("broken", [])
    noticed = len(chosen) - len(survived) - len(broken)
    print(
        f"{began}: {len(chosen)} faults, {noticed} noticed, {len(survived)} survived {survived}, "
    )
    print(f"{len(broken)} could not be tried {broken}")
    return 1 if survived or broken else 0


if __name__ == "__main__":
    sys.exit(main())
