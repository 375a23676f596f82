"""All benchmarks, one after another: some minutes of processor time.

    python -m tests.benchmarks [MACHINES]

MACHINES (default 1,000) are ranked. Seconds are of processor time, so that a busy machine changes
them little; what may be compared are ratios. The figures are kept in DEVELOPERS.md.
"""

from __future__ import annotations

import sys

from tests.benchmarks import growth, life_speed, oil_speed, rank_speed, weigh_speed


def main(machines: int = 1_000) -> None:
    """Each with its heading."""
    for name, run in (
        ("weigh", weigh_speed.main),
        ("life records, beside lifelines and scipy", life_speed.main),
        ("oil samples", oil_speed.main),
        ("many machines", lambda: rank_speed.main(machines)),
        ("growth", growth.main),
    ):
        print(f"\n## {name}\n", flush=True)
        run()


if __name__ == "__main__":
    main(*(int(each) for each in sys.argv[1:]))
