"""The best age to replace new parts at over the long run, in words."""

from __future__ import annotations

from riskmodel.decision.results import Interval, LongRun, Weighing
from riskmodel.records.case import Case
from riskmodel.words import formats

HEADING = "Over the long run"
TITLE = "What new parts cost"
KEY = ["line: on average; band: nine times in ten", "shaded: within 5 % of the least"]
MORE = "How it is worked out, and the rate at other ages"
BEST_LABEL, NEVER_LABEL = "costs least", "replaced only after a failure"


def per(case: Case) -> float:
    """Usage that a rate is told for: a thousand kilometres or miles, a hundred hours."""
    return 100.0 if case.machine.unit == "h" else 1000.0


def per_phrase(case: Case) -> str:
    """ "per 1,000 km"."""
    return f"per {formats.usage(per(case), case.machine.unit)}"


def rate(case: Case, cost: float) -> str:
    """ "EUR 64 per 1,000 km"."""
    return f"{formats.money(cost * per(case), case.cost.currency)} {per_phrase(case)}"


def age(case: Case, value: float) -> str:
    """An age, no finer than it is known: "77,300 km"."""
    return f"{formats.significant(value)}{formats.NBSP}{case.machine.unit}"


def lead(w: Weighing) -> list[str]:
    """One or two sentences; empty beside symptoms."""
    found = w.long_run
    if found is None:
        return []
    if found.age is None:
        return [_never(w, found)]
    return [_best(w, found, found.age), _window(w, found)]


def details(w: Weighing) -> list[str]:
    """What the figures rest on."""
    found, currency = w.long_run, w.case.cost.currency
    if found is None:
        return []
    told = [
        "The rule is the textbook one: each part is replaced when it fails or at a fixed age, "
        "whichever comes first, by a new one, for ever, and no money is discounted. It is no "
        "advice on the part that is in now: that one has lasted so far, and you will not keep the "
        "engine for ever. The plans count both.",
        f"Replacing in time costs {formats.money(found.planned, currency)} on average, what a "
        f"fitting fault may cost included; a failure {formats.money(found.failed, currency)} in "
        "all, its consequences included. What it costs more to find a part worn is counted; oil "
        "changes, samples, alarms and the worth at sale are not.",
    ]
    if found.age is not None:
        told.append(
            f"Of 100 parts replaced at that age {formats.count(found.failure.value)} would fail "
            f"before ({formats.between(found.failure)}). The cheapest age is no limit to trust a "
            "part up to."
        )
        if found.never_best >= 0.01:
            told.append(
                f"In {formats.of_100(found.never_best)} ways that what is not known could turn "
                "out, no age would cost less than waiting for the failure."
            )
    return told


def caption(w: Weighing) -> str:
    """What the chart shows, in a sentence."""
    found = w.long_run
    if found is None:
        return ""
    if found.age is None:
        return (
            "What new parts cost on average, by the age at which they are replaced: the later, the "
            f"less, down to {rate(w.case, found.never.value)} where only failures end them."
        )
    return (
        f"What new parts cost on average, by the age at which they are replaced: least at about "
        f"{age(w.case, found.age)}, {_shape(w, found)}."
    )


def _shape(w: Weighing, found: LongRun) -> str:
    low, high = found.window
    if high is None:
        return f"and hardly more at any age from {age(w.case, low)} on"
    return f"and hardly more from {age(w.case, low)} to {age(w.case, high)}"


def _best(w: Weighing, found: LongRun, best: float) -> str:
    case = w.case
    yearly = formats.money(found.cost.value * case.machine.usage_per_year, case.cost.currency)
    return (
        f"If such parts were fitted one after another for ever, it would cost least to replace "
        f"each at about {age(case, best)} ({_ages(case, found)}). That is about "
        f"{rate(case, found.cost.value)} ({_ends(case, found.cost)}), or {yearly} a year, against "
        f"{rate(case, found.never.value)} ({_ends(case, found.never)}) if each stays in until it "
        "fails."
    )


def _window(w: Weighing, found: LongRun) -> str:
    case, (low, high) = w.case, found.window
    if high is None:
        return (
            f"The exact age matters little: any from about {age(case, low)} on, or none at all, "
            "costs within 5 % of the least."
        )
    return (
        f"The exact age matters little: any between about {age(case, low)} and {age(case, high)} "
        "costs within 5 % of the least."
    )


def _never(w: Weighing, found: LongRun) -> str:
    case = w.case
    why = "a new part is no likelier to last than an old one"
    if found.failed <= found.planned:
        why = "a failure costs no more than the job"
    return (
        f"Over the long run, never replace such parts for their age: {why}, on these figures. "
        f"They cost about {rate(case, found.never.value)} ({_ends(case, found.never)})."
    )


def _ages(case: Case, found: LongRun) -> str:
    low, high = found.age_low, found.age_high
    if low is None:
        return "or never"
    if high is None:
        return f"nine times in ten at {age(case, low)} or later, or never"
    return f"nine times in ten between {age(case, low)} and {age(case, high)}"


def _ends(case: Case, cost: Interval) -> str:
    low, high = cost.low * per(case), cost.high * per(case)
    return formats.money_range(low, high, "")
