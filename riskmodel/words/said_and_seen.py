"""What was said against what was seen, in words."""

from __future__ import annotations

from riskmodel.risk.said_and_seen import FEWEST, Found, Interval, SaidAndSeen
from riskmodel.words import formats

HEADING = "What was said against what was seen"
NOTHING = (
    "No decision on record told a chance yet. Enter what was decided, on the page or with "
    "riskmodel log decide; what becomes of the part is then held against the chances of that day."
)
METHOD = (
    "Expected: of each chance told, what belongs to the usage that the part was followed for; a "
    "replacement ends the following. Intervals are exact for counts (nine in ten)."
)


def sentences(found: SaidAndSeen, out: Found) -> list[str]:
    """Expected and seen, what may be said of it, what parts that came out looked like."""
    if not found.decisions:
        return [NOTHING, *_came_out(out)]
    followed = formats.plural(found.followed, "decision")
    told = [
        f"{followed} followed since: {formats.significant(found.expected, 2)} failures were "
        f"expected by what was told, {formats.plural(int(found.seen.value), 'failure')} seen.",
        _verdict(found),
        METHOD,
    ]
    return [*told, *_came_out(out)]


def _verdict(found: SaidAndSeen) -> str:
    ratio = ""
    if found.ratio is not None and found.expected >= 1:
        ratio = f" Seen over expected: {_range(found.ratio)}."
    if found.few:
        return (
            f"Under {formats.number(FEWEST)} expected failures this is too few to judge the "
            f"chances by.{ratio}"
        )
    if found.ratio is None or not found.differs:
        return f"What was seen does not speak against what was said.{ratio}"
    if found.ratio.value > 1:
        return (
            f"More failed than was said: the chances told were too low.{ratio} Look at the life "
            "records and the beliefs."
        )
    return (
        f"Fewer failed than was said: the chances told were too high.{ratio} Look at the life "
        "records and the beliefs."
    )


def _range(ratio: Interval) -> str:
    low, value, high = (formats.significant(x, 2) for x in (ratio.low, ratio.value, ratio.high))
    return f"{value} (between {low} and {high})"


def _came_out(out: Found) -> list[str]:
    looked = out.worn + out.unworn
    if not looked and not out.not_seen:
        return []
    told = [
        f"Parts replaced before they failed: {looked + out.not_seen}; of {looked} looked at, "
        f"{out.worn} showed distress and {out.unworn} did not."
    ]
    if out.told:
        told.append(
            f"Of the {out.told} of which a chance of distress was told, "
            f"{formats.significant(out.expected, 2)} were expected to show it, {out.told_worn} did."
        )
    return told
