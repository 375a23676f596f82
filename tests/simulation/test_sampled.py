"""The simulator with oil samples itself, against closed forms, integrals done another way, and
the simulator without.

Limits are four standard errors of the simulation, at fixed random seeds; where nothing is random
they are those of the arithmetic. Sources are named at each check; a formula without a source is
derived where it stands.
"""

from __future__ import annotations

import json
import math
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm, t

from .brute_force import Estimate, simulate
from .case import case_from
from .renewal_policy import NEVER, Policy, solve_policy
from .sampled import (
    draw_sampled_worlds,
    main,
    simulate_sampled,
    simulate_sampled_plan,
)
from .sampled_case import SampledCase, Share, read_sampled_case, sampled_case_from
from .sampled_policy import policy_from, solve_sampled_policy
from .sampled_report import SampledPlan

LIVES = 60_000
HERE = Path(__file__).parent
CASES = sorted((HERE / "sampled").glob("*.json"))

LEAD = {"symbol": "Pb", "typical": [0.3, 0.9], "scatter": 1.3, "rise": 6.0, "noise": 0.4}
TIN = {"symbol": "Sn", "typical": [0.1, 0.3], "scatter": 1.5, "rise": [2, 8], "noise": 0.2}
BASE: dict[str, Any] = {
    **{"shape": 3.0, "scale": 200.0, "age": 120.0, "rate": 0.04},
    **{"interval": 5.0, "next_change_in": 3.0, "usage_per_year": 15.0, "keep_usage": 60.0},
    **{"planned": 2500.0, "failure": 12000.0, "after_failure": "stop", "replace_new_parts": False},
    **{"lead": 4.0, "urgent": 3300.0, "investigation": 500.0, "sample": 35.0, "oil_change": 150.0},
    "elements": [{**LEAD, "typical": [300, 900]}],
}
SHARP = {"symbol": "Pb", "typical": 1000, "scatter": 1 + 1e-8, "rise": 50.0}


def build(**changes: Any) -> SampledCase:
    return sampled_case_from({**BASE, **changes})


def near(found: Estimate, expected: float, slack: float = 1e-9) -> bool:
    """Within four standard errors and a share of the value, by default only its rounding."""
    return abs(found.value - expected) <= 4 * found.error + slack * max(1.0, abs(expected))


def never(case: SampledCase) -> Policy:
    """The policy that never replaces a new part."""
    return policy_from([[case.base.keep_usage, NEVER]], case)


def plan(
    case: SampledCase, at: float | None, lives: int = LIVES, policy: Any = None
) -> SampledPlan:
    """Simulate one plan alone."""
    worlds = draw_sampled_worlds(case, lives, seed=1)
    return simulate_sampled_plan(case, policy or never(case), worlds, "", at, seed=[1, 1])


def chance_between(low: float, high: float) -> float:
    """P(low < T - age < high | T > age) on the curve of ``BASE``; 0 if empty."""
    if high <= low:
        return 0.0
    return math.exp(0.6**3 - ((120 + low) / 200) ** 3) - math.exp(
        0.6**3 - ((120 + high) / 200) ** 3
    )


@lru_cache
def solved(path: Path) -> tuple[SampledCase, Policy]:
    """A case and its best policy, found once."""
    case = read_sampled_case(path)
    return case, solve_sampled_policy(case, cells=30, nodes=(4, 3, 2), fine=15)


def v(time: float) -> float:
    return float(1.04 ** (-time / 15))


@pytest.mark.parametrize("after_failure", ["repair", "stop"])
def test_without_elements_as_without_oil(after_failure: str) -> None:
    """No elements: nothing is sampled, and every figure is that of the simulator without oil."""
    data = json.loads((HERE / "steep_curve.json").read_text(encoding="utf-8"))
    data |= {"after_failure": after_failure, "interval": 9100}
    given = solve_policy(case_from(data), cells=20, nodes=5)
    plain = simulate(case_from(data), LIVES, seed=3, policy=given)
    oil = simulate_sampled(sampled_case_from(data), LIVES, seed=4, policy=given)
    assert len(plain.plans) == len(oil.plans)

    def same(a: Estimate, b: Estimate) -> bool:
        return abs(a.value - b.value) <= 4 * math.hypot(a.error, b.error) + 1e-9

    for a, b in zip(plain.plans, oil.plans, strict=True):
        assert a.at == b.at
        assert same(a.failure_probability, b.failure_probability)
        assert same(a.present_part_failure_probability, b.present_part_failure_probability)
        assert same(a.expected_cost, b.expected_cost)
        assert same(a.bad_case, b.bad_case)
        assert all(same(e, b.counts[key]) for key, e in a.counts.items())
        assert b.alarm_probability.value == b.counts["sample"].value == 0.0


def test_false_alarms() -> None:
    """A part that never fails: one sample in fifty alarms, each at its own price, and no plan
    changes."""
    case = build(scale=1e9, false_alarm=0.02, elements=[LEAD, TIN])
    services = [3.0 + 5 * i for i in range(12)]
    found = plan(case, None)
    assert found.alarm_probability.value == 0.0
    looks = 0.02 * sum(map(v, services))
    assert near(found.counts["investigation"], looks)
    assert found.counts["sample"].value == pytest.approx(sum(map(v, services)))
    assert near(found.expected_cost, 185 * sum(map(v, services)) + 500 * looks)
    after = plan(case, 18.0)  # three services before it, none at it, eight of the new part
    times = [3.0, 8.0, 13.0] + [18.0 + 5 * i for i in range(1, 9)]
    assert after.counts["sample"].value == pytest.approx(sum(map(v, times)))
    assert near(after.counts["investigation"], 0.02 * sum(map(v, times)))


@pytest.mark.parametrize(("lead", "turnaround"), [(4.0, 0.5), (4.0, 0.0), (8.0, 1.5)])
def test_certain_alarms(lead: float, turnaround: float) -> None:
    """Every alarm certain and seen: the part is saved if T falls between a service plus the
    turnaround and that service plus the lead; of two services the first."""
    certain = {"false_alarm": 1.0, "investigation_sees": 1.0}
    case = build(**certain, lead=lead, turnaround=turnaround, silent=0.3, new_part_life=1e6)
    for at in (None, 18.0):
        end = 60.0 if at is None else at
        saved = caught = counted = reached = 0.0
        for x in [3.0 + 5 * i for i in range(12) if 3.0 + 5 * i < end]:
            if x + turnaround >= 60.0:
                break
            low, high = max(x + turnaround, reached), x + lead
            chance = 0.7 * chance_between(low, high)
            saved += chance
            counted += chance * v(x + turnaround)
            caught += 0.7 * chance_between(low, min(high, end))
            reached = high
        found = plan(case, at)
        assert near(found.alarm_probability, saved)
        assert near(found.present_part_failure_probability, chance_between(0, end) - caught)
        assert near(found.caught, caught / chance_between(0, end))
        assert near(found.counts["urgent"], counted)


def test_distress_shows_through_the_score() -> None:
    """Hardly any scatter, a great rise: the same without asking for certain alarms."""
    case = build(elements=[SHARP], false_alarm=0.001, investigation_sees=1.0, turnaround=0.5)
    expected = sum(chance_between(3 + 5 * i + 0.5, 3 + 5 * i + 4) for i in range(12))
    assert near(plan(case, None).alarm_probability, expected)


def test_chance_of_an_alarm_by_quadrature() -> None:
    """Two services, exact lead and rise, one element: over T, with Student t from scipy, m by
    its own quadrature, and a first alarm that may go unseen."""
    case = build(keep_usage=10.0, turnaround=1.0, lead=9.0, silent=0.2, lead_factor=2.0)
    lead, sees = 18.0, 0.8
    s2 = (math.log(3) / (2 * norm.ppf(0.95))) ** 2
    own = math.log(1.3) ** 2
    noise = (0.4 / (math.sqrt(300 * 900) * 5 / 1000)) ** 2
    limit = float(t.isf(0.02, 4))

    def seen(life: float, at: float, n: int) -> float:
        onset = life - lead
        if onset >= at or life <= at + 1.0:
            return 0.0
        s = np.linspace(at - 5, at, 2001)
        m = np.trapezoid(6 ** np.clip((s - onset) / lead, 0, 1), s) / 5
        sigma = math.sqrt(own + noise + s2 * own / (own + n * s2))
        return sees * float(t.sf(limit - math.log(m) / sigma, 4))

    def integrand(life: float) -> float:
        density = 3 / 200 * ((120 + life) / 200) ** 2
        density *= math.exp(0.6**3 - ((120 + life) / 200) ** 3)
        return density * (1 - (1 - seen(life, 3.0, 0)) * (1 - seen(life, 8.0, 1)))

    breaks = [4.0, 9.0, 21.0, 26.0]
    exact = sum(quad(integrand, a, b)[0] for a, b in pairwise(breaks))
    found = plan(case, None, lives=400_000)
    assert near(found.alarm_probability, 0.8 * exact)


def test_urgent_fitting_faults_and_credit() -> None:
    """Under "stop", with a new part that lasts for ever: an urgent replacement has the same
    fitting fault and credit as a planned one, and finds distress as often."""
    case = build(
        **{"false_alarm": 1.0, "investigation_sees": 1.0, "new_part_life": 1e6, "lead": 4.0},
        **{"install_fault": 0.2, "install_fault_price": 900, "sale_credit": 700},
        **{"found_worn": 400, "visible_lead": 1.5, "turnaround": 0.5},
    )
    times = [3.0 + 5 * i for i in range(12)]
    saved = sum(chance_between(x + 0.5, x + 4) for x in times)
    found = plan(case, None)
    assert near(found.alarm_probability, saved)
    assert near(
        found.counts["urgent"], sum(chance_between(x + 0.5, x + 4) * v(x) for x in times) * v(0.5)
    )
    assert near(found.counts["install_fault"], 0.2 * found.counts["urgent"].value)
    assert near(found.counts["sale_credit"], saved * v(60))
    worn = sum(chance_between(x + 0.5, x + 2.0) * v(x + 0.5) for x in times)
    assert near(found.counts["found_worn"], worn)
    ends = chance_between(0, 60) - sum(chance_between(x + 0.5, min(x + 4, 60)) for x in times)
    assert near(found.present_part_failure_probability, ends)
    assert near(found.failure_probability, ends + 0.2 * saved)


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_cost_to_come_by_simulation(path: Path) -> None:
    """Replaced now, every case costs the job and the cost to come that the policy's recursion
    found; the past samples tell of the present part, and through it of lead and silent share."""
    case, policy = solved(path)
    worlds = draw_sampled_worlds(case, LIVES, seed=9)
    found = simulate_sampled_plan(case, policy, worlds, "", 0.0, seed=[9, 1])
    base = case.base
    worn = worlds.weight @ (worlds.base.visible > worlds.base.life) / LIVES
    expected = base.planned.mean + base.install_fault * base.fault_mean
    expected += float(worn) * base.found_worn.mean
    expected += float(policy.cost[policy.point(base.keep_usage)])
    if base.repair:  # under "stop" the credit is in the cost to come
        expected -= base.sale_credit.mean * math.exp(-base.discount * base.keep_usage)
    assert near(found.expected_cost, expected, slack=5e-4)


def test_no_simple_policy_is_cheaper() -> None:
    """Simulated with "always at the j-th service" for new parts, the van costs more."""
    case, policy = solved(HERE / "sampled" / "delivery_van_ranges.json")
    best = plan(case, 0.0, policy=policy).expected_cost
    for j in (NEVER, 1, 2, 3):
        other = plan(case, 0.0, policy=policy_from([[71000, j]], case)).expected_cost
        assert best.value < other.value + 3 * math.hypot(best.error, other.error)
        if j in (1, 2):  # far from the best: clearly dearer
            assert best.value < other.value - 3 * math.hypot(best.error, other.error)


def test_shares() -> None:
    assert Share(-math.inf).at(np.zeros(1))[0] == 0.0
    share = build(silent=[0.1, 0.5]).silent
    assert share.at(norm.ppf(0.05)) == pytest.approx(0.1)
    assert share.at(norm.ppf(0.95)) == pytest.approx(0.5)


def test_policy_table() -> None:
    """Rows hold up to and including their own usage left."""
    found = policy_from([[20, 2], [10, 0], [60, 4]], build())
    left = np.array([5.0, 10.0, 10.1, 20.0, 20.1, 60.0])
    assert found.service_at(left, 1e-9).tolist() == [0, 0, 2, 2, 4, 4]
    with pytest.raises(ValueError, match="policy"):
        policy_from([[1, 2, 3]], build())


def test_faults_are_told_together(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = {**BASE, "shape": -1, "silent": [0.5, 0.2], "turnaround": 2, "colour": 1}
    bad["elements"] = [LEAD, {**TIN, "scatter": 0.9}, {**TIN, "rise": 0.5}]
    del bad["urgent"]
    path = tmp_path / "bad.json"
    path.write_text(json.dumps(bad), encoding="utf-8")
    assert main([str(path)]) == 2
    told = capsys.readouterr().err
    for word in ("bad.json", "shape", "silent", "colour", "elements[1]", "elements[2]: rise"):
        assert word in told
    assert "urgent: missing" in told


def test_same_seed_same_result(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, table = tmp_path / "case.json", tmp_path / "policy.json"
    path.write_text(json.dumps({**BASE, "keep_usage": 20}), encoding="utf-8")
    table.write_text("[[20, 0]]", encoding="utf-8")
    printed = []
    for more in ([], [], ["--policy", str(table)]):
        assert main([str(path), "--lives", "2000", "--json", *more]) == 0
        printed.append(json.loads(capsys.readouterr().out))
    assert printed[0] == printed[1]
    assert printed[0]["plans"] == printed[2]["plans"]  # new parts are never replaced in either
    assert printed[2]["policy"] == [{"above": 0.0, "up_to": 20.0, "replaced_at": "never"}]
