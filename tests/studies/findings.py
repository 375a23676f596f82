"""What the looks of parts pulled early add: a fit with findings against one that forgets them.

    python -m tests.studies.findings [--fleets 400]

Simulated fleets in which about half of the parts come out before they fail, and a tenth of
the looks at them are wrong. The same records are fitted twice: with the looks (removed_worn,
removed_unworn) and with all of them called removed. Prints a Markdown table; takes about a
quarter of an hour.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.life import weibull
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import Curves, posterior
from riskmodel.life.quantile import weighted_quantile
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords, Outcome
from tests.life.made import records

Floats = NDArray[np.float64]

SCALE = 180_000.0
SHAPE_PRIOR = Quantity(1.2, 5.0)
LEAD = Quantity(3_000.0, 20_000.0)
PULL_AGES = (0.1, 0.7)
WATCHED_TO = (0.1, 1.3)
"""Ages of planned removals, and of the rest when the records were closed, in scales."""
AT, AHEAD = 0.6 * SCALE, 0.05 * SCALE
TAILS = [0.05, 0.5, 0.95]


@dataclass(frozen=True)
class Setting:
    """A kind of fleet, and what the fit assumes of its looks."""

    parts: int
    shape: float
    lead: Quantity = LEAD
    error: float = 0.1
    planned: float = 0.58
    """Share of parts with a planned removal; some fail before it, which leaves about half."""
    assumed_lead: Quantity | None = None
    assumed_error: float = 0.1
    label: str = "as true"


def fleet(rng: np.random.Generator, setting: Setting) -> LifeRecords:
    """Parts watched from new: failed, still running, or pulled with a look at them."""
    life = SCALE * rng.weibull(setting.shape, setting.parts)
    pulled = rng.uniform(size=setting.parts) < setting.planned
    end = SCALE * np.where(
        pulled, rng.uniform(*PULL_AGES, setting.parts), rng.uniform(*WATCHED_TO, setting.parts)
    )
    worn = life <= end + setting.lead.quantile(rng.standard_normal(setting.parts))
    worn ^= rng.uniform(size=setting.parts) < setting.error
    outcome = np.where(pulled, np.where(worn, "removed_worn", "removed_unworn"), "running")
    return records(np.minimum(life, end), np.where(life <= end, "failed", outcome).tolist())


def forgotten(data: LifeRecords) -> LifeRecords:
    """The same with no look known."""
    told: list[Outcome] = ["removed" if o.startswith("removed") else o for o in data.outcome]  # type: ignore[misc]
    return replace(data, outcome=tuple(told))


FIGURES: dict[str, Callable[[Floats, Floats], Floats]] = {
    "ln B10": lambda b, n: np.asarray(np.log(weibull.quantile(0.1, b, n))),
    "shape": lambda b, n: b,
    "chance ahead": lambda b, n: np.asarray(weibull.conditional_failure(AT, AHEAD, b, n)),
}


def read(curves: Curves) -> Floats:
    """Low, median and high of each figure: (figures, 3)."""
    return np.array(
        [
            weighted_quantile(figure(curves.shape, curves.scale), curves.weight, TAILS)
            for figure in FIGURES.values()
        ]
    )


def study(setting: Setting, fleets: int, seed: int) -> tuple[Floats, float, float]:
    """(fleets, 2 fits, figures, 3), the share pulled and the mean number of failures.

    The first fit reads the looks, the second does not. A fleet without a failure, on which
    B50 is left open, is drawn anew.
    """
    rng = np.random.default_rng(seed)
    lead = setting.assumed_lead or setting.lead
    found, pulled, failures = [], 0.0, 0.0
    while len(found) < fleets:
        data = fleet(rng, setting)
        without = Likelihood(forgotten(data))
        if without.failures == 0:
            continue
        looked = posterior(Likelihood(data, setting.assumed_error, lead), SHAPE_PRIOR, None)
        found.append([read(looked), read(posterior(without, SHAPE_PRIOR, None))])
        pulled += np.mean([o.startswith("removed") for o in data.outcome])
        failures += without.failures
    return np.array(found), pulled / fleets, failures / fleets


LONG = Quantity(6_000.0, 40_000.0)
SHORT = Quantity(1_500.0, 10_000.0)
WIDE = Quantity(10_000.0, 60_000.0)
FEW_FAIL = "lead 10,000-60,000, 9 of 10 pulled"

SETTINGS = [
    *(Setting(n, b) for b in (2.0, 4.0) for n in (40, 120, 400)),
    *(Setting(120, b, lead=WIDE, label="lead 10,000-60,000") for b in (2.0, 4.0)),
    *(Setting(120, b, lead=WIDE, planned=1.0, label=FEW_FAIL) for b in (2.0, 4.0)),
    *(Setting(120, b, error=0.0, assumed_error=0.0, label="no look wrong") for b in (2.0, 4.0)),
    *(Setting(120, b, assumed_lead=LONG, label="lead assumed x 2") for b in (2.0, 4.0)),
    *(Setting(120, b, assumed_lead=SHORT, label="lead assumed / 2") for b in (2.0, 4.0)),
    *(Setting(120, b, assumed_error=0.02, label="error assumed 0.02") for b in (2.0, 4.0)),
    *(Setting(120, b, assumed_error=0.3, label="error assumed 0.3") for b in (2.0, 4.0)),
]


def rows(setting: Setting, found: Floats) -> list[str]:
    """One line a figure: bias, width and coverage of both fits, Monte Carlo errors in brackets."""
    told = []
    count = len(found)
    for k, (name, figure) in enumerate(FIGURES.items()):
        truth = float(figure(np.array(setting.shape), np.array(SCALE)))
        low, middle, high = (found[:, :, k, i] for i in range(3))
        percent = 100.0 if name == "chance ahead" else 1.0
        bias, width = percent * (middle - truth), percent * (high - low)
        inside = (low <= truth) & (truth <= high)
        ratio = width[:, 0] / width[:, 1]
        closer = np.abs(bias[:, 0]).mean() / np.abs(bias[:, 1]).mean()
        cells = [f"{bias[:, j].mean():+.3f} ({bias[:, j].std() / count**0.5:.3f})" for j in (0, 1)]
        cells += [f"{width[:, j].mean():.3f}" for j in (0, 1)]
        cells += [f"{ratio.mean():.3f} ({ratio.std() / count**0.5:.3f})", f"{closer:.2f}"]
        cells += [f"{100 * inside[:, j].mean():.1f}" for j in (0, 1)]
        unit = " [%]" if percent == 100 else ""
        told.append(
            f"| {setting.parts}, {setting.shape:g}, {setting.label} | {name}{unit} | "
            + " | ".join(cells)
            + " |"
        )
    return told


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fleets", type=int, default=400)
    fleets = parser.parse_args().fleets
    print(
        f"{fleets} fleets a row; bias of the posterior median and width of the 90 % interval "
        "with | without looks; standard errors in brackets; that of a coverage of 90 % is "
        f"{100 * (0.09 / fleets) ** 0.5:.1f} %.\n"
    )
    print(
        "| parts, shape, assumption | figure | bias with | bias without | width with | "
        "width without | width ratio | error ratio | coverage with | coverage without |"
    )
    print("|" + " --- |" * 10)
    for seed, setting in enumerate(SETTINGS):
        start = time.perf_counter()
        found, pulled, failures = study(setting, fleets, seed)
        print("\n".join(rows(setting, found)))
        print(
            f"<!-- {100 * pulled:.0f} % pulled, {failures:.1f} failures on average, "
            f"{time.perf_counter() - start:.0f} s -->",
            flush=True,
        )


if __name__ == "__main__":
    main()
