"""The simulator itself, against closed forms and against integrals done another way.

Limits are four standard errors of the simulation, at fixed random seeds; where nothing is random
they are those of the arithmetic. Sources are named at each check; a formula without a source is
derived where it stands.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from .brute_force import (
    Estimate,
    PlanResult,
    conditional_risk,
    draw_worlds,
    main,
    mean_prices,
    simulate,
    simulate_plan,
)
from .case import Case, Quantity, case_from, read_case
from .renewal_policy import NEVER, Floats, Policy, choices, solve_policy

LIVES = 200_000
HERE = Path(__file__).parent
CASES = sorted(HERE.glob("*.json"))

BASE: dict[str, Any] = {
    **{"shape": 3.0, "scale": 200.0, "age": 120.0},
    **{"interval": 5.0, "next_change_in": 5.0, "usage_per_year": 15.0, "keep_usage": 60.0},
    **{"planned": 2500.0, "failure": 12000.0, "after_failure": "stop", "replace_new_parts": False},
}


def build(**changes: Any) -> Case:
    return case_from({**BASE, **changes})


def near(found: Estimate, expected: float) -> bool:
    """Within four standard errors, or equal to rounding where nothing is random."""
    return abs(found.value - expected) <= 4 * found.error + 1e-9 * max(1.0, abs(expected))


def plan(
    case: Case, at: float | None, lives: int = LIVES, policy: Policy | None = None
) -> PlanResult:
    """Simulate one plan alone."""
    worlds = draw_worlds(case, lives, seed=1)
    return simulate_plan(case, policy or solve_policy(case), worlds, "", at, seed=[1, 1])


def test_finite_horizon_table() -> None:
    """One failure at most: E = Cf p1 + (1 - p1)(Cp + Cf F(H - x)), in closed form."""
    figures = {
        0.0: (2819.67, 0.0266),
        10.0: (3216.38, 0.0716),
        15.0: (3455.10, 0.0978),
        30.0: (4300.53, 0.1888),
        None: (4815.64, 0.4013),
    }
    found = {p.at: p for p in simulate(build(), LIVES).plans}
    for at, (cost, chance) in figures.items():
        x = 60.0 if at is None else at
        p1 = 1 - math.exp(0.6**3 - ((120 + x) / 200) ** 3)
        later = 0.0 if at is None else -math.expm1(-(((60 - x) / 200) ** 3))
        job = 0.0 if at is None else 2500.0
        exact_cost = 12000 * p1 + (1 - p1) * (job + 12000 * later)
        exact_chance = p1 + (1 - p1) * later
        assert exact_cost == pytest.approx(cost, abs=0.01)
        assert exact_chance == pytest.approx(chance, abs=0.0001)
        assert near(found[at].expected_cost, exact_cost)
        assert near(found[at].failure_probability, exact_chance)
        assert near(found[at].present_part_failure_probability, p1)


def test_risk_ahead() -> None:
    """P(T <= age + d | T > age) = 1 - S(age + d) / S(age)."""
    case = build(ahead=[5, 60, 200])
    for risk in simulate(case, LIVES).risk:
        survival = [math.exp(-((a / 200) ** 3)) for a in (120, 120 + risk.ahead)]
        assert risk.exact == pytest.approx(1 - survival[1] / survival[0], rel=1e-12)
        assert near(risk.probability, risk.exact)


MEMORYLESS = {"shape": 1.0, "after_failure": "repair", "replace_new_parts": True, "rate": 0.04}


def test_constant_rate_is_a_poisson_process() -> None:
    """Shape 1, repaired: failures are a Poisson process, whatever is replaced; a planned
    replacement is never worth its price; the discounted cost is Cf int v(t) dt / scale."""
    case = build(**MEMORYLESS, ahead=[60])
    policy = solve_policy(case)
    assert policy.service.tolist() == [NEVER]
    for left in (60.0, 55.0, 5.0):
        exact = 12000 / 200 * -math.expm1(-case.discount * left) / case.discount
        assert policy.cost[policy.point(left)] == pytest.approx(exact, rel=1e-5)
    whole = 12000 / 200 * -math.expm1(-case.discount * 60) / case.discount
    for at in (0.0, 15.0, None):
        found = plan(case, at)
        survive = 1.0 if at is None else math.exp(-at / 200)
        job = 0.0 if at is None else 2500 * math.exp(-case.discount * at)
        assert near(found.failure_probability, -math.expm1(-60 / 200))
        assert near(found.expected_cost, whole + survive * job)


@pytest.mark.parametrize("shape", [1.6, 3.0])
def test_weibull_renewal_function(shape: float) -> None:
    """Expected failures of parts renewed at failure, by the power series of Smith & Leadbetter
    (1963), Technometrics 5 (from memory); checked here at shape 1, where it must give t."""

    def renewals(t: float, b: float) -> float:
        a = [math.gamma(1 + b * k) / math.factorial(k) for k in range(40)]
        series = [0.0]
        for k in range(1, 40):
            series.append(a[k] - sum(a[j] * series[k - j] for j in range(1, k)))
        terms = (
            (-1.0) ** (k - 1) * series[k] * math.pow(t, b * k) / math.gamma(1 + b * k)
            for k in range(1, 40)
        )
        return sum(terms)

    assert renewals(0.9, 1.0) == pytest.approx(0.9, rel=1e-9)
    case = build(shape=shape, scale=60 / 0.9, after_failure="repair", planned=0, failure=1)
    expected = renewals(0.9, shape)
    policy = solve_policy(case)
    assert policy.cost[policy.point(60.0)] == pytest.approx(expected, rel=1e-4)
    found = plan(case, 0.0)
    assert near(found.counts["failure"], expected)
    assert near(found.expected_cost, expected)


def test_prices_without_failures() -> None:
    """A part that lasts for ever: every payment is known. A service at keep-until is none."""
    case = build(
        **{"scale": 1e9, "rate": 0.05, "oil_change": 80, "sale_credit": 700},
        **{"install_fault": 0.25, "install_fault_price": 3000, "found_worn": 400},
        **{"visible_lead": 50, "consequences": {"tow": 100}, "keep_usage": 58.0},
        **{"next_change_in": 3.0, "after_failure": "repair"},
    )

    def v(t: float) -> float:
        return float(1.05 ** (-t / 15))

    services = [3.0 + 5 * i for i in range(11)]
    assert case.services() == pytest.approx(services)
    never = plan(case, None, lives=1000)
    assert near(never.expected_cost, 80 * sum(map(v, services)))
    after = plan(case, 18.0)
    oil = sum(map(v, [3.0, 8.0, 13.0])) + sum(map(v, [18.0 + 5 * i for i in range(1, 8)]))
    assert near(after.counts["oil_change"], oil)
    assert near(after.failure_probability, 0.25)
    expected = 80 * oil + v(18.0) * (2500 + 0.25 * 3000) - 700 * v(58.0)
    assert near(after.expected_cost, expected)
    with_fault = expected + 0.75 * v(18.0) * 3000
    assert after.bad_case.value == pytest.approx(with_fault, rel=1e-9)
    dear = build(**{"scale": 1e9, "install_fault": 0.25, "consequences": {"tow": 100}})
    assert mean_prices(dear)[3] == pytest.approx(12100)


def test_oil_changes_end_with_the_part() -> None:
    """Under "stop" an oil change happens if the part has lived to it: sum of v(t) S(t)."""
    case = build(rate=0.05, oil_change=80)

    def expected(age: float) -> float:
        start = math.exp(-((age / 200) ** 3))
        times = [5.0 * i for i in range(1, 12)]
        lived = [math.exp(-(((age + t) / 200) ** 3)) / start for t in times]
        return sum(s * math.pow(1.05, -t / 15) for s, t in zip(lived, times, strict=True))

    assert near(plan(case, None).counts["oil_change"], expected(120))
    short = build(rate=0.05, oil_change=80, scale=60, age=0)
    new = plan(short, 0.0).counts["oil_change"]
    lived = [math.exp(-((t / 60) ** 3)) * 1.05 ** (-t / 15) for t in range(5, 60, 5)]
    assert near(new, sum(lived))
    assert near(plan(short, None).counts["oil_change"], sum(lived))


def test_finds_distress_as_often_as_it_should() -> None:
    """P(V > T - age | T > age), by adaptive quadrature over T."""
    case = build(found_worn=400, visible_lead=[10, 60], keep_usage=60)
    mu, sigma = math.log(600) / 2, math.log(6) / (2 * norm.ppf(0.95))
    for at in (0.0, 30.0):

        def integrand(t: float, at: float = at) -> float:
            density = 3 / 200 * (t / 200) ** 2 * math.exp(0.6**3 - (t / 200) ** 3)
            return density * float(norm.sf((math.log(t - 120 - at) - mu) / sigma))

        exact, _ = quad(integrand, 120 + at, 900, limit=200)
        assert near(plan(case, at).counts["found_worn"], exact)


def test_life_of_new_parts_is_uncertain() -> None:
    """P(no failure) = (1 - p) E_k S(H / k) after a replacement now, k lognormal."""
    case = build(new_part_life=[0.3, 0.9], install_fault=0.05)
    mu, sigma = math.log(0.27) / 2, math.log(3) / (2 * norm.ppf(0.95))

    def integrand(z: float) -> float:
        return float(norm.pdf(z)) * math.exp(-((60 / 200 / math.exp(mu + sigma * z)) ** 3))

    survive, _ = quad(integrand, -8, 8)
    assert near(plan(case, 0.0).failure_probability, 1 - 0.95 * survive)


def test_uncertain_prices() -> None:
    """The mean counts in the expected cost, the draw in the bad case: one sure payment of a
    lognormal price has that price's own 95th percentile, its upper end."""
    case = build(scale=1e9, planned=[1000, 4000])
    found = plan(case, 0.0)
    sigma = math.log(4) / (2 * norm.ppf(0.95))
    assert found.expected_cost.value == pytest.approx(2000 * math.exp(sigma**2 / 2))
    assert near(found.bad_case, 4000)
    assert found.bad_case_at_mean_prices.value == pytest.approx(found.expected_cost.value)


def test_policy_under_stop_by_exhaustive_recursion() -> None:
    """Every choice of services, costed by adaptive quadrature with nothing interpolated."""
    case = build(
        **{"scale": 60, "shape": 2.4, "keep_usage": 53, "interval": 12, "next_change_in": 7},
        **{"planned": 900, "failure": 15000, "rate": 0.05, "oil_change": 90},
        **{"install_fault": 0.03, "found_worn": 250, "visible_lead": 6, "sale_credit": 1100},
        **{"replace_new_parts": True},
    )

    def survival(t: float) -> float:
        return math.exp(-((t / 60) ** 2.4))

    def density(t: float) -> float:
        return 2.4 / 60 * math.pow(t / 60, 1.4) * survival(t)

    def v(t: float) -> float:
        return math.exp(-case.discount * t)

    def best(left: float) -> tuple[float, int]:
        options = {}
        count = math.ceil(left / 12 - 1e-9) - 1
        for j in range(count + 1):
            due = left if j == NEVER else 12.0 * j
            cost = 15000 * quad(lambda t: density(t) * v(t), 0, due)[0]
            changes = count if j == NEVER else j - 1
            cost += 90 * sum(v(12.0 * i) * survival(12.0 * i) for i in range(1, changes + 1))
            if j == NEVER:
                cost -= 1100 * v(left) * survival(left)
            else:
                worn = 1 - survival(due + 6) / survival(due)
                job = 900 + 250 * worn + 0.03 * 15000
                cost += survival(due) * v(due) * (job + best(left - due)[0])
            options[j] = cost
        choice = min(options, key=lambda j: options[j])
        return options[choice], choice

    found = choices(case, solve_policy(case))
    assert len({c.service for c in found}) > 2
    for choice in found:
        cost, service = best(choice.left)
        assert choice.service == service
        assert choice.cost == pytest.approx(cost, rel=1e-5, abs=0.01)


def integrated_cost(case: Case, policy: Policy, at: float | None) -> float:
    """Expected cost of a plan by integration over the present part's life, the cost to come read
    from the policy's own grid."""
    end = case.keep_usage if at is None else at

    def v(t: Any) -> Any:
        return np.exp(-case.discount * t)

    def survival(t: float) -> float:
        return 1 - conditional_risk(case, t)

    cost = sum(case.oil_change.mean * v(s) * survival(s) for s in case.services() if s < end)
    steps = np.linspace(0.0, end, 200_001)
    middle = (steps[1:] + steps[:-1]) / 2
    chance = -np.diff([survival(t) for t in steps])
    paid: Floats = np.full(middle.size, case.failure_mean)
    if case.repair:
        paid = paid + np.interp(case.keep_usage - middle, policy.left, policy.cost)
    cost += float(np.sum(chance * v(middle) * paid))
    if at is not None:
        worn = 0.0
        if case.visible_lead is not None:
            scores = norm.ppf((np.arange(4000) + 0.5) / 4000)
            leads = case.visible_lead.at(scores)
            worn = float(np.mean([survival(at) - survival(at + u) for u in leads]))
        job = case.planned.mean + case.install_fault * case.fault_mean
        job += float(policy.cost[policy.point(case.keep_usage - at)])
        if case.repair:  # under "stop" the credit is in the cost to come
            job -= case.sale_credit.mean * v(case.keep_usage - at)
        cost += v(at) * (survival(at) * job + worn * case.found_worn.mean)
    return float(cost)


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_cases_by_integration(path: Path) -> None:
    """Every other plan of every case: played through, and integrated."""
    case = read_case(path)
    result = simulate(case, 100_000, seed=7)
    for found in (*result.plans[:-1:3], result.plans[-1]):
        assert near(found.expected_cost, integrated_cost(case, result.policy, found.at)), found.at


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_policy_does_not_hang_on_its_grid(path: Path) -> None:
    """A finer grid and a finer rule over new_part_life give the same choices and costs."""
    case = read_case(path)
    usual = choices(case, solve_policy(case))
    finer = choices(case, solve_policy(case, cells=170, nodes=24))
    assert [c.service for c in usual] == [c.service for c in finer]
    for a, b in zip(usual, finer, strict=True):
        assert a.cost == pytest.approx(b.cost, rel=2e-4, abs=0.01)


def test_no_simple_policy_is_cheaper() -> None:
    """Simulated with "always at the j-th service" or "never" for new parts, the van costs more."""
    case = read_case(HERE / "delivery_van.json")
    policy = solve_policy(case)
    best = plan(case, 0.0)
    for j in range(6):
        breaks = np.array([0.0, j * case.interval, case.keep_usage])
        simple = Policy(
            breaks, np.array([NEVER, j]), policy.left, policy.cost, policy.second, policy.margin
        )
        other = plan(case, 0.0, policy=simple)
        error = math.hypot(best.expected_cost.error, other.expected_cost.error)
        assert best.expected_cost.value < other.expected_cost.value + 3 * error
        if j in (0, 1, 2, 5):  # far from the best: clearly dearer
            assert best.expected_cost.value < other.expected_cost.value - 3 * error


def test_quantities() -> None:
    between = Quantity.between(2.0, 8.0)
    assert between.at(norm.ppf(0.05)) == pytest.approx(2.0)
    assert between.at(norm.ppf(0.95)) == pytest.approx(8.0)
    assert Quantity.exact(0.0).mean == 0.0
    assert Quantity.exact(7.0).mean == pytest.approx(7.0)


def test_faults_are_told_together(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = {**BASE, "shape": -1, "planned": [5, 2], "colour": 3, "found_worn": 10}
    del bad["failure"]
    path = tmp_path / "bad.json"
    path.write_text(json.dumps(bad), encoding="utf-8")
    assert main([str(path)]) == 2
    told = capsys.readouterr().err
    for word in ("bad.json", "shape", "planned", "colour", "failure: missing", "visible_lead"):
        assert word in told


def test_same_seed_same_result(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "case.json"
    path.write_text(json.dumps(BASE), encoding="utf-8")
    printed = []
    for _ in range(2):
        assert main([str(path), "--lives", "2000", "--json"]) == 0
        printed.append(capsys.readouterr().out)
    assert printed[0] == printed[1]
    assert json.loads(printed[0])["lives"] == 2000
