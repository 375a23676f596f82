"""Every study that a figure rests on still runs, at its least size.

They reach further into the package than tests do, and are run by hand: one that no longer runs
would otherwise be found out only by whoever doubts a figure.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
STUDIES = ROOT / "tests" / "studies"
LEAST = {
    "sbc": "--sets 10 --looks 2",
    "coverage": "--sets 2",
    "findings": "--fleets 2",
    "check_power": "--lists 2",
    "covariates_coverage": "2",
    "covariates_curves": "2000",
    "reporting": "--sets 2",
    "oil_calibration": "--histories 20",
    "misfits": "oil --sets 10",
    "rank_quick": "2",
    "intervals_coverage": "--worlds 10",
    "intervals_coverage_learned": "--worlds 10",
    "intervals_coverage_sampled": "--worlds 10",
    "intervals_coverage_steps": "--worlds 10",
    "intervals_coverage_steps_check": "--worlds 1 --lives 2000",
    "does_it_pay": "forms --owners 1",
}
ELSEWHERE = {"shared_scatter"}
"""Takes minutes whatever its size."""


@pytest.mark.slow
@pytest.mark.parametrize("name", LEAST)
def test_it_runs(name: str, tmp_path: Path) -> None:
    command = [sys.executable, "-m", f"tests.studies.{name}", *LEAST[name].split()]
    if name == "does_it_pay":
        command += ["--folder", str(tmp_path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip()


def test_none_is_left_out() -> None:
    alone = {path.stem for path in STUDIES.glob("*.py") if "__main__" in path.read_text()}
    assert alone == set(LEAST) | ELSEWHERE
