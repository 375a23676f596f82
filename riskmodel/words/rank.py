"""The ranking of many machines in words."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence

from riskmodel.decision.rank_standings import Kind, Ranking, Standing
from riskmodel.records.inputs import Unit
from riskmodel.records.log.fold import LEAST_TO_CHANGE
from riskmodel.words import formats
from riskmodel.words.oil_times import times_as_likely
from riskmodel.words.plan_names import (
    INSPECTION_NAME,
    NEVER,
    NEVER_SAMPLED,
    SALE_NAME,
    lower_first,
    retest_named,
)

HEADING = "What waiting until the next oil change costs"
MEANING = (
    "Waiting costs: the average cost of the cheapest plan that does not replace the part before "
    "the next oil change, less that of replacing it now. Below 0 waiting is the cheaper; a machine "
    "whose part the owner's limit has replaced before then stands before those that can wait."
)
QUICK = (
    "Machines that were not weighed fully are weighed by a quick form of the model, close to the "
    "full one but not the same, and without a look or a second sample first; weigh a machine on "
    "its own before deciding about it."
)
CAUTION = (
    "This estimates; it inspects nothing. A low place in the list is no all-clear. Stop at once if "
    "oil pressure drops, if it knocks, or if there is metal in the filter. The procedures of "
    "the maker, local rules and a qualified mechanic come first."
)
STOP = "Stop: do not start it; have it towed. With symptoms nothing is weighed."
NO_MACHINE = "No machine to rank."
ALONE = "One machine: there is none to rank it against."
NONE_WITH_CODE = "No machine whose part has the code {code}."
ADVICE = "Advice"
STEPS: Mapping[Kind, str] = {"sale": "a sale", "inspection": "a look", "retest": "a second sample"}
"""What a verdict may name instead of a plan that replaces the part."""


def why(s: Standing) -> str:
    """Why a machine stands where it does, in a few sentences."""
    if s.symptoms:
        return f"{formats.sentence(formats.listed(list(s.symptoms)))}. {STOP}"
    found = []
    if s.overdue_days:
        found.append(
            f"A sample is overdue by {formats.plural(s.overdue_days, 'day')}: ask for the result "
            "before anything else."
        )
    if s.chance is not None and s.until is not None:
        found.append(
            f"{formats.sentence(formats.chance(s.chance))} would fail before the next oil change"
            f"{_next_change(s.until, s.unit)}{_oil(s)}."
        )
    found += [_cost(s), _limit(s), _instead(s), _unweighed(s)]
    return " ".join(text for text in found if text)


def _next_change(until: float, unit: Unit) -> str:
    if until <= LEAST_TO_CHANGE:
        return ", which is due"
    return f" in {formats.usage(until, unit)}"


def _oil(s: Standing) -> str:
    if s.oil_factor is None:
        return ""
    return f"; its samples make that {times_as_likely(s.oil_factor)}"


def _cost(s: Standing) -> str:
    if s.waiting is None:
        return ""
    amount = formats.money(abs(s.waiting), s.currency)
    if s.waiting > 0:
        return f"Waiting until then costs {amount} more than replacing now."
    return f"Waiting until then costs {amount} less than replacing now."


def _limit(s: Standing) -> str:
    """What the owner's limit on failures does to the plan named."""
    if s.most_risk is None or s.failure is None or s.instead is not None:
        return ""
    limit = f"the limit of {formats.share_of_100(s.most_risk)} failures of 100"
    if s.failure > s.most_risk:
        return f"No plan keeps to {limit}: “{_kept(s)}” is the cheapest of all."
    if s.limit_costs is None or s.limit_costs <= 0:
        return ""
    amount = formats.money(s.limit_costs, s.currency)
    return f"“{_kept(s)}” keeps to {limit}, for {amount} more than the cheapest plan of all."


def _instead(s: Standing) -> str:
    """What the verdict names instead of the best plan that keeps the machine, and why."""
    if s.instead is None or s.instead_saves is None:
        return ""
    amount = formats.money(abs(s.instead_saves), s.currency)
    told = f"{amount} {'less' if s.instead_saves > 0 else 'more'} than “{_kept(s)}”"
    if s.instead == "sale":
        alone = "" if s.instead_saves > 0 else " and alone keeps to the limit on failures"
        return f"{SALE_NAME}: that costs {told}, the best plan that keeps it{alone}."
    return f"{_named(s)}: that costs {told}, the best plan without it."


def _unweighed(s: Standing) -> str:
    """What only weighing in full tells."""
    if not s.unweighed:
        return ""
    told = " or ".join(STEPS[kind] for kind in s.unweighed)
    return f"{formats.sentence(told)} first may be worth it: weigh this one in full."


def _named(s: Standing) -> str:
    """What the verdict names instead of a plan that replaces the part, in full."""
    if s.instead == "retest" and s.instead_at is not None:
        return retest_named(s.instead_at, s.unit)
    return INSPECTION_NAME if s.instead == "inspection" else SALE_NAME


def _kept(s: Standing) -> str:
    """The best plan that keeps the machine, in full."""
    if s.best_at is None:
        return NEVER_SAMPLED if s.sampled else NEVER
    return f"Replace {plan(s) if s.instead is None else _when(s)}"


def advice(s: Standing) -> str:
    """What to do: "replace now", "replace in 8,000 km, March 2027", "replace only if a sample
    alarms", "sell it today, the buyer told", "look at the part first, then decide"."""
    if s.symptoms:
        return "stop"
    if s.waiting is None:
        return ""
    return lower_first(_kept(s) if s.instead is None else _named(s))


def plan(s: Standing) -> str:
    """The best plan that keeps the machine: "now", "in 8,000 km, March 2027", "not while you keep
    it"."""
    if s.symptoms:
        return "stop"
    if s.best_at is None:
        return "not while you keep it"
    text = _when(s)
    if s.best_at == 0 or s.due is None or s.instead is not None:
        return text
    return f"{text}, {month(s.due[:7])}"


def _when(s: Standing) -> str:
    """The usage from now at which that plan replaces the part."""
    if not s.best_at:
        return "now"
    return f"in {formats.usage(float(f'{s.best_at:.3g}'), s.unit)}"


def month(told: str) -> str:
    """ "December 2026" from "2026-12"."""
    year, number = told.split("-")
    return f"{datetime.date(int(year), int(number), 1):%B %Y}"


def summary(ranking: Ranking, shown: Sequence[Standing]) -> list[str]:
    """How many machines there are, and how many want what."""
    many = len(shown)
    if not many:
        return [NO_MACHINE, *_not_weighed(ranking)]
    stop = sum(bool(s.symptoms) for s in shown)
    late = sum(bool(s.overdue_days) for s in shown)
    found = [f"{formats.plural(many, 'machine')}, the most urgent first." if many > 1 else ALONE]
    if stop:
        towed = "it" if stop == 1 else "them"
        found.append(
            f"{formats.plural(stop, 'machine')} with symptoms: stop, and have {towed} towed."
        )
    if late:
        found.append(f"{formats.plural(late, 'machine')} with an overdue sample.")
    if many > 1:  # of one alone its reasons say it
        found += _counts(shown)
    if len(ranking.currencies) > 1:
        told = formats.listed([name or "no currency" for name in ranking.currencies])
        found.append(
            f"Amounts are in {told}: they are compared as plain numbers, so rank each currency on "
            "its own."
        )
    full = sum(s.full for s in shown)
    if full:
        found.append(f"{formats.plural(full, 'machine')} weighed fully (marked *).")
    return found + _not_weighed(ranking)


def _counts(shown: Sequence[Standing]) -> list[str]:
    """For how many of those shown what is the cheapest."""
    many = len(shown)
    dear = sum(s.waiting is not None and s.waiting > 0 for s in shown)
    found = [f"For {dear} of {many} replacing now is cheaper than waiting."]
    if sold := sum(s.instead == "sale" for s in shown):
        found.append(f"For {sold} of {many} it costs least to sell it today, the buyer told.")
    if first := sum(s.instead in ("inspection", "retest") for s in shown):
        found.append(f"For {first} of {many} it costs least to find out more first.")
    return found


def _not_weighed(ranking: Ranking) -> list[str]:
    """How many machines have no place, of all."""
    many = len(ranking.unread)
    if not many:
        return []
    return [f"{formats.plural(many, 'machine')} could not be weighed: why is told below."]


def called(s: Standing, among: Sequence[Standing]) -> str:
    """A machine's own name, with what its source calls it where another has the same."""
    alike = sum(each.machine == s.machine for each in among)
    return s.machine if alike < 2 or s.machine == s.name else f"{s.machine} ({s.name})"


def booking(found: Sequence[Standing], told: str) -> list[str]:
    """What is to be booked by the end of a month, a sentence a machine."""
    if not found:
        return [f"Nothing to book by the end of {month(told)}, as the plans stand."]
    return [
        f"{called(s, found)}: {advice(s)}"
        + (f"; book by {formats.day(s.book_by)}" if s.book_by is not None else "")
        + "."
        for s in found
    ]
