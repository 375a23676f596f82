"""The chance of failure in the owner's report: a table, and what stands beside it."""

from __future__ import annotations

from riskmodel.decision.results import Chance, Weighing
from riskmodel.words import formats
from riskmodel.words.chances import INTERVAL_MEANING, main_assumption, reference_class
from riskmodel.words.oil_names import many_laboratories
from riskmodel.words.oil_times import about_one, times_as_likely
from riskmodel.words.plan_names import keep_phrase

COLUMNS = ("Left in, of 100 engines like this one", "would fail", "nine times in ten")
CHART = "Of 100 engines, failed by then"
SHADED = "Shaded: nine times in ten"
_SOON = "next_oil_change"


def rows(w: Weighing) -> list[tuple[str, str, str]]:
    """By the next oil change, within a year, within keep-until; under `COLUMNS`."""
    return [_row(w, found) for found in w.risk]


def sentences(w: Weighing) -> list[str]:
    """What the samples did to it, failures of other causes, whom it speaks of, what it assumes."""
    found = [_other_causes(w), _samples(w), reference_class(w), assumption(w)]
    return [text for text in found if text]


def assumption(w: Weighing) -> str:
    """What the chances rest on most."""
    return main_assumption(w).removesuffix(f" {INTERVAL_MEANING}")


def _row(w: Weighing, found: Chance) -> tuple[str, str, str]:
    ahead = formats.usage(found.ahead, w.case.machine.unit)
    by = {
        _SOON: "before the next oil change",
        "one_year": "within one year",
        "keep_until": f"within {keep_phrase(w.case)}",
    }[found.what]
    count = formats.count(found.chance.value)
    return (
        by if ahead in by else f"{by} ({ahead})",
        count if " " in count else f"about {count}",
        formats.between(found.chance),
    )


def _samples(w: Weighing) -> str:
    soon = next((found for found in w.risk if found.what == _SOON), None)
    if soon is None or soon.without_oil is None or soon.oil_factor is None:
        return ""
    several = many_laboratories(w.case)
    whose = (
        f", read by {several} laboratories, each judged by its own level," if several > 1 else ""
    )
    if about_one(soon.oil_factor):
        return f"The oil samples{whose} are counted in these chances, and hardly change them."
    return (
        f"The oil samples{whose} are counted: before the next oil change they make failure "
        f"{times_as_likely(soon.oil_factor)} as without, {formats.chance(soon.without_oil)}."
    )


def _other_causes(w: Weighing) -> str:
    if w.other_causes is None:
        return ""
    never = ""
    if w.plans[-1].at is None and not w.case.sampled:
        never = f", so that “Never” has {formats.count(w.plans[-1].failure.value)} as well, "
        never += formats.between(w.plans[-1].failure)
    return (
        "These are failures by wear. Other causes add probably "
        f"{formats.chance(w.other_causes.chance)} in all that time. The choices below count "
        f"both{never}."
    )
