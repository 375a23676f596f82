"""The figures behind each chart, as frames with headings that a person can read."""

from __future__ import annotations

import pandas as pd

from riskmodel.charts.engines import FAILS, LASTS, MAY_FAIL, icon_states
from riskmodel.decision.results import Interval, Weighing
from riskmodel.words import formats, plan_name
from riskmodel.words import spent as words_spent
from riskmodel.words.near_ties import marked
from riskmodel.words.plan_names import keep_phrase

_AHEAD_ROWS = 13


def plans(w: Weighing, shown: list[int] | None = None) -> pd.DataFrame:
    """Every plan, or those of `shown`: its cost, its failures, its bad case."""
    currency = w.case.cost.currency
    each = range(len(w.all_plans)) if shown is None else shown
    frame = pd.DataFrame(
        [
            {
                "Plan": marked(plan_name(w, i), w, w.all_plans[i].failure),
                "Average cost": _cost(w.all_plans[i].cost, currency),
                "Failures of 100": formats.chance_short(
                    w.all_plans[i].failure, w.case.plan.most_risk
                ),
                "Failures of the part in it now": formats.chance_short(
                    w.all_plans[i].present_failure
                ),
                "Replaced on an alarm, of 100": formats.chance_short(w.all_plans[i].alarm),
                "Bad case": formats.money(w.all_plans[i].bad_case, currency),
                "Cheapest, of 100": formats.count_short(w.all_plans[i].chance_cheapest),
            }
            for i in each
        ]
    )
    return frame if w.case.sampled else frame.drop(columns="Replaced on an alarm, of 100")


def spent(w: Weighing) -> pd.DataFrame:
    """What the soonest plan, the best that keeps the machine and never cost, by what for."""
    shown = words_spent.compared(w)
    frame = pd.DataFrame(words_spent.rows(w, shown))
    money = f", {w.case.cost.currency}" if w.case.cost.currency else ""
    frame.columns = pd.Index([f"Spent on{money}", *(plan_name(w, i) for i in shown)])
    return frame


def plans_note(w: Weighing) -> str:
    """What the columns of the table of plans mean."""
    told = (
        f"All within {keep_phrase(w.case)}. In brackets: nine times in ten the true figure lies "
        "there. Failures include new parts and fitting faults. Bad case: one in twenty pays more. "
        "Cheapest: in how many of 100 ways that what is not known could turn out; luck aside."
    )
    if all(plan.bad_case >= plan.cost.value for plan in w.all_plans):
        return told
    return (
        f"{told} Where fewer than one in twenty meet a failure the bad case is one without, and "
        "may lie below the average, which counts the few that do."
    )


def trade_off(w: Weighing) -> pd.DataFrame:
    """Both costs at chances from none to beyond the crossing."""
    trade = w.trade_off
    if trade is None:
        return pd.DataFrame()
    currency = w.case.cost.currency
    named = {"This engine": trade.chance.value}
    if trade.break_even_chance is not None:
        named["Where the costs cross"] = trade.break_even_chance
    named |= {"The part lasts": 0.0, "The part fails": 1.0}
    return pd.DataFrame(
        [
            {
                "At": what,
                "Failures of 100 before the next oil change": _chance(what, chance, trade.chance),
                "Cost of replacing now": formats.money(trade.now.value, currency),
                "Cost of waiting": formats.money(
                    (1 - chance) * trade.if_lasts + chance * trade.if_fails, currency
                ),
            }
            for what, chance in named.items()
        ]
    )


def ahead(w: Weighing) -> pd.DataFrame:
    """The chance that the part has failed, at even steps of usage from now and at the end."""
    unit, curve = w.case.machine.unit, w.ahead
    every = max(1, (len(curve.usage) - 1) // (_AHEAD_ROWS - 1))
    last = len(curve.usage) - 1
    at = [f"{formats.significant(usage)}{formats.NBSP}{unit}" for usage in curve.usage.tolist()]
    return pd.DataFrame(
        [
            {
                "Usage from now": at[i],
                "Failed of 100": formats.chance_short(
                    Interval(float(curve.chance[i]), float(curve.low[i]), float(curve.high[i]))
                ),
            }
            for i in [*range(0, last - every // 2, every), last]
        ]
    )


def engines(chance: Interval) -> pd.DataFrame:
    """How many of 100 engines are drawn as what."""
    states = icon_states(chance)
    names = {
        FAILS: "Would fail (filled cross)",
        MAY_FAIL: "May fail besides (open cross)",
        LASTS: "Would not (dot)",
    }
    return pd.DataFrame(
        [{"Engines": name, "Of 100": states.count(state)} for state, name in names.items()]
    )


def _cost(cost: Interval, currency: str) -> str:
    return f"{formats.money(cost.value, currency)} ({formats.money_range(cost.low, cost.high, '')})"


def _chance(what: str, chance: float, engine: Interval) -> str:
    if chance in (0.0, 1.0):
        return f"{100 * chance:.0f}"
    return formats.chance_short(engine) if what == "This engine" else formats.count(chance)
