"""Every outside check in the suite: what was published, what comes out here, the difference.

`python -m tests.proof.checks` works all of it out now and prints the table as markdown (about
a minute; `--quick` leaves the slow ones out). Our figures are never typed in. Comparisons with
numerical integration and with simulations of the tests' own that no published figure stands
behind are in the tests themselves; `python -m tests.proof.mutants` tells what they are worth.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterator
from pathlib import Path

from tests.proof import checks_decision, checks_life, checks_oil, checks_use
from tests.proof.checks_kind import STANDINGS, Check, Row, table, worked

TESTS = Path(__file__).parents[1]

GROUPS = {
    "Life records": checks_life.checks,
    "How it was driven": checks_use.checks,
    "Oil samples": checks_oil.checks,
    "Plans and decisions": checks_decision.checks,
}

# An author with a year, a handbook by its number, or a standing as these tests write them.
_MONTHS = "January|February|March|April|May|June|July|August|September|October|November|December"
NAMED = re.compile(
    rf"\b(?!(?:{_MONTHS})\b)[A-Z][a-z'’-]+(?: et al\.)?,? \(?(?:1[89]\d\d|20[01]\d)\b"
    r"|\bNIST\b|\bNAVAIR\b|\bASTM\b|\bSAE J|\bchapter \d|\bsection \d+\.\d|\bpp?\. \d"
    r"|\bfrom memory\b|\b[Cc]ommon practice, no source\b|\bJudgement:"
)

METHOD_ONLY = {
    "cli/test_cli.py": "one published fit, printed by the command: life/test_published.py",
    "life/test_calibration.py": "a method (Talts et al. 2018); what it is applied to is drawn",
    "life/test_distribution_choice.py": "what test_precision.py and test_summary.py compare",
    "life/test_intervals.py": "what 95 % intervals hold, said roughly (Meeker & Escobar 8.3.1)",
    "life/test_sbc.py": "a method (Cook, Gelman & Rubin 2006); what it is applied to is drawn",
    "words/test_oil_fleet.py": "the standing is part of the sentence that it looks for",
    "page/test_charts.py": "matrices of colour blindness (Machado et al. 2009), from memory",
    "page/test_oil_fleet.py": "the standing is part of the sentence that it looks for",
}
"""Test files that name a source without a figure of it to compare."""


def every() -> Iterator[tuple[str, Check]]:
    """All checks with their group."""
    for group, checks in GROUPS.items():
        for check in checks():
            yield group, check


def files_with_sources() -> set[str]:
    """Test files, below tests/, whose text names a source."""
    return {
        path.relative_to(TESTS).as_posix()
        for path in TESTS.rglob("test_*.py")
        if path.parent.name != "proof" and NAMED.search(path.read_text(encoding="utf-8"))
    }


def main() -> int:
    """Prints the table; 1 where a check does not hold."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="leave the slow ones out")
    quick = parser.parse_args().quick
    rows: dict[str, list[Row]] = {group: [] for group in GROUPS}
    for group, check in every():
        if not (quick and check.slow):
            rows[group].append(worked(check))
    of_all = [row for some in rows.values() for row in some]
    failed = [row for row in of_all if not row.agrees]
    counted = (sum(row.check.standing == s for row in of_all) for s in STANDINGS)
    print(f"{len(of_all)} checks, {len(failed)} beyond what is allowed: " + "; ".join(
        f"{n} {s}" for n, s in zip(counted, STANDINGS, strict=True)) + ".")  # fmt: skip
    for group, some in rows.items():
        print(f"\n### {group}\n\n{table(some)}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
