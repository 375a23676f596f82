"""Limits that other engines' samples set, in words: for the eye, not for the decision."""

from __future__ import annotations

from collections.abc import Sequence

from riskmodel.oil.fleet import Drawn, Fleet, FleetElement, lying_above
from riskmodel.oil.limits import FEWEST_NORMAL
from riskmodel.oil.mass_balance import SampleRates
from riskmodel.records.case import Case
from riskmodel.words import formats
from riskmodel.words.oil_fleet import figure, in_order
from riskmodel.words.oil_names import element, elements, samples

LIMITS = "Limits from other engines, for the eye"
CHART_KEY = (
    "Dotted: limits that the samples of other engines set. 90 of 100: so many of their samples lie "
    "below it; s.d.: so many standard deviations above their mean, on a scale of ratios."
)
NOT_DRAWN = (
    "A limit far above everything that this engine has shown is told below and not drawn, so that "
    "the samples can still be told apart."
)


def limit_sentences(case: Case, rows: Sequence[SampleRates], fleet: Fleet) -> list[str]:
    """The limits of each metal, which of this engine's samples lie above which, and what the
    limits are not."""
    held = in_order(case, fleet.elements)
    told = [_limits(case, rows, one) for one in held if one.drawn]
    few = [one.symbol for one in held if not one.drawn]
    if few:
        told.append(
            f"For {elements(few)} the other engines gave too few samples for a limit: below nine "
            "samples not even that of 90 of 100 can be told."
        )
    if any(one.drawn for one in held):
        told.append(_what_limits_are())
    return told


def key(drawn: Sequence[Drawn]) -> str:
    """What the dotted lines of a chart are: "dotted: others, 90 and 98 of 100"."""
    if drawn[0].kind == "share":
        shares = formats.listed([formats.share_of_100(one.at) for one in drawn])
        return f"dotted: others, {shares} of 100"
    return f"dotted: others, {formats.listed([formats.exact(one.at) for one in drawn])} s.d."


def described(drawn: Sequence[Drawn]) -> str:
    """The limits in the text alternative of a chart; "" without any."""
    if not drawn:
        return ""
    return f" {formats.sentence(_told(drawn, ''))}.".replace("  ", " ")


def _limits(case: Case, rows: Sequence[SampleRates], one: FleetElement) -> str:
    unit = f"ppm per 1,000{formats.NBSP}{case.machine.unit}"
    shed = {e.symbol for e in case.oil.element if e.from_part}
    name = formats.sentence(element(one.symbol))
    name += "" if one.symbol in shed else " (no evidence on the part)"
    return f"{name}: {_told(one.drawn, unit)}. {_own(case, rows, one)}".rstrip()


def _told(drawn: Sequence[Drawn], unit: str) -> str:
    """Limits with their figures; the unit at the first."""
    figures = [f"{figure(one.limit)}{'' if i else f' {unit}'}" for i, one in enumerate(drawn)]
    at = [formats.exact(one.at) for one in drawn]
    if drawn[0].kind == "share":
        told = [f"{_of_100(one.at)} below {f}" for one, f in zip(drawn, figures, strict=True)]
        return f"of the other engines' samples {formats.listed(told)}"
    told = [
        f"{'that of' if i else 'of'} {k} is {f}"
        for i, (k, f) in enumerate(zip(at, figures, strict=True))
    ]
    told[0] = told[0].replace(f"of {at[0]}", f"of {at[0]} standard deviations", 1)
    return f"by the other engines' samples the limit {formats.listed(told)}"


def _own(case: Case, rows: Sequence[SampleRates], one: FleetElement) -> str:
    """Each of this engine's samples by the highest limit that it lies above."""
    if not any(one.symbol in row.rates for row in rows):
        return ""
    highest: dict[int, int] = {}
    for place, drawn in enumerate(one.drawn):
        for sample in lying_above(rows, one.symbol, drawn.limit):
            highest[sample] = place
    if not highest:
        return "None of this engine's samples lies above any of them."
    parts = []
    for place, drawn in enumerate(one.drawn):
        mine = [rows[i] for i in sorted(highest) if highest[i] == place]
        if mine:
            which = _which(drawn)
            new = " (drawn while the part was new)" if not any(row.used for row in mine) else ""
            verb = "lies" if len(mine) == 1 else "lie"
            noun = "sample" if len(mine) == 1 else "samples"
            parts.append(f"this engine's {noun} at {samples(case, mine)}{new} {verb} above {which}")
    return f"{formats.sentence(formats.listed(parts))}."


def _which(drawn: Drawn) -> str:
    if drawn.kind == "share":
        return f"the limit of {_of_100(drawn.at)}"
    return f"that of {formats.exact(drawn.at)} standard deviations"


def _what_limits_are() -> str:
    return (
        "These limits are drawn for the eye and decide nothing; a sample below all of them is no "
        f"all-clear. As in ASTM D7720 standard deviations are used only where at least "
        f"{FEWEST_NORMAL} samples look normal on a scale of ratios, else shares of the sorted "
        "samples; which shares is a judgement. An engine whose own level is high lies above them "
        "sooner, and samples of one engine resemble each other: the limits know less than the "
        "number of samples says."
    )


def _of_100(share: float) -> str:
    return f"{formats.share_of_100(share)} of 100"
