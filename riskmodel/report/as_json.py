"""Answers as plain JSON values, numbers unrounded; the keys are a contract."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from riskmodel.decision.flips import WhatMoves
from riskmodel.decision.habits import Habit
from riskmodel.decision.results import (
    AfterLook,
    Chance,
    Information,
    Inspection,
    Interval,
    LongRun,
    OilTold,
    OtherCauses,
    PlanResult,
    Retest,
    RetestBranch,
    Sale,
    TradeOff,
    Weighing,
)
from riskmodel.decision.sensitivity import WhatIf
from riskmodel.decision.use_study import UseStudy
from riskmodel.report.life_json import learned_json, sensitivity_json
from riskmodel.risk.learned import Learned
from riskmodel.use.effective_age import Range
from riskmodel.use.parts_of_spread import SpreadParts
from riskmodel.words import cautions, example_banner, notes, plan_name, stop_text, verdict
from riskmodel.words.plan_names import first_step_name, retest_name

Json = dict[str, Any]


def weighing_json(
    weighing: Weighing,
    learned: Learned | None = None,
    tried: Sequence[WhatIf] | None = None,
    moves: WhatMoves | None = None,
    driven: UseStudy | None = None,
) -> Json:
    """The object that `riskmodel weigh --json` prints.

    `learned` is what the records say, `tried` the answer under other assumptions about them,
    `moves` what moves the verdict, `driven` the answer under other habits and where the
    interval of the chance comes from; null where they were not asked for. With symptoms no chance
    and no plan is given: `risk` and `plans` are empty, `recommended` is null and `stop` says
    what to do.
    """
    case = weighing.case
    best = weighing.chosen
    risk, plans = ((), ()) if weighing.stop else (weighing.risk, weighing.all_plans)
    return {
        "unit": case.machine.unit,
        "currency": case.cost.currency,
        "age": weighing.age,
        "effective_age": None if weighing.effective_age is None else _age(weighing.effective_age),
        "keep": weighing.keep,
        "example": example_banner(case),
        "stop": stop_text(case) if weighing.stop else None,
        "verdict": verdict(weighing),
        "risk": [_chance(chance) for chance in risk],
        "plans": [_plan(plan_name(weighing, i), plan) for i, plan in enumerate(plans)],
        "recommended": None if best is None else _recommended(weighing, best),
        "information": _known(weighing),
        "retest": None if weighing.retest is None else _retest(weighing, weighing.retest),
        "sale": None if weighing.sale is None else _sale(weighing.sale),
        "break_even": None if weighing.trade_off is None else _break_even(weighing.trade_off),
        "long_run": None if weighing.long_run is None else _long_run(weighing, weighing.long_run),
        "records": {"parts": weighing.records_used, "failures": weighing.failures_used},
        "other_causes": None if weighing.other_causes is None else _other(weighing.other_causes),
        "life": None if learned is None else learned_json(learned),
        "sensitivity": None if tried is None else sensitivity_json(tried),
        "what_moves": None if moves is None else _moves(moves),
        "habits": None if driven is None else [_habit(each) for each in driven.habits],
        "interval_parts": None if driven is None else _parts(driven.parts),
        "oil": None if weighing.oil is None else _oil(weighing.oil),
        "notes": notes(weighing),
        "cautions": cautions(case),
    }


def _age(age: Range) -> Json:
    return {"median": age.median, "low": age.low, "high": age.high}


def _habit(habit: Habit) -> Json:
    return {
        "key": habit.key,
        "usage_per_year": habit.usage,
        "within_a_year": _ends(habit.chance, "probability"),
        "less_than_as_now": _ends(habit.less, "probability"),
        "replace_at": habit.at,
        "oil_change": habit.service,
        "failure_probability": habit.failure,
        **_ends(habit.cost, "expected_cost"),
        "gained": _ends(habit.gained, "amount"),
    }


def _parts(parts: SpreadParts) -> Json:
    shares = dict(zip(parts.names, parts.shares, strict=True))
    return {**shares, "together": parts.together}


def _ends(interval: Interval, name: str) -> Json:
    return {name: interval.value, "low": interval.low, "high": interval.high}


def _other(other: OtherCauses) -> Json:
    return {
        "failures": other.failures,
        "rate": _ends(other.rate, "value"),
        "within_keep": _ends(other.chance, "probability"),
    }


def _oil(oil: OilTold) -> Json:
    return {
        "samples": oil.samples,
        "used": oil.used,
        "silent": oil.silent,
        "less_warning_than_an_interval": oil.short,
    }


def _chance(chance: Chance) -> Json:
    without = chance.without_oil
    return {
        "what": chance.what,
        "ahead": chance.ahead,
        **_ends(chance.chance, "probability"),
        "without_oil": None if without is None else _ends(without, "probability"),
        "oil_factor": chance.oil_factor,
    }


def _plan(name: str, plan: PlanResult) -> Json:
    return {
        "name": name,
        "at": plan.at,
        "oil_change": plan.service,
        "occasion": None if plan.occasion is None else plan.occasion.kind,
        "failure_probability": plan.failure.value,
        "failure_probability_low": plan.failure.low,
        "failure_probability_high": plan.failure.high,
        "present_part_failure_probability": plan.present_failure.value,
        "present_part_failure_probability_low": plan.present_failure.low,
        "present_part_failure_probability_high": plan.present_failure.high,
        "alarm_probability": plan.alarm.value,
        "alarm_probability_low": plan.alarm.low,
        "alarm_probability_high": plan.alarm.high,
        **_ends(plan.cost, "expected_cost"),
        "bad_case": plan.bad_case,
        "spent_on": None if plan.spent is None else asdict(plan.spent),
        "chance_cheapest": plan.chance_cheapest,
    }


def _moves(moves: WhatMoves) -> Json:
    return {
        "inputs": [
            {
                "key": each.key,
                "settings": list(each.at),
                "now": list(each.now),
                "later": list(each.later),
                "replace_at": list(each.plan),
                "selling": _settings(each.sold),
                "sells": list(each.sells),
                "changes_verdict": each.flips,
                "swing": each.swing,
                "worth_knowing": each.worth,
                "sampling_saves": _settings(each.sampling_saves),
            }
            for each in moves.swings
        ],
        "tips_over_at": {
            "planned": moves.flips.planned,
            "sale_credit": moves.flips.sale_credit,
            "keep_usage": moves.flips.keep,
        },
    }


def _settings(values: Sequence[float] | None) -> list[float] | None:
    return None if values is None else list(values)


def _sale(sale: Sale) -> Json:
    return {
        "value": sale.value,
        "value_later_today": sale.later,
        "break_even_per_year": sale.even,
    }


def _recommended(weighing: Weighing, best: int) -> str:
    return first_step_name(weighing) or plan_name(weighing, best)


def _known(weighing: Weighing) -> Json | None:
    """What more knowledge is worth; that of one more sample is in "retest"."""
    known = weighing.information
    if known is None:
        return None
    sample = None if weighing.retest is None else weighing.retest.saves.value
    return {**_information(known), "sample": sample}


def _information(known: Information) -> Json:
    look = known.inspection
    return {
        "perfect": known.perfect,
        "foresight": known.foresight,
        "inspection": None if look is None else _look(look),
        "sampling": None if known.samples is None else asdict(known.samples),
    }


def _look(look: Inspection) -> Json:
    def after(outcome: AfterLook) -> Json:
        return {
            **_ends(outcome.chance, "probability"),
            "replace_at": outcome.at,
            "fails_before_next_oil_change": _ends(outcome.soon, "probability"),
        }

    return {
        "if_seen": after(look.if_seen),
        "if_not": after(look.if_not),
        "failure": _ends(look.failure, "probability"),
        **_ends(look.cost, "expected_cost"),
        "price": look.price,
        "worth": look.worth,
        "saves": _ends(look.saves, "amount"),
    }


def _retest(weighing: Weighing, retest: Retest) -> Json:
    return {
        "name": retest_name(weighing.case),
        "at": retest.at,
        "acts_at": retest.acts_at,
        "oil_age": retest.oil_age,
        "limits": dict(retest.limits),
        "false_alarm": retest.false_alarm,
        "fails_first": _ends(retest.first, "probability"),
        "if_surge": _branch(retest.if_surge),
        "if_clear": _branch(retest.if_clear),
        "failure": _ends(retest.failure, "probability"),
        "present_part_failure": _ends(retest.present_failure, "probability"),
        "alarm": _ends(retest.alarm, "probability"),
        **_ends(retest.cost, "expected_cost"),
        "saves": _ends(retest.saves, "amount"),
    }


def _branch(branch: RetestBranch) -> Json:
    return {
        **_ends(branch.chance, "probability"),
        "replace_at": branch.at,
        "at_once": branch.at_once,
        "at_short_notice": branch.hurried,
        "fails_before_next_oil_change": _ends(branch.soon, "probability"),
    }


def _long_run(weighing: Weighing, found: LongRun) -> Json:
    year = weighing.case.machine.usage_per_year
    low, high = found.window
    return {
        "age": found.age,
        "age_low": found.age_low,
        "age_high": found.age_high,
        "cost_per_unit": found.cost.value,
        "cost_per_unit_low": found.cost.low,
        "cost_per_unit_high": found.cost.high,
        "cost_per_year": year * found.cost.value,
        "never": _ends(found.never, "cost_per_unit"),
        "never_best": found.never_best,
        "within_5_percent": {"from": low, "to": high},
        "failure_before_age": _ends(found.failure, "probability"),
        "planned": found.planned,
        "failure": found.failed,
    }


def _break_even(trade_off: TradeOff) -> Json:
    return {
        "failure_cost": trade_off.break_even_failure_price,
        "probability": trade_off.break_even_chance,
    }
