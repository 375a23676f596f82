"""Samples against the engine's own usual level, in words: for the eye, not for the decision."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from riskmodel.decision.results import Interval
from riskmodel.oil.limits import FEWEST, OwnLimit
from riskmodel.oil.mass_balance import SampleRates
from riskmodel.records.case import Case
from riskmodel.words import formats
from riskmodel.words.oil_names import elements, laboratory_changes, samples

Limits = Mapping[str, OwnLimit | None]


def limit_sentences(case: Case, rows: Sequence[SampleRates], limits: Limits) -> list[str]:
    """Which samples lie above the limit that the engine's other samples set, by element.

    `limits` are those of `riskmodel.oil.limits.own_limits(rows, false_alarm)`; [] without rows.
    """
    if not rows:
        return []
    told = {symbol: limit for symbol, limit in limits.items() if limit is not None}
    found = [*_above(case, rows, told), _latest(case, rows, told), _too_few(limits)]
    found += [_laboratories(case, rows)] if told else []
    if told:
        found += [_false_alarms(case, told), _for_the_eye()]
    return [text for text in found if text]


def _above(case: Case, rows: Sequence[SampleRates], limits: Mapping[str, OwnLimit]) -> list[str]:
    """Samples that count and lie above, then those of the break-in; metals that tell the same
    in one sentence."""
    shed = {e.symbol for e in case.oil.element if e.from_part}
    found: dict[tuple[bool, bool, tuple[int, ...]], list[str]] = {}
    for symbol, limit in limits.items():
        for new in (False, True):
            places = tuple(i for i in limit.above if rows[i].used != new)
            if places:
                found.setdefault((new, symbol not in shed, places), []).append(symbol)
    if not found and limits:
        return [
            "No sample lies above the limit that the engine's other samples set for it. That is no "
            "all-clear."
        ]
    return [
        _told(case, symbols, [rows[i] for i in places], new, elsewhere)
        for (new, elsewhere, places), symbols in sorted(found.items())
    ]


def _told(
    case: Case, symbols: list[str], above: list[SampleRates], new: bool, elsewhere: bool
) -> str:
    one = len(above) == 1
    text = f"{formats.sentence(elements(symbols))}"
    if elsewhere:
        text += " (no evidence on the part)"
    text += (
        f": the {'sample' if one else 'samples'} at {samples(case, above)} "
        f"{'lies' if one else 'lie'} above the limit that the engine's other samples set."
    )
    if new:
        drawn = "It was" if one else "They were"
        text += f" {drawn} drawn while the part was new, when that is to be expected."
    return text


def _latest(case: Case, rows: Sequence[SampleRates], limits: Mapping[str, OwnLimit]) -> str:
    """What to do where the latest sample is the one above, by a metal of the part."""
    last = len(rows) - 1
    own = [e.symbol for e in case.oil.element if e.from_part]
    if not rows[last].used or not any(last in limits[s].above for s in own if s in limits):
        return ""
    return (
        "That is the latest sample: cut the filter open and draw a second sample now, whatever the "
        "figures here say; a rise far beyond any seen before a failure counts here mostly as a "
        "mistake with the bottle, and a second sample tells which it is. With a knock, low oil "
        "pressure or metal in the filter: stop, do not start the engine, have it towed."
    )


def _laboratories(case: Case, rows: Sequence[SampleRates]) -> str:
    """That the limits are drawn through the readings of all laboratories alike."""
    changed = laboratory_changes(case, rows)
    if not changed:
        return ""
    return (
        f"The laboratory changed: {changed}. Two laboratories read the same oil differently, and "
        "these limits know nothing of that: a sample may lie above, or below, only because another "
        "one read it. The chances allow for it."
    )


def _too_few(limits: Limits) -> str:
    few = [symbol for symbol, limit in limits.items() if limit is None]
    if not few:
        return ""
    return (
        f"For {elements(few)} there are fewer than {FEWEST} samples that count: too few for a "
        "usual level of the engine's own."
    )


def _false_alarms(case: Case, limits: Mapping[str, OwnLimit]) -> str:
    chance = case.oil.false_alarm
    one = formats.share_of_100(chance)
    text = (
        f"The limits are drawn so that, if nothing has changed, {one} of 100 samples of one metal "
        "would lie above its limit all the same (by choice; if readings scatter as they did so far)"
    )
    if len(limits) == 1:
        return f"{text}."
    either = float(-np.expm1(len(limits) * np.log1p(-chance)))
    most = formats.outward(Interval(either, 0.0, either))[1]
    return (
        f"{text}. Several metals alarm oftener together than one alone: with {len(limits)} of them "
        f"up to {most} of 100 samples lie above one limit or another."
    )


def _for_the_eye() -> str:
    return (
        "The limits are for the eye and decide nothing: the chances weigh every sample by how much "
        "likelier it is with distress than without, whichever side of a limit it lies on."
    )
