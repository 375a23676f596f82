"""How the answer moves with what the records cannot settle, in words."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from riskmodel.decision.results import Weighing
from riskmodel.decision.sensitivity import WhatIf
from riskmodel.words import formats
from riskmodel.words.plan_names import plan_short, without_first_step

HEADING = "Under other assumptions about the records"
MORE = (
    "With --detail full: what the records say on their own, what is odd about them, and whether "
    "the verdict holds under other assumptions about them."
)
AS_IT_STANDS = "as_it_stands"
_LEFT_OUT = {
    "running": "parts still running were left out",
    "removed": "parts taken out and not looked at were left out",
    "removed_worn": "parts taken out that looked worn were left out",
    "removed_unworn": "parts taken out that did not look worn were left out",
    "between_two_ages": "failures known only to lie between two ages were left out",
    "late_entry": "parts not watched from new were left out",
    "suspected": "parts taken out on suspicion were left out",
}
_BY_NAME = {
    "traits_unknown": "nothing were known of what sets this engine apart from others on record",
    "looks_ignored": "nothing were concluded from looks at removed parts",
    "unknown_as_other": "failures of unknown cause were none of wear",
    "shape_wide": "next to nothing were believed of how sharply failures cluster with age",
    "no_b50": "nothing were believed beforehand of how long such parts last",
    "no_records": "there were no records, only what was believed beforehand",
}


def what_if(found: WhatIf) -> str:
    """What is changed, to follow the word "if"."""
    setting = found.setting
    if isinstance(setting, str):
        return _LEFT_OUT[setting] if found.group == "left_out" else _BY_NAME[setting]
    figure = formats.exact(setting)
    if found.group == "reporting_ratio":
        readily = "as readily" if setting == 1 else f"{figure} times as readily"
        return f"failures were reported {readily} as survivors"
    if found.group == "finding_error":
        return f"{formats.exact(100 * setting)} of 100 looks at removed parts were wrong"
    return f"the Weibull shape were known to be {figure}"


def summary(w: Weighing, found: Sequence[WhatIf]) -> str:
    """How many of the assumptions tried would change the verdict, and which."""
    tried = [other for other in found if other.group != AS_IT_STANDS]
    moved = [other for other in tried if not other.why_not and not other.same_verdict]
    many = formats.plural(len(tried), "other assumption")
    limit = _limit(w)
    if not moved:
        return f"None of {many} tried changes the verdict.{limit}"
    named = "; ".join(f"if {what_if(other)}, “{_plan(w, other)}”" for other in moved)
    change = "changes" if len(moved) == 1 else "change"
    return f"Of {many} tried, {len(moved)} {change} the verdict: {named}.{limit}"


def table(w: Weighing, found: Sequence[WhatIf]) -> pd.DataFrame:
    """The answer under each assumption: the chance, both costs, the plan of the verdict."""
    currency = w.case.cost.currency
    return pd.DataFrame(
        [
            {
                "Assumption": "all is as it stands"
                if other.group == AS_IT_STANDS
                else f"if {what_if(other)}",
                "Failures of 100 by the next oil change": ""
                if other.chance is None
                else formats.chance_short(other.chance),
                "Replacing now": _cost(other.now, currency),
                "Best later plan": _cost(other.later, currency),
                "Verdict": f"no answer: {other.why_not}" if other.why_not else _plan(w, other),
            }
            for other in found
        ]
    )


def _limit(w: Weighing) -> str:
    """What holds of each verdict: what it goes without, why it may name a row's dearer plan."""
    without = without_first_step(w)
    told = f" Each verdict is the one{without}." if without else ""
    if w.case.plan.most_risk is None:
        return told
    most = formats.share_of_100(w.case.plan.most_risk)
    return f"{told} Each verdict keeps to your limit of {most} failures of 100 where a plan can."


def _plan(w: Weighing, other: WhatIf) -> str:
    """The plan that the verdict would name; plans are the same whatever the records say."""
    return next((plan_short(w, i) for i, plan in enumerate(w.plans) if plan.at == other.at), "")


def _cost(cost: float | None, currency: str) -> str:
    return "" if cost is None else formats.money(cost, currency)
