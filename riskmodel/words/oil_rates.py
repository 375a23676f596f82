"""What was made of the samples: which count, which do not and why, and what was assumed."""

from __future__ import annotations

from collections.abc import Sequence

from riskmodel.oil.linings import lining_of, note
from riskmodel.oil.mass_balance import SampleRates
from riskmodel.records.case import Case
from riskmodel.words import formats
from riskmodel.words.oil_names import ELSEWHERE, elements, laboratory_changes, sample, samples


def rate_sentences(case: Case, rows: Sequence[SampleRates]) -> list[str]:
    """One sentence each on what the samples are, what was left out, and why; [] without any."""
    if not rows:
        return []
    found = [
        _how_many(case, rows),
        _break_in(case, rows),
        _rates(case),
        _first(case, rows),
        _same_oil(case, rows),
        _laboratory(case, rows),
        _below(case, rows),
        _not_shed(case, rows),
        *note(lining_of(case.part.lining), case.oil.element),
    ]
    return [text for text in found if text]


def _how_many(case: Case, rows: Sequence[SampleRates]) -> str:
    shed = {element.symbol for element in case.oil.element if element.from_part}
    counted = sum(row.used and bool(shed & row.rates.keys()) for row in rows)
    dates = [row.sample.date for row in rows if row.sample.date]
    span = ""
    if len(dates) > 1 and dates[0] != dates[-1]:
        span = f", drawn between {formats.day(dates[0])} and {formats.day(dates[-1])}"
    many = formats.plural(len(rows), "sample")
    if counted == len(rows):
        count = "it counts" if counted == 1 else "all of them count"
    else:
        count = "none of them counts" if counted == 0 else f"{counted} of them count"
        count = "it does not count" if len(rows) == 1 else count
    return f"{many}{span}; {count} as evidence on the part."


def _break_in(case: Case, rows: Sequence[SampleRates]) -> str:
    new = [row for row in rows if row.why_not == "break_in"]
    if not new:
        return ""
    until = formats.usage(case.oil.break_in, case.machine.unit)
    one = len(new) == 1
    return (
        f"The {'sample' if one else 'samples'} at {samples(case, new)} "
        f"{'is' if one else 'are'} drawn, but {'does' if one else 'do'} not count: most of that "
        f"oil's life fell within the first {until} of the part, when a new one sheds more than it "
        "will later."
    )


def _rates(case: Case) -> str:
    unit = f"{formats.NBSP}{case.machine.unit}"
    return (
        f"A rate is what wear added to the oil, in ppm per 1,000{unit}: the reading, less what the "
        "oil before had left behind, over the usage on that oil, top-ups reckoned with. So an oil "
        "used for long and one used for a short while can be compared."
    )


def _first(case: Case, rows: Sequence[SampleRates]) -> str:
    symbols = [symbol for symbol, rate in rows[0].rates.items() if not rate.carried_known]
    if not symbols or case.oil.carry_over == 0:
        return ""
    share = formats.share_of_100(case.oil.carry_over)
    return (
        "What the oil before the first sample had left behind is not known; "
        f"{share} % of that sample's own reading is taken for it."
    )


def _same_oil(case: Case, rows: Sequence[SampleRates]) -> str:
    again = [row for row in rows if row.same_oil]
    if not again:
        return ""
    one = len(again) == 1
    return (
        f"The {'sample' if one else 'samples'} at {samples(case, again)} "
        f"{'is' if one else 'are'} of the same oil as the one before: the two overlap, and say "
        "less than samples of two oils would."
    )


def _laboratory(case: Case, rows: Sequence[SampleRates]) -> str:
    """Where the laboratory changed, and what is made of that."""
    told = laboratory_changes(case, rows)
    if not told:
        return ""
    return (
        f"The laboratory changed: {told}. Two laboratories read the same oil differently, so a "
        "step there may be theirs and not the engine's. So the readings of each are held against "
        "a usual level of their own. What one has read tells the level of another only roughly: "
        "the first samples that another reads say less."
    )


def _below(case: Case, rows: Sequence[SampleRates]) -> str:
    """Rates below nothing: less than the rounding can tell."""
    low = [(row, symbol) for row in rows for symbol, r in row.rates.items() if r.point < 0]
    if not low:
        return ""
    told = [f"{elements([symbol])} at {sample(case, row)}" for row, symbol in low[:4]]
    if len(low) > 4:
        told = [*told[:3], f"{len(low) - 3} more readings"]
    return (
        f"{formats.sentence(formats.listed(told))}: less than the old oil would have left by "
        "itself. That is no error: the wear was less than the rounding of the readings can tell, "
        "and it counts as that."
    )


def _not_shed(case: Case, rows: Sequence[SampleRates]) -> str:
    measured = dict.fromkeys(symbol for row in rows for symbol in row.rates)
    held = [e.symbol for e in case.oil.element if not e.from_part and e.symbol in measured]
    if not held:
        return ""
    why = "; ".join(ELSEWHERE[symbol] for symbol in held if symbol in ELSEWHERE)
    text = f"{formats.sentence(elements(held))} {'is' if len(held) == 1 else 'are'} drawn, but "
    text += "no evidence on the part, being marked as not shed by it"
    return f"{text}: as a rule {why}." if why else f"{text}."
