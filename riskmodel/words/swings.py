"""Which figure moves the verdict most, and at which figure it tips over, in words."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from riskmodel.decision.flips import Flips
from riskmodel.decision.results import Weighing
from riskmodel.decision.swings import Swing
from riskmodel.records.inputs import INPUTS
from riskmodel.words import formats
from riskmodel.words.plan_names import plan_short

HEADING = "What moves the verdict most"
_LABELS = {entry.key: entry.label for entry in INPUTS}
_OWN = {
    "life.curve": "Life curve (failures while you keep it, of 100)",
    "oil.element.rise": "Rise of wear before failure (times as judged)",
    "warning.lead_life": "Warning lead and life going together (correlation)",
    "oil.misleading": "Misleading samples (of 100)",
    "oil.shared_scatter": "Scatter shared within a sample (of 100)",
    "warning.silent": "Silent failures (of 100)",
    "cost.install_fault": "Fitting faults (of 100)",
    "cost.planned": "Price of the job in time",
    "cost.urgent": "Price of the job at short notice",
    "cost.failure": "Price of a failure",
    "cost.found_worn": "More if found worn",
    "cost.investigation": "Price of looking into an alarm",
    "cost.sample": "Price of an oil sample",
    "cost.oil_change": "Price of an oil change",
    "plan.new_part_life": "Life of the new part (times the first)",
    "warning.lead_factor": "Length of warnings (times as judged)",
}
_OF_100 = {
    "life.curve", "oil.misleading", "oil.shared_scatter", "warning.silent", "cost.install_fault",
}  # fmt: skip
_AS_JUDGED = {"oil.element.rise", "warning.lead_factor"}
OF_SALE = {"plan.do_without", "machine.upkeep", "machine.value_later"}
"""What selling hangs on: told is what that costs more than keeping the machine."""
_RESTS_ON = {
    "warning.lead_factor": "with warnings {} times as long as judged",
    "warning.silent": "with {} of 100 failures silent",
}
"""What the worth of sampling rests on, by the setting."""
SMALL = 0.002
"""What is worth less than this share of the cost is not worth finding out first (judgement)."""

ALONE = (
    "Only one plan can be had before you part with it, as the workshop is booked for longer: no "
    "figure moves that choice."
)


def name(swing: Swing) -> str:
    """The input, with its unit where it has one."""
    return _OWN.get(swing.key) or _LABELS.get(swing.key, swing.key)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _in_a_sentence(swing: Swing) -> str:
    """The input without its unit, which stands in the table."""
    return _lower(name(swing).partition(" (")[0])


def swing_sentences(w: Weighing, found: Sequence[Swing]) -> list[str]:
    """What moves the choice most, what could flip it, and what to find out first."""
    if w.recommended is None or not found:
        return [ALONE] if len(w.open_plans) == 1 else []
    currency, first = w.case.cost.currency, w.plans[w.open_plans[0]]
    flip = [_in_a_sentence(each) for each in found if each.flips]
    top = [f"{_in_a_sentence(e)} ({formats.money(e.swing, currency)})" for e in found[:3]]
    worth = max(found, key=lambda each: each.worth)
    these = "this alone" if len(flip) == 1 else "each of these"
    flips = (
        f"On its own, within its range, {these} changes the verdict: {formats.listed(flip)}."
        if flip
        else "None of them on its own, within its range, changes the verdict."
    )
    cost = first.cost.value if w.best is None else w.best.cost.value
    find = "None of them is worth much to find out first."
    if worth.worth > SMALL * abs(cost):
        find = (
            f"Most worth finding out first: {_in_a_sentence(worth)}; knowing it exactly would "
            f"be worth about {formats.money(worth.worth, currency)}."
        )
    moved = "what waiting costs against replacing first thing"
    if len(w.open_plans) == 1:
        moved = "what selling costs against keeping it"
    elif any(each.key in OF_SALE for each in found):
        moved += ", or selling against keeping it"
    return [
        "Each figure not known was put to the ends of its range, all else as it is. How far "
        f"that moves {moved}: {formats.listed(top)}.",
        flips,
        find,
        *_sampling(w, found),
    ]


def _sampling(w: Weighing, found: Sequence[Swing]) -> list[str]:
    """What samples to come save or cost as it stands, and at the ends of what they rest on."""
    known = None if w.information is None else w.information.samples
    rows = {each.key: each for each in found if each.sampling_saves is not None}
    if known is None or not rows:
        return []
    step = formats.money_step(known.cost)

    def worth(saves: float) -> str:
        gap = formats.rounded_money(abs(saves), step)
        side = "saves" if saves > 0 else "costs"
        told = formats.money(gap, w.case.cost.currency, step)
        return "comes to the same" if gap <= 0 else f"{side} about {told}"

    ends: list[tuple[str, float]] = []
    for key, such in _RESTS_ON.items():
        if key in rows:
            row = rows[key]
            assert row.sampling_saves is not None
            for i in (0, 2):
                ends.append((such.format(_setting(row, i)), row.sampling_saves[i]))
    rest = formats.listed([f"{such} it {worth(saves)}" for such, saves in ends])
    if max(abs(saves - known.saves) for _, saves in ends) < 2 * step:
        rest = "about as much at the ends of what is judged of warnings and silent failures"
    return [
        "Sampling at every oil change, its price and false alarms counted, "
        f"{worth(known.saves)} as it stands; {rest}. Both are judgements: nobody has measured "
        "them for engines at large."
    ]


def swing_table(w: Weighing, found: Sequence[Swing]) -> pd.DataFrame:
    """Every input, the one that moves most first."""
    currency = w.case.cost.currency
    return pd.DataFrame(
        [
            {
                "Figure": name(each),
                "Lowest to highest": f"{_setting(each, 0)} to {_setting(each, 2)}",
                "Waiting costs, at the lowest": _more(each, 0, currency),
                "Waiting costs, at the highest": _more(each, 2, currency),
                "Verdict at the lowest": _plan(w, each, 0),
                "Verdict at the highest": _plan(w, each, 2),
                "Worth knowing exactly": formats.money(each.worth, currency),
            }
            for each in found
        ]
    )


def flip_sentences(w: Weighing, found: Flips) -> list[str]:
    """At which price, credit and keep-until the choice between first thing and later tips over."""
    if w.recommended is None or len(w.open_plans) < 2:
        return []
    currency, case = w.case.cost.currency, w.case
    stands = "waiting" if found.waits else "replacing first thing"
    planned, keep = formats.money(case.cost.planned.mean, currency), case.keep
    told = [
        f"As it stands {stands} costs less. The other way round from: "
        + "; ".join(
            [
                _flip("the price of the job", found.planned, planned, currency),
                _flip(
                    "what a documented job adds at sale",
                    found.sale_credit,
                    formats.money(case.cost.sale_credit.mean, currency),
                    currency,
                ),
                _keep(found.keep, keep, case.machine.usage_per_year),
            ]
        )
        + "."
    ]
    return told


def _flip(what: str, at: float | None, today: str, currency: str) -> str:
    if at is None:
        return f"{what}, no figure within reach (now {today})"
    return f"{what}, about {formats.money(at, currency)} (now {today})"


def _keep(at: float | None, today: float, per_year: float) -> str:
    now = f"{today / per_year:.2g} years"
    if at is None:
        return f"how long you keep it, no time within reach (now {now})"
    return f"how long you keep it, about {at / per_year:.2g} years (now {now})"


def _told(swing: Swing, end: int) -> float:
    return swing.at[end] * (100 if swing.key in _OF_100 else 1)


def _setting(swing: Swing, end: int) -> str:
    digits = 2 if swing.key in _OF_100 | _AS_JUDGED else 3
    return formats.exact(float(f"{_told(swing, end):.{digits}g}"))


def _more(swing: Swing, end: int, currency: str) -> str:
    """What the later plan, or selling, costs more or less than the other: "EUR 220 less"."""
    more = swing.later[end] - swing.now[end]
    told = f"{formats.money(abs(more), currency)} {'more' if more > 0 else 'less'}"
    told = told if formats.rounded_money(more) else "the same"
    return f"selling: {told}" if swing.key in OF_SALE else told


def _plan(w: Weighing, swing: Swing, end: int) -> str:
    if swing.sells[end]:
        return plan_short(w, len(w.plans))
    at = swing.plan[end]
    return next((plan_short(w, i) for i, plan in enumerate(w.plans) if plan.at == at), "")
