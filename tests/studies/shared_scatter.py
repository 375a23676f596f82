"""How near is the widened scatter to the model in which elements of a sample share some of it?

    python -m tests.studies.shared_scatter

Four short histories of two metals: the chance of failing within 10,000 km with the package (each
element's scatter widened, `oil/shared.py`) against the likelihood worked out in full, by plain
quadrature over both levels and the common part of every sample. No sample misleads here. Prints a
Markdown table; takes a minute or two.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm
from scipy.stats import t as student

from riskmodel.life.weibull import density
from riskmodel.oil.history import History, history
from riskmodel.oil.rise import log_fill_mean
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity
from riskmodel.threads import one_thread
from tests.oil.made import case_with_oil

Floats = NDArray[np.float64]

START = ("60000,10000,4,6", "70000,10000,5,7", "80000,10000,4,6")
HISTORIES = {
    "clean": "90000,10000,5,6",
    "hint in both": "90000,10000,9,11",
    "surge in both": "90000,10000,22,20",
    "surge of lead alone": "90000,10000,16,7",
}
SHARES = (0.0, 0.5, 0.9)
SHAPE, SCALE, TODAY, AHEAD = 3.0, 150_000 / np.log(2) ** (1 / 3), 94_000.0, 10_000.0
LEAD, SILENT = Quantity(4_000.0, 30_000.0), 0.25
LEVELS = 45


def case(last: str, shared: float) -> Case:
    warning = {"lead": [LEAD.low, LEAD.high], "lead_factor": 1, "silent": SILENT}
    return case_with_oil(
        [*START, last], misleading=0.0, shared_scatter=shared, reading=TODAY, warning=warning
    )


def ages() -> tuple[Floats, Floats]:
    """Failure ages and their share of the density from today on."""
    x, w = np.polynomial.legendre.leggauss(8)
    edges = np.array([0.0, AHEAD / 2, AHEAD, 21_000, 46_000, 106_000, 206_000]) + TODAY
    width = np.diff(edges)[:, None]
    at = (edges[:-1, None] + width * (x + 1) / 2).ravel()
    return at, density(at, SHAPE, SCALE) * (width * w / 2).ravel()


def in_full(found: History, told: Case, shared: float) -> Floats:
    """The oil factor at `ages`, nothing simplified."""
    samples, elements = found.samples, told.oil.element
    own = [next(e for e in elements if e.symbol == symbol) for symbol in found.symbols]
    sigma = np.log([e.scatter for e in own])
    common, weight = np.linspace(-9, 9, 37), student.pdf(np.linspace(-9, 9, 37), 4)
    weight /= weight.sum()
    level = samples.centre[0, :, None] + samples.spread[0, :, None] * np.linspace(-4, 4, LEVELS)
    prior = norm.pdf(np.linspace(-4, 4, LEVELS))
    prior /= prior.sum()

    def likelihood(shift: Floats) -> Floats:
        """Of shifts (P, E, n); (P,)."""
        out = np.ones((len(shift), LEVELS, LEVELS))
        for i in range(shift.shape[2]):
            chance = []
            for e in range(2):
                middle = level[e, None, :, None] + shift[:, e, i, None, None]
                middle = middle + np.sqrt(shared) * sigma[e] * common
                ends = [
                    student.cdf((end - middle) / (np.sqrt(1 - shared) * sigma[e]), 4)
                    for end in (samples.low[0, e, i], samples.high[0, e, i])
                ]
                chance.append(ends[1] - ends[0])
            out *= np.einsum("pkb,plb,b->pkl", *chance, weight)
        return np.asarray(np.einsum("pkl,k,l->p", out, prior, prior))

    z, rise = np.linspace(-3.4, 3.4, 24), np.linspace(-2.6, 2.6, 7)
    lead, lead_share, rise_share = LEAD.quantile(z), norm.pdf(z), norm.pdf(rise)
    log_rise = np.log([e.rise.quantile(rise) for e in own])
    none = likelihood(np.zeros((1, 2, len(samples.at[0]))))[0]
    factor = []
    for failure in ages()[0]:
        onset = np.maximum(failure - lead, 0.0)
        shift = log_fill_mean(
            onset[:, None, None, None],
            failure,
            samples.at[0],
            samples.oil_age[0],
            log_rise.T[None, :, :, None],
        )
        ratio = likelihood(shift.reshape(-1, 2, len(samples.at[0]))).reshape(len(z), -1) / none
        mean = lead_share @ ratio @ rise_share / lead_share.sum() / rise_share.sum()
        factor.append(SILENT + (1 - SILENT) * mean)
    return np.array(factor)


def main() -> None:
    one_thread()
    at, mass = ages()

    def chance(factor: Floats) -> float:
        return float((mass * factor)[at < TODAY + AHEAD].sum() / (mass * factor).sum())

    print("| history | share in common | in full | widened | taken as separate | no samples |")
    print("|---|---|---|---|---|---|")
    for name, last in HISTORIES.items():
        for shared in SHARES:
            told, apart = history(case(last, shared)), history(case(last, 0.0))
            assert told is not None
            assert apart is not None
            figures = (
                chance(in_full(told, case(last, shared), shared)),
                chance(told.factor(at)),
                chance(apart.factor(at)),
                chance(np.ones(len(at))),
            )
            print(f"| {name} | {shared:g} | " + " | ".join(f"{f:.4f}" for f in figures) + " |")


if __name__ == "__main__":
    main()
