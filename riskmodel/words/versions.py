"""Two versions of a case side by side, and what the last change did, in words."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from riskmodel.decision.results import Interval, Weighing
from riskmodel.decision.versions import ChancePair, Difference, Pair, Versions
from riskmodel.records.case import Case
from riskmodel.words import formats
from riskmodel.words.inputs_told import label, told
from riskmodel.words.plan_names import first_step_name, plan_name, plan_short
from riskmodel.words.plans import headline

OFFER = "Compare with a change"
OFFER_ABOUT = (
    "Keep the figures as they are now as version A, change what you like, and see both versions "
    "side by side."
)
HEADING = "Two versions side by side"
NOTHING_YET = (
    "Version A is kept as it is now. Change a figure, a table or an answer: version B follows, and "
    "the differences stand here."
)
KEPT_LOG = (
    "What you change is kept in the log as it is typed, so that version B is there again after "
    "loading the page anew. Going back to version A is entered there as well."
)
KEPT_EXAMPLE = "Nothing here is kept: this comparison is lost when the page is loaded anew."
STOP, STOP_ABOUT = "Keep version B and end the comparison", "End the comparison"
BACK = "Go back to version A"
CANNOT = "Version A has no answer to compare with:"
FIRST_ANSWER = "With the last change there is a first answer; before it there was none."
AFTER_STOP = "The symptom was cleared; before that there was a stop and no figure to compare with."
OTHER_PART = "Version A is of a part that was replaced since, so there is no going back to it."
IF_STOP = (
    "With a symptom there is a stop and no figure to compare; clear it only when the cause is "
    "found."
)
INPUTS, A, B, DIFFERENCE = "What differs", "A, as kept", "B, as it is now", "Difference"
FIGURE = "What comes of it"
ON_AVERAGE = "In all by the plan of the verdict, on average"
BY_PLAN = "Failures of 100 by the plan of the verdict, new parts included"
MOST_INPUTS = 3
"""Changed inputs that the sentence on the last change spells out."""

_SPANS = {
    "next_oil_change": "Failures of 100 before the next oil change, part left in",
    "one_year": "Failures of 100 within a year, part left in",
    "keep_until": "Failures of 100 until you give it up, part left in",
}
_UNTIL = {
    "next_oil_change": "before the next oil change",
    "one_year": "within a year",
    "keep_until": "until you give it up",
}
_CHANGED, SAME, OTHER_MONEY = "changed", "the same", "in another money"


def inputs_table(inputs: Sequence[Difference], entered: tuple[Case, Case]) -> pd.DataFrame:
    """Which inputs differ, by their plain names; both cases as they were `entered`."""
    rows = [(label(each.key), *_values(each, *entered)) for each in inputs]
    return pd.DataFrame(rows, columns=[INPUTS, A, B])


def figures_table(v: Versions) -> pd.DataFrame:
    """What comes of both versions, and the difference."""
    rows = [("Verdict", _verdict(v.a), _verdict(v.b), SAME if v.same_plan else "another plan")]
    rows += [_chance_row(_SPANS[each.what], each.chance) for each in v.chances]
    if v.cost is not None and v.now is not None and v.failure is not None:
        currencies = v.a.case.cost.currency, v.b.case.cost.currency
        first = f"In all by replacing at the first chance ({_first(v.a)})"
        for name, pair in ((ON_AVERAGE, v.cost), (first, v.now)):
            before, after = _costs(pair, currencies)
            rows.append((name, before, after, _money(pair, currencies)))
        rows.append(_chance_row(BY_PLAN, v.failure))
    return pd.DataFrame(rows, columns=[FIGURE, A, B, DIFFERENCE])


def _chance_row(name: str, pair: Pair) -> tuple[str, str, str, str]:
    before, after = (formats.chance_short(each) for each in (pair.before, pair.after))
    return name, before, after, _of_100(pair)


def sentences(v: Versions) -> list[str]:
    """The differences in words: the verdict, the chance, the cost, and holding to the plan of A."""
    if v.cost is None:
        return [stopped(*v.entered)]
    found = [_verdicts(v), _walking(v)]
    soon = next((each for each in v.chances if each.what == "next_oil_change"), None)
    if soon is not None:
        found.append(_chance(soon, v.a.case, ("in A", "in B")))
    found.append(_cost(v))
    return [text for text in (*found, _holding(v)) if text]


def last_change(v: Versions) -> list[str]:
    """What the last change did: to the verdict, to a chance and how wide its range is, to the
    cost."""
    said = [f"Last change: {_named(v)}."]
    if v.cost is None:
        return [*said, stopped(*v.entered)]
    if v.same_plan:
        said.append("The verdict stays as it was.")
    else:
        said.append(f"Before it the verdict was “{headline(v.a)}”.")
    for each in _spans_told(v):
        said.append(f"{_chance(each, v.a.case, ('before', 'now'))} {range_of(each)}".strip())
    return [*said, *_cost_since(v)]


def range_of(found: ChancePair) -> str:
    """Whether the range about a chance narrowed or widened; "" where it is much as before, or
    where the two look a different way ahead."""
    before, after = (_wide(each) for each in (found.chance.before, found.chance.after))
    if found.ahead[0] != found.ahead[1]:
        return ""
    if after < before and found.chance.narrower:
        return f"Its range narrowed: {after} of 100 wide instead of {before}."
    if after > before and found.chance.wider:
        return f"Its range widened: {after} of 100 wide instead of {before}."
    return ""


def _spans_told(v: Versions) -> list[ChancePair]:
    """The chance before the next oil change, and one over the same usage in both where that one
    is not: a range over a shorter stretch is narrower for that alone."""
    alike = [each for each in v.chances if each.ahead[0] == each.ahead[1]]
    soon = [each for each in v.chances if each.what == "next_oil_change"]
    return soon + [each for each in alike[:1] if each not in soon]


def _wide(chance: Interval) -> int:
    """From end to end of an interval, of 100, by its ends as they are told."""
    low, high = formats.outward(chance)
    return high - low


def _named(v: Versions) -> str:
    """The inputs that were changed: "Failure: 9,000 EUR instead of 8,000 EUR"."""
    if v.same:
        return "nothing that enters the answer"
    parts = []
    for each in v.inputs[:MOST_INPUTS]:
        before, after = _values(each, *v.entered)
        parts.append(f"{label(each.key)}: {after} instead of {before}")
    more = len(v.inputs) - MOST_INPUTS
    return "; ".join(parts) + (f"; and {more} more" if more > 0 else "")


def _values(each: Difference, a: Case, b: Case) -> tuple[str, str]:
    """Both values; a list whose entries keep their names reads alike, and was changed within."""
    before, after = told(each.key, each.before, a), told(each.key, each.after, b)
    return (before, after) if before != after else (before, f"{after} ({_CHANGED})")


def _verdict(w: Weighing) -> str:
    if w.chosen is None:
        return "stop"
    return first_step_name(w) or plan_name(w, w.chosen)


def _verdicts(v: Versions) -> str:
    if v.same_plan:
        return f"Both versions come to the same plan: “{_verdict(v.b)}”."
    return f"The verdict differs: in A “{_verdict(v.a)}”, in B “{_verdict(v.b)}”."


def _walking(v: Versions) -> str:
    """That in one of them a failure would be walked away from."""
    if v.a.walks_away == v.b.walks_away:
        return ""
    which = "A" if v.a.walks_away else "B"
    return f"In {which} a failure is cheaper to walk away from than to repair."


def stopped(a: Case, b: Case) -> str:
    """That a symptom in either version leaves nothing to compare."""
    which = [name for name, case in (("A", a), ("B", b)) if case.machine.symptoms]
    noun = "version" if len(which) == 1 else "versions"
    return f"There is a symptom in {noun} {formats.listed(which)}. {IF_STOP}"


def _chance(found: ChancePair, case: Case, names: tuple[str, str]) -> str:
    """The same chance of both, and how far each looks ahead where that differs."""
    first, second = names
    start = f"The chance of failure {_UNTIL[found.what]}, with the part left in,"
    before, after = (formats.chance(x) for x in (found.chance.before, found.chance.after))
    ahead = [formats.usage(x, case.machine.unit) for x in found.ahead]
    far = "" if ahead[0] == ahead[1] else f", {ahead[0]} ahead {first} and {ahead[1]} {second}"
    if before == after:
        return f"{start} is {after} {_both(names)}{far}."
    if second == "now":
        return f"{start} was {before} before and is {after} now{far}."
    return f"{start} is {before} {first} and {after} {second}{far}."


def _both(names: tuple[str, str]) -> str:
    return "as before" if names[1] == "now" else "in both"


def _cost(v: Versions) -> str:
    assert v.cost is not None
    currencies = v.a.case.cost.currency, v.b.case.cost.currency
    before, after = _costs(v.cost, currencies)
    if before == after:
        return f"The plan of the verdict costs about {after} in all in both."
    more = _more(v.cost, currencies)
    return f"The plan of the verdict costs about {before} in all in A and {after} in B{more}."


def _cost_since(v: Versions) -> list[str]:
    assert v.cost is not None
    currencies = v.a.case.cost.currency, v.b.case.cost.currency
    before, after = _costs(v.cost, currencies)
    if before == after:
        return []
    return [f"The plan of the verdict cost about {before} in all before and costs {after} now."]


def _holding(v: Versions) -> str:
    """What it costs to hold to the plan of A where the figures are those of B."""
    if v.same_plan:
        return ""
    if v.held is None:
        return "The plan of A is not to be had in B."
    assert v.cost is not None
    step = formats.money_step(v.cost.after.value)
    gap = formats.rounded_money(v.held, step)
    currency = v.b.case.cost.currency
    if gap <= 0:
        much = f"less than {formats.money(step, currency, step)}"
    else:
        much = f"about {formats.money(gap, currency, step)}"
    return (
        f"If the figures of B hold and the plan of A is kept to all the same, it costs {much} more."
    )


def _costs(pair: Pair, currencies: tuple[str, str]) -> tuple[str, str]:
    """Both costs with their ranges, in one rounding."""
    step = formats.money_step(max(abs(pair.before.value), abs(pair.after.value)))
    before, after = (
        f"{formats.money(each.value, currency, step)} "
        f"({formats.money_range(each.low, each.high, '')})"
        for each, currency in zip((pair.before, pair.after), currencies, strict=True)
    )
    return before, after


def _gap(pair: Pair) -> tuple[float, float]:
    """The difference of two costs as the reader can check it, and the step of its rounding."""
    step = formats.money_step(max(abs(pair.before.value), abs(pair.after.value)))
    ends = [formats.rounded_money(each.value, step) for each in (pair.before, pair.after)]
    return ends[1] - ends[0], step


def _money(pair: Pair, currencies: tuple[str, str]) -> str:
    if currencies[0] != currencies[1]:
        return OTHER_MONEY
    gap, step = _gap(pair)
    if gap == 0:
        return SAME
    return f"{formats.money(abs(gap), currencies[0], step)} {'more' if gap > 0 else 'less'}"


def _more(pair: Pair, currencies: tuple[str, str]) -> str:
    said = _money(pair, currencies)
    return "" if said in (SAME, OTHER_MONEY) else f": {said}"


def _of_100(pair: Pair) -> str:
    """The difference of two chances as the reader can check it."""
    gap = formats.count_of_100(pair.after.value) - formats.count_of_100(pair.before.value)
    if gap == 0:
        return SAME if abs(pair.change) < _SMALL else "less than 1"
    return f"{abs(gap)} {'more' if gap > 0 else 'fewer'}"


_SMALL = 1e-9
"""A chance that differs by no more than rounding in the arithmetic."""


def _first(w: Weighing) -> str:
    return plan_short(w, w.open_plans[0]).lower()
