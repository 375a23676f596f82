"""The simulated owners of `tests/studies/does_it_pay.py`: drawn as said, played as modelled.

Where everything is known and one plan is kept, the mean of what simulated owners pay must be the
expected cost of that plan; the play is written from the model's text and shares no code with it.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskmodel.decision.prepared import expected_costs
from riskmodel.decision.rank_shared import Shared
from riskmodel.records.quantity import exactly
from riskmodel.risk.life_curves import life_curves
from tests.studies.does_it_pay import piece
from tests.studies.does_it_pay_choice import choice
from tests.studies.does_it_pay_forms import pair
from tests.studies.does_it_pay_plain import KNOWN, NEVER, ONCE, TOOL, plain
from tests.studies.does_it_pay_refitted import FirstNew, refitted, service_asked
from tests.studies.does_it_pay_sampled import NO_SAMPLES, ON_ALARM, sampled
from tests.studies.does_it_pay_tables import over, tables
from tests.studies.owners import (
    AS_MODELLED,
    MISFITS,
    Misfit,
    Owner,
    at_usage,
    case_of,
    draw_owner,
    stream,
)
from tests.studies.owners_club import club
from tests.studies.owners_life import AtAge, Luck, Table, first_part, total
from tests.studies.owners_oil import Oil
from tests.studies.owners_sampled import asking, fixed, sampled_first_part
from tests.studies.owners_verdict import first_service_at, new_rule, ready, verdict

LIVES = 20_000
OWNERS = (0, 3, 10)
"""Their first parts are best replaced almost at once, at the third oil change, and at once."""


@pytest.mark.parametrize("number", OWNERS)
@pytest.mark.parametrize("with_samples", [False, True])
def test_what_is_paid_is_the_expected_cost_of_the_plan(number: int, with_samples: bool) -> None:
    owner = draw_owner(number)
    case = case_of(owner, None, with_samples)
    case = replace(case, plan=replace(case.plan, new_part_life=exactly(owner.new_life)))
    at, cost, _ = expected_costs(ready(case, Shared()))
    new = new_rule(case, Shared())
    luck = Luck(owner, AS_MODELLED, LIVES)
    oil = Oil(owner, luck, past=0)
    for plan in (0, len(at) // 2, len(at) - 1):
        if with_samples:
            end = sampled_first_part(oil, fixed(at[plan]))
            told = total(luck, end, new, oil.of_new_parts)
        else:
            told = total(luck, first_part(luck, at[plan]), new)
        error = told.costs.std() / math.sqrt(LIVES)
        assert abs(told.cost - cost[plan]) <= 3 * error, (at[plan], cost[plan], told.cost, error)


def test_first_parts_fail_as_often_as_the_curve_says() -> None:
    owner = draw_owner(8)
    luck = Luck(owner, AS_MODELLED, 2_000)
    then = ((owner.age + owner.keep) / owner.scale) ** owner.shape
    chance = -math.expm1((owner.age / owner.scale) ** owner.shape - then)
    failed = first_part(luck, float("inf")).failed.mean()
    assert failed == pytest.approx(chance, abs=2 / 2_000)  # one fate in each stratum


def test_luck_is_the_same_under_every_rule() -> None:
    owner = draw_owner(0)
    new = AtAge(60_000, owner.interval)
    costs = []
    for at in (0.0, float("inf"), 0.0):
        luck = Luck(owner, AS_MODELLED, 50)
        costs.append(total(luck, first_part(luck, at), new).costs)
    assert np.array_equal(costs[0], costs[2])
    assert not np.array_equal(costs[0], costs[1])


def test_owners_are_drawn_alike_again_and_their_parts_last_until_today() -> None:
    owners = [draw_owner(n) for n in range(40)]
    assert owners[7] == draw_owner(7)
    assert len({o.scale for o in owners}) == 40
    assert all(0 <= o.entered < o.age for o in owners)
    assert {o.interval for o in owners} == {7_500.0, 10_000.0, 15_000.0}


def failed_share(misfit: Misfit) -> float:
    owner = draw_owner(0)
    data = club(stream(0, 1), 400, owner.shape, owner.scale, misfit.other, misfit.reporting)
    assert data.count.sum() == 400
    assert np.all(data.age > data.entered_at)
    since = data.age_from[~np.isnan(data.age_from)]
    assert np.all(since < data.age[~np.isnan(data.age_from)])
    return float(np.mean(np.array(data.outcome) == "failed"))


def test_misfits_of_the_records_are_as_large_as_said() -> None:
    own, other, five = (
        failed_share(MISFITS[name]) for name in ("own", "other-causes", "reporting-5")
    )
    # about a quarter of the failures are of another cause; some come instead of wear
    assert 1.1 * own < other < 1.45 * own
    # the odds of a failure, five times; parts that came out worn are told as readily as failures
    assert 2.5 < five / (1 - five) / (own / (1 - own)) <= 5.5


def test_a_case_tells_what_the_owner_knows() -> None:
    owner = draw_owner(3)
    case = at_usage(case_of(owner, None, True), owner, owner.interval + 500.0)
    assert case.age == pytest.approx(owner.age + owner.interval + 500.0)
    assert case.next_change_in == pytest.approx(owner.interval - 500.0)
    assert case.keep == pytest.approx(owner.keep - owner.interval - 500.0)
    assert case.life.shape_prior.exact
    services = at_usage(case, owner, owner.interval)
    assert services.next_change_in == pytest.approx(owner.interval)


def test_rules_for_new_parts() -> None:
    left = np.array([9_000.0, 10_000.0, 35_000.0])
    assert AtAge(10_000.0, 10_000.0).service(left).tolist() == [0, 0, 1]
    assert AtAge(25_000.0, 10_000.0).service(left).tolist() == [0, 0, 3]
    assert AtAge(float("inf"), 10_000.0).service(left).tolist() == [0, 0, 0]
    table = Table(np.array([0.0, 20_000.0, 40_000.0]), np.array([0, 1, 2]), 10_000.0)
    assert table.service(np.array([9_000.0, 20_000.0, 35_000.0])).tolist() == [0, 1, 2]


def old(owner: Owner, age: float) -> Owner:
    return replace(owner, age=age, entered=0.0)


def test_the_first_service_at_an_age() -> None:
    owner = old(draw_owner(1), 65_000.0)  # oil changed every 15,000, kept for 40,000
    assert first_service_at(owner, 60_000.0) == 0.0
    assert first_service_at(owner, 80_000.0) == 15_000.0
    assert first_service_at(owner, 81_000.0) == 30_000.0
    assert first_service_at(owner, 300_000.0) == float("inf")


def test_the_quick_form_asks_with_every_sample_known() -> None:
    owner = draw_owner(6)
    case, luck = case_of(owner, None, True), Luck(owner, AS_MODELLED, 3)
    oil = Oil(owner, luck, past=2)
    for since, samples in ((0.0, 2), (owner.interval + 500.0, 3)):
        told = oil.samples(0, since)
        assert told is not None
        assert len(told) == samples
    due = asking(case, owner, oil, Shared())(0.0, np.array([0, 1, 2]))
    assert np.all((due <= owner.interval + 1e-3) | np.isinf(due))


def test_readings_rise_with_distress() -> None:
    owner = draw_owner(10)
    luck = Luck(owner, AS_MODELLED, 3_000)
    oil = Oil(owner, luck, past=0)
    begun = (oil.onset < owner.age + owner.interval) & ~luck.first.silent
    begun &= luck.first.life > owner.interval
    lead = np.log(oil.printed[0, 0] + 0.5)
    assert lead[begun].mean() > lead[~begun].mean() + 0.3
    assert oil.alarm[0, ~begun].mean() == pytest.approx(0.02, abs=0.01)
    assert not oil.seen[0, ~begun].any()


def test_one_who_knows_the_curve_and_the_tool_are_asked_by_the_same_code() -> None:
    owner = draw_owner(4)
    assert verdict(case_of(owner, None), Shared()) == float("inf")
    _, rows = plain(4, AS_MODELLED, 150)
    assert rows[TOOL][0] == pytest.approx(rows[NEVER][0])
    assert rows[KNOWN][0] < rows[ONCE][0]


@pytest.mark.slow
def test_an_owner_who_samples_is_followed_under_every_rule() -> None:
    oil, rows = sampled(5, MISFITS["half-lead"], 30)
    assert oil > 0
    assert rows[ON_ALARM][0] > rows[NEVER][0] - 500
    assert all(len(row) == 4 and np.isfinite(row).all() for row in rows.values())


def test_pieces_are_kept_and_not_worked_out_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def one(number: int, misfit: Misfit, parts: int) -> tuple[float, dict[str, list[float]]]:
        asked.append((number, misfit.name, parts))
        return 100.0, {TOOL: [1_010.0 + number, 0.1, 1, 0], KNOWN: [1_000.0 + number, 0.1, 1, 0]}

    monkeypatch.setattr("tests.studies.does_it_pay.PIECE", 3)
    monkeypatch.setattr("tests.studies.does_it_pay.KINDS", {"plain": one})
    piece(tmp_path, "plain", ["own"], 30, 0)
    piece(tmp_path, "plain", ["own", "half-lead"], 30, 0)
    assert asked == [(n, w, 30) for w in ("own", "half-lead") for n in range(3)]
    kept = json.loads((tmp_path / "plain_own_30_00000.json").read_text())
    assert [each[0] for each in kept["owners"]] == [0, 1, 2]
    told = tables(tmp_path)
    assert "world half-lead, 30 records, 3 owners" in told
    assert "| this tool | 1,011 (1) | 1.00 (0.00) | 1.11 (0.00) |" in told


def test_how_much_dearer_is_told_with_its_error() -> None:
    base = np.array([100.0, 200.0, 300.0])
    more, error = over(1.1 * base, base)
    assert more == pytest.approx(10.0)
    assert error == pytest.approx(0.0, abs=1e-9)
    more, error = over(base + np.array([0.0, 6.0, 0.0]), base)
    assert more == pytest.approx(1.0)
    assert error > 0


@pytest.mark.parametrize("with_samples", [False, True])
def test_the_verdict_is_that_of_the_whole_weighing(with_samples: bool) -> None:
    told = pair(6, with_samples)
    assert told.weigh == told.other
    assert told.dearer == pytest.approx(0.0, abs=0.002 if with_samples else 1e-12)


def test_a_new_part_is_a_case_of_its_own_age() -> None:
    owner = draw_owner(0)
    case = case_of(owner, None)
    for told in (True, False):
        fitted, later = (
            refitted(case, owner, 2_400.0, since, told) for since in (0.0, owner.interval)
        )
        assert fitted.age == 0.0
        assert later.age == owner.interval
        assert later.part.fitted_at == (owner.age + 2_400.0 if told else 0.0)
        assert later.keep == pytest.approx(owner.keep - 2_400.0 - owner.interval)


def test_a_new_part_asked_about_as_one_to_come_is_told_the_rule() -> None:
    owner = draw_owner(10)
    case = case_of(owner, None)
    left, shared = np.array([owner.keep]), Shared()
    rule = new_rule(case, shared)
    assert service_asked(case, owner, 0.0, shared, told=True) == rule.service(left)[0] > 0
    curves = life_curves(refitted(case, owner, 0.0, 30_000.0, told=True))
    assert curves.weight.sum() == pytest.approx(1.0)
    assert curves.mean(curves.scale) < owner.scale


def test_only_the_first_new_part_is_asked_about() -> None:
    rule = FirstNew(Table(np.array([0.0, 90_000.0]), np.array([0, 4]), 10_000.0), 80_000.0, 2)
    assert rule.service(np.array([80_000.0, 85_000.0])).tolist() == [2, 4]


def test_sampling_is_chosen_by_what_the_tool_says_that_it_saves(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gain = {0: 5.0, 1: -5.0, 2: 8.0}
    monkeypatch.setattr(
        "tests.studies.does_it_pay_choice.saved", lambda number, world, parts: gain[number]
    )
    owners = [(n, 0.0, {TOOL: [10.0], NO_SAMPLES: [40.0], KNOWN: [10.0]}) for n in gain]
    (tmp_path / "sampled_own_150_00000.json").write_text(json.dumps({"owners": owners}))
    told = choice(tmp_path)
    assert "| sampled where its figures say that it saves | 20 | 100.00 (100.00) |" in told
    assert "Where it says that sampling does save: 6 told, 30 (0) saved." in told
