"""Outside checks of what oil samples say."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from scipy import integrate
from scipy.optimize import minimize

from riskmodel.oil.alarm import tail_of
from riskmodel.oil.laboratories import apart
from riskmodel.oil.limits import deviations_for, false_alarm_chance, fleet_limits, own_limit
from riskmodel.oil.linings import precision
from riskmodel.oil.mass_balance import reading_after, wear_rate
from riskmodel.oil.rise import log_fill_mean
from riskmodel.oil.seen import caught
from riskmodel.oil.usual import restricted_log_likelihood
from tests.oil import test_alarm as alarms
from tests.oil import test_limits as limits
from tests.oil import test_mass_balance as balance
from tests.oil import test_rise as rises
from tests.oil import test_seen as seen
from tests.oil import test_surge as surge
from tests.oil import test_usual as usual
from tests.oil import test_with_oil as with_oil
from tests.proof.checks_kind import (
    JUDGEMENT,
    MEMORY,
    PRACTICE,
    READ,
    RECOMPUTED,
    WORKED,
    Check,
)


def parameters(test: Any) -> list[tuple[Any, ...]]:
    """The rows that a test is parametrised with."""
    (mark,) = (mark for mark in test.pytestmark if mark.name == "parametrize")
    return list(mark.args[1])


def checks() -> list[Check]:
    """All of them."""
    return [*_tails(), *_limits(), *_levels(), *_balance(), *_sampling(), *_trade()]


def _tails() -> list[Check]:
    rows = parameters(alarms.test_limits_of_one_element_are_those_of_the_printed_table)
    chances = [chance for chance, _ in rows]
    return [
        Check("Student's t, 4 degrees of freedom, passed by 10, 5, 2.5, 1, 0.1 of 100",
              "printed tables", MEMORY, tuple(limit for _, limit in rows),
              lambda: tuple(tail_of((1.0,)).limit(chance) for chance in chances),
              "oil/test_alarm.py"),
        Check("chance that two elements' score passes a limit: greatest difference from the "
              "integral (Gil-Pelaez 1951, from memory, for the method)", "scipy's quadrature",
              WORKED, 0.0, _two_elements, "oil/test_alarm.py", 1e-8, "the quadrature's own error"),
    ]  # fmt: skip


def _two_elements() -> float:
    from scipy.special import stdtr

    one, other, far = 0.6, 0.8, 0.0
    for z in (1.0, 4.0, 20.0):

        def joint(x: float, z: float = z) -> float:
            return float(0.375 * (1 + x * x / 4) ** -2.5 * stdtr(4, (one * x - z) / other))

        cuts = np.unique([-1e4, -100, -5, 0, 5, 100, 1e4, *(z / one + np.array([-12, 0, 12]))])
        exact = sum(
            integrate.quad(joint, a, b, epsabs=1e-13, limit=200)[0] for a, b in pairwise(cuts)
        )
        far = max(far, abs(float(tail_of((one, other)).above(z)) - exact))
    return far


def _limits() -> list[Check]:
    found = []
    for samples, two, three, k_2_5, k_1 in parameters(
        limits.test_false_alarms_of_mean_plus_k_deviations
    ):
        found.append(
            Check(
                f"{samples} samples: false alarms of mean + 2 and + 3 sd [of 100]; sd for 2.5 and "
                "1 of 100", "P(t > k / sqrt(1 + 1/n)), tables of Student's t (Hahn & Meeker 1991, "
                "chapter 4, from memory, for the method)", WORKED, (two, three, k_2_5, k_1),
                lambda n=samples: (
                    *(100 * np.asarray(false_alarm_chance([2, 3], n))).tolist(),
                    *np.asarray(deviations_for([0.025, 0.01], n)).tolist(),
                ),
                "oil/test_limits.py", (0.05, 0.05, 0.005, 0.005), "half a unit of the last digit",
            )
        )  # fmt: skip
    rates = [0.4, 0.5, 0.6, 0.5]
    log = np.log(rates)
    return [
        *found,
        Check("an engine's own limit from four rates, 5 of 100",
              "t of 3 degrees at 5 %, 2.3534 (printed tables)", MEMORY,
              float(np.exp(log.mean() + 2.3534 * math.sqrt(1.25) * log.std(ddof=1))),
              lambda: own_limit(np.array(rates), false_alarm=0.05).limit, "oil/test_limits.py",
              1e-5, "the table's five digits"),
        Check("fewest samples whose greatest lies above the 90th, 95th, 98th percentile with 95 % "
              "confidence", "Wilks 1941, Annals of Mathematical Statistics 12 (59 is the well "
              "known one)", MEMORY,
              tuple(n for _, n in parameters(
                  limits.test_samples_needed_for_a_percentile_with_confidence)),
              lambda: tuple(_fewest(fraction) for fraction in range(3)), "oil/test_limits.py"),
        Check("90th, 95th, 98th percentile of 99 samples: rank p (n + 1)",
              "Weibull 1939; Hyndman & Fan 1996, definition 6", MEMORY, (90, 95, 98),
              lambda: tuple(
                  p.limit for p in fleet_limits(
                      np.arange(1.0, 100), [str(i) for i in range(99)]).percentile),
              "oil/test_fleet.py", 1e-6, "a closed form"),
    ]  # fmt: skip


def _fewest(fraction: int) -> int:
    rates = np.exp(np.random.default_rng(2).normal(size=200))
    names = [str(i) for i in range(200)]

    def borne(n: int) -> bool:
        return fleet_limits(rates[:n], names[:n]).percentile[fraction].at_most is not None

    low, high = 3, 200
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if borne(middle) else (middle, high)
    return high


def _levels() -> list[Check]:
    return [
        Check("dyestuff: variance between and within batches",
              "Box & Tiao 1973, Bayesian Inference in Statistical Analysis, section 5.1.2 (data: "
              "Davies 1947)", READ, (1764.05, 2451.25), _dyestuff, "oil/test_usual.py",
              (0.018, 0.025), "the search stops at 1e-5 of itself"),
        Check("restricted likelihood of a balanced layout: greatest difference",
              "Searle, Casella & McCulloch 1992, Variance Components, section 3.8", MEMORY, 0.0,
              _balanced, "oil/test_usual.py", 1e-6, "the quadrature's own error"),
        Check("limit of repeatability and reproducibility at 10 ppm: copper, then lead",
              "ASTM D5185, as a trade article gives it", MEMORY, (1.0, 2.4, 3.3, 6.9),
              lambda: tuple(
                  2.77 * s for metal in ("Cu", "Pb") for s in precision(metal, 10) or ()
              ), "oil/test_linings.py", 0.05, "half a unit of the last digit"),
        Check("deviation of ln reading between two laboratories, lead at 10 ppm",
              "the same limits of lead, 3.3 and 6.9 ppm, over 2.77: the variance that one "
              "laboratory alone does not have, twice", MEMORY, 0.309, lambda: apart("Pb", 10.0),
              "oil/test_laboratories.py", 0.004, "half a unit of the limits' last digit"),
    ]  # fmt: skip


def _dyestuff() -> tuple[float, float]:
    values = usual.DYESTUFF.ravel() / 50
    batch = [str(i) for i in np.repeat(np.arange(6), 5)]

    def lack(log: Any) -> float:
        s, sigma = np.exp(log)
        return -float(restricted_log_likelihood(values, batch, [s], [sigma], degrees=np.inf)[0, 0])

    best = minimize(lack, [0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-11})
    between, within = (np.exp(best.x) * 50) ** 2
    return float(between), float(within)


def _balanced() -> float:
    values = usual.DYESTUFF / 50
    k, n = values.shape
    ssw = ((values - values.mean(axis=1, keepdims=True)) ** 2).sum()
    ssb = n * ((values.mean(axis=1) - values.mean()) ** 2).sum()
    s, sigma = np.array([0.1, 0.5, 1.0, 2.0]), np.array([0.6, 1.0, 1.7])
    a, b = sigma**2, sigma**2 + n * s[:, None] ** 2
    closed = -(k * (n - 1) * np.log(a) + (k - 1) * np.log(b) + ssw / a + ssb / b) / 2
    closed = closed - (k * n - 1) / 2 * np.log(2 * np.pi) - np.log(k * n) / 2
    batch = [str(i) for i in np.repeat(np.arange(k), n)]
    found = restricted_log_likelihood(values.ravel(), batch, s, sigma, degrees=np.inf)
    return float(np.abs(found - closed).max())


def _balance() -> list[Check]:
    fills = parameters(balance.test_agrees_with_the_balance_solved_numerically)

    def far() -> float:
        ends = [(reading_after(*fill), balance.solved(*fill)) for fill in fills]
        return max(abs(float(ours) / theirs - 1) for ours, theirs in ends)

    def lifted() -> tuple[float, ...]:
        plain = wear_rate(10.0, 0.0, 10_000.0)
        return tuple(
            float(wear_rate(10.0, 0.0, 10_000.0, x / 10_000.0) / plain)
            for x in (0.1, 0.2, 0.5, 1.0)
        )

    def mean() -> float:
        at = [(log_fill_mean(*case), rises.by_quadrature(*case)) for case in rises.CASES]
        return max(abs(float(ours) - theirs) for ours, theirs in at)

    return [
        Check("reading after six fills: greatest difference in proportion",
              "the balance of mass solved by scipy's DOP853", WORKED, 0.0, far,
              "oil/test_mass_balance.py", 1e-9, "the solver's own error"),
        Check("factor on the wear rate for 10, 20, 50, 100 % of a sump topped up",
              "x / (1 - e^-x)", WORKED, (1.051, 1.103, 1.271, 1.582), lifted,
              "oil/test_mass_balance.py", 5e-4, "half a unit of the last digit"),
        Check("log of a fill's mean rise: greatest difference", "scipy's adaptive quadrature",
              WORKED, 0.0, mean, "oil/test_rise.py", 1e-8, "the quadrature's own error"),
    ]  # fmt: skip


def _sampling() -> list[Check]:
    found = [
        Check(f"failures missed, exponential lead of 1, looked at every {every:g}, each sees "
              f"{sees:g}", "formula of the delay-time model of Christer & Waller 1984", RECOMPUTED,
              missed, lambda every=every, sees=sees: _missed(every, sees), "oil/test_seen.py",
              5e-5, "half a unit of the last digit")
        for every, sees, missed in parameters(seen.test_missed_share_of_an_exponential_lead)
    ]  # fmt: skip
    whole = parameters(seen.test_whole_inspections_within_a_known_lead)
    found.append(
        Check("missed by 4, 2, 1, 3 whole inspections in the lead, seeing 0.5, 0.8, 0.9, 0.7",
              "NAVAIR 00-25-403: (1 - theta)^n", READ, tuple((1 - s) ** n for s, n in whole),
              lambda: tuple(
                  1 - caught(seen.exactly(12_000.0), [seen.PB], seen.CERTAIN, 12_000 / n, 0.0, s)
                  for s, n in whole), "oil/test_seen.py", 1e-12, "a closed form")
    )  # fmt: skip
    return found


def _missed(every: float, sees: float) -> float:
    """As in the test: exact leads, summed over an exponential; longer ones than 14 are caught."""
    total, rest = 0.0, 0.0
    place, weight = np.polynomial.legendre.leggauss(5)
    for start, end in pairwise(np.arange(0, 14, every).tolist()):
        for p, w in zip(place.tolist(), weight.tolist(), strict=True):
            lead = start + (end - start) * (p + 1) / 2
            share = caught(seen.exactly(lead * seen.INTERVAL), [seen.PB], seen.CERTAIN,
                           every * seen.INTERVAL, 0.0, sees)  # fmt: skip
            total += w * (end - start) / 2 * math.exp(-lead) * float(share)
        rest = math.exp(-end)
    return 1 - total - rest


def _trade() -> list[Check]:
    def last(rows: list[str], columns: str = "reading,oil_age,Pb,Cu", **more: Any) -> float:
        return float(with_oil.weighed(with_oil.made(rows, columns, **more)).factor[2])

    def surged(metals: tuple[str, ...], times: float) -> float:
        return surge.factor(surge.surged(surge.example("road-car"), times, metals))

    def iron() -> str:
        rows = [f"{row},15" for row in with_oil.USUAL]
        columns = "reading,oil_age,Pb,Cu,Fe"
        one, other = (last([*rows, f"99000,9000,4,6,{fe}"], columns) for fe in (15, 120))
        return "1" if one == pytest.approx(other, rel=1e-12) else f"{other / one:.3f}"

    def short() -> str:
        lead = {"lead": [1_000, 4_000], "lead_factor": 1.0, "silent": 0.25}
        return "yes" if 0.9 < last(with_oil.CLEAN, warning=lead) < 1.1 else "no"

    def doubt() -> str:
        one = with_oil.weighed(with_oil.made(with_oil.SURGE)).with_oil.value[2]
        return "yes" if one < 0.85 else "no"

    yes = "yes"
    return [
        Check("a surge of the part's own metals makes failure soon more than 4 times as likely",
              "a sudden surge of lead has saved an engine", PRACTICE, yes,
              lambda: yes if surged(("Pb", "Cu", "Sn"), 5) > 4 else "no", "oil/test_surge.py"),
        Check("a greater surge says no less: 1,000 times against 4 times the usual",
              "no worse report makes a better engine", PRACTICE, yes,
              lambda: yes if surged(("Pb", "Cu", "Sn"), 1000) / surged(("Pb", "Cu", "Sn"), 4)
              == pytest.approx(1, rel=1e-3) else "no", "oil/test_surge.py"),
        Check("iron, which the bearing does not shed, eight times the usual: times as likely",
              "a metal that the part does not hold is no evidence on it", PRACTICE, "1", iron,
              "oil/test_with_oil.py"),
        Check("clear samples say next to nothing where the lead is shorter than the interval",
              "a clean sample is no all-clear", PRACTICE, yes, short, "oil/test_with_oil.py"),
        Check("one surge is no proof: chance within an interval below 85 of 100",
              "bottles are mixed up, samples mislead", PRACTICE, yes, doubt,
              "oil/test_with_oil.py"),
        Check("two surges of both elements speak louder than one, one louder than none",
              "more than one cannot be one mixed-up bottle", JUDGEMENT, yes, _two_surges,
              "oil/test_evidence.py"),
    ]  # fmt: skip


def _two_surges() -> str:
    usual_rows = with_oil.USUAL
    none, one, two = (
        float(with_oil.weighed(with_oil.made(rows, misleading=0.05)).factor[1])
        for rows in (
            [*usual_rows[:-1], "90000,10000,4,6", "99000,9000,4,6"],
            [*usual_rows[:-1], "90000,10000,4,6", "99000,9000,20,14"],
            [*usual_rows[:-1], "90000,10000,18,12", "99000,9000,20,14"],
        )
    )
    return "yes" if none < one < two else "no"
