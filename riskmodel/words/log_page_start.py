"""Starting a new machine from a few figures, and the screen of all machines."""

from __future__ import annotations

from collections.abc import Mapping

from riskmodel.records.inputs import BY_KEY

START = "Start with a few figures of your own"
ABOUT = (
    "Enough for a first answer, by your belief about such parts alone. Everything else can be "
    "added afterwards: life records above all."
)
DO = "Start"
UNIT_NAMES: Mapping[str, str] = {"km": "kilometres", "mi": "miles", "h": "hours"}
KEYS: Mapping[str, str] = {
    "reading": "machine.reading",
    "usage_per_year": "machine.usage_per_year",
    "interval": "oil.interval",
    "planned": "cost.planned",
    "failure": "cost.failure",
    "keep_years": "plan.keep_years",
    "b50_low": "life.b50_prior",
}
HALF_LIFE = (
    "By which usage would half of such parts have failed? Two figures between which you are nine "
    "times in ten sure it lies."
)
HALF_FROM, HALF_TO = "Half failed: from", "Half failed: to"

ALL_MACHINES = "All machines"


def figures() -> dict[str, tuple[str, str]]:
    """Label and help of each figure that is asked for, but the belief."""
    return {
        name: (BY_KEY[key].label, BY_KEY[key].help)
        for name, key in KEYS.items()
        if name != "b50_low"
    }
