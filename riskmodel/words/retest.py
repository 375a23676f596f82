"""Sampling again soon, then deciding: its cost, what either result would mean, what it rests on."""

from __future__ import annotations

from riskmodel.decision.results import Retest, RetestBranch, Weighing
from riskmodel.words import first_step, formats
from riskmodel.words.oil_names import element
from riskmodel.words.plan_names import retest_name

HEADING = "A second sample soon"
_ASSUMPTION = (
    "Main assumption: distress shows in oil that has run so little as the course of wear says, "
    "which is a judgement; a laboratory's rounding is counted. A clear result does not rule it out."
)


def retest_sentences(w: Weighing) -> list[str]:
    """Empty where no second sample was weighed."""
    found = w.retest
    if found is None or w.recommended is None:
        return []
    return [
        first_step.cost_sentence(w, retest_name(w.case), found.cost, found.saves),
        f"{_outcome(w, 'show a surge', found.if_surge)} {_limits(found)}".strip(),
        _outcome(w, "show no surge", found.if_clear),
        f"Until the result is in ({formats.usage(found.acts_at, w.case.machine.unit)} from now), "
        f"{formats.chance(found.first)} would fail; {first_step.failures(w, found.failure)}",
        _ASSUMPTION,
    ]


def _outcome(w: Weighing, shows: str, then: RetestBranch) -> str:
    return first_step.outcome(
        w, shows, then.chance, then.soon, then.at, at_once=then.at_once, hurried=then.hurried
    )


def _limits(found: Retest) -> str:
    """What counts as a surge, in ppm of each element alone."""
    told = [
        f"{element(symbol)} above {formats.exact(float(f'{limit:.2g}'))} ppm"
        for symbol, limit in found.limits.items()
        if limit < 1e4
    ]
    if not told:
        return ""
    return (
        f"A surge means {formats.listed(told, 'or')}, each on its own; less is enough where "
        f"several rise together. Without distress {formats.of_100(found.false_alarm)} would pass "
        "that."
    )
