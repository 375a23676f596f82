"""The plain questions on how it is driven, and the shares that the answers imply."""

from __future__ import annotations

import pandas as pd

from riskmodel.records.case import Case
from riskmodel.records.inputs import Unit
from riskmodel.use.kinds import standard_kinds
from riskmodel.use.questions import MEAN_SHORT_TRIP, SHORT_TRIP, Implied
from riskmodel.words import formats

TITLE = "Tell how it is driven, by plain questions"
ABOUT = (
    "An empty box means “don't know”, which is an answer: what hangs on it is then taken as in "
    "such engines at large, with more spread. What the answers come to stands below them."
)
DONT_KNOW = "don't know"
USE = "Use these answers"
TAKE_OUT = "Take these answers out again"
IN_FORCE = (
    "The answers are in the case: they stand in the place of its kinds of use, stretches and use "
    "ahead, and the figures above count with them."
)
REPLACES = (
    "Used, they stand in the place of the kinds of use, stretches and use ahead that this case "
    "states."
)
IN_PART = (
    "Some boxes are empty: the kinds of use that hang on them count as not known, and are shared "
    "out as in such engines at large, with more spread."
)
BEFORE = "Before it was yours"
BEFORE_UNKNOWN, BEFORE_ALIKE = "nobody knows", "driven much as I drive it"
NOT_TOLD = "not told"


def shares_table(implied: Implied, unit: Unit) -> pd.DataFrame:
    """What the answers imply for each kind, beside what is taken of such engines at large."""
    usual = {kind.key: kind for kind in standard_kinds(unit)}
    return pd.DataFrame(
        [
            {
                "Kind of use": formats.sentence(each.name),
                "Of 100 by your answers": NOT_TOLD if each.share is None else _of_100(each.share),
                "In such engines at large": _of_100(usual[each.kind].population_share),
                "What it is": usual[each.kind].meaning,
            }
            for each in implied.shares
        ]
    )


def notes(implied: Implied, unit: Unit) -> list[str]:
    """What the shares rest on."""
    found = []
    if implied.scale < 1:
        found.append(
            "The answers come to more than the whole, as hard uses can fall together; all were "
            "reduced in proportion."
        )
    cold = SHORT_TRIP[unit]
    short, mean = (formats.usage(each, unit) for each in (cold, MEAN_SHORT_TRIP * cold))
    found.append(
        f"A short trip counts as {mean}, and a longer one as cold for its first {short}: "
        "judgements, as are the shares at large."
    )
    return found


def replaces(case: Case) -> str:
    """That the answers would replace what the case states, where it states anything."""
    use = case.use
    return REPLACES if use.kinds or use.stretches or use.ahead else ""


def _of_100(share: float) -> str:
    return formats.number(round(100 * share, 1))
