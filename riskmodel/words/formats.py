"""How numbers are written: money, usage, time, chances. Rounding happens here and nowhere else.

Chances are written as counts of 100 and never finer than whole ones; the ends of an
interval are rounded outwards, so that rounding never makes it look narrower than it is.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Sequence
from itertools import cycle, islice

from riskmodel.decision.results import Interval
from riskmodel.records.inputs import Unit

NBSP = "\u00a0"
"""Keeps a number and its unit on one line."""
MINUS = "\u2212"
NEARLY_ONE = 0.95
"""From here on a chance reads "about 1 of 100", below it "fewer than 1 of 100"."""
_ROUND_OFF = 1e-9
CODE = re.compile(r"[0-9]{0,6}[A-Z][A-Za-z0-9]{0,7}(?:-[A-Za-z0-9]{1,8}){1,3}")
"""What may be a part's code, such as EX-BE-01, to be kept on one line where it is shown; no day."""


def number(value: float) -> str:
    """Thousands with commas, a decimal only below 100: "8,000", "37.5", "−1,200"."""
    digits = 1 if abs(value) < 100 else 0
    text = f"{abs(round(value, digits)):,.{digits}f}"
    text = text.removesuffix(".0")
    return (MINUS if value < 0 and text != "0" else "") + text


def exact(value: float) -> str:
    """A number as it was entered, with thousands separated: "124,000", "0.25"."""
    whole = f"{value:,.10g}" if abs(value) < 1e10 else f"{value:,.0f}"
    return whole.replace("-", MINUS)


def usage(value: float, unit: Unit) -> str:
    """Usage with its unit: "8,000 km"."""
    return f"{number(value)}{NBSP}{unit}"


def money_step(value: float) -> float:
    """The step to which an amount of this size is rounded: three significant figures."""
    if value == 0:
        return 1.0
    return float(max(1.0, 10.0 ** (math.floor(math.log10(abs(value))) - 2)))


def rounded_money(value: float, step: float | None = None) -> float:
    step = money_step(value) if step is None else step
    return round(value / step) * step


def adding_up(amounts: Sequence[float], total: float, step: float) -> list[float]:
    """Amounts rounded to `step` so that they add up to the rounded `total`: what is left over by
    rounding each goes to those nearest to being rounded the other way."""
    whole = [round(amount / step) for amount in amounts]
    left = round(total / step) - sum(whole)
    sign = 1 if left > 0 else -1
    # By how much each was rounded against the way in which the sum is off.
    short = [sign * (amount / step - each) for amount, each in zip(amounts, whole, strict=True)]
    order = sorted(range(len(whole)), key=lambda k: -short[k])
    for i in islice(cycle(order), abs(left)):
        whole[i] += sign
    return [each * step for each in whole]


def money(value: float, currency: str, step: float | None = None) -> str:
    """An amount to three significant figures (or to `step`): "EUR 5,410", "€5,410"."""
    amount = rounded_money(value, step)
    figure = f"{abs(amount):,.0f}"
    sign = MINUS if amount < 0 else ""
    if not currency:
        return sign + figure
    gap = NBSP if currency[-1].isalpha() else ""
    return f"{sign}{currency}{gap}{figure}"


def money_range(low: float, high: float, currency: str) -> str:
    """Two ends of an interval, rounded outwards to two significant figures of the higher;
    on one line."""
    step = 10 * money_step(max(abs(low), abs(high)))
    down, up = math.floor(low / step) * step, math.ceil(high / step) * step
    return f"{money(down, currency, step)} to {money(up, '', step)}".replace(" ", NBSP)


def count_of_100(chance: float) -> int:
    """The whole number of 100 nearest to a chance (half up); 0 where it is short of 1."""
    return 0 if 100 * chance < NEARLY_ONE else math.floor(100 * chance + 0.5)


def outward(interval: Interval) -> tuple[int, int]:
    """The ends of an interval of a chance, as whole numbers of 100, rounded outwards."""
    low = math.floor(100 * interval.low + _ROUND_OFF)
    high = math.ceil(100 * interval.high - _ROUND_OFF)
    return max(low, 0), min(high, 100)


def count(chance: float, limit: float | None = None) -> str:
    """ "6", "fewer than 1", "more than 99"; beside a `limit` stated, where rounding would put it
    on the other side of that, or on it: "just over 10", "just under 9.6"."""
    nearest, over = count_of_100(chance), limit is not None and chance > limit
    text = "fewer than 1" if nearest < 1 else "more than 99" if nearest > 99 else str(nearest)
    if limit is None or (nearest > 100 * limit + _ROUND_OFF) is over:
        return text
    asked = share_of_100(limit)
    if nearest < 1:
        return f"over {asked} and {text}"
    return f"just {'over' if over else 'under'} {asked}"


def count_short(chance: float, limit: float | None = None) -> str:
    """ "6", "under 1", "over 99", "over 10" beside a limit of 10, where there is little room."""
    text = count(chance, limit).replace("fewer than", "under").replace("more than", "over")
    return text.replace("just ", "")


def share_of_100(share: float) -> str:
    """A share as it was entered, of 100: "10", "0.5", "37.5"."""
    return exact(round(100 * share, 6))


def of_100(chance: float, limit: float | None = None) -> str:
    """ "about 6 of 100", "fewer than 1 of 100", "more than 99 of 100"; beside a `limit` as
    `count` has it: "just over 10 of 100"."""
    text = count(chance, limit)
    return f"{text if ' ' in text else f'about {text}'} of 100"


def between(interval: Interval) -> str:
    """The interval of a chance, of 100: "between 4 and 8", "at most 3", "at least 97"."""
    low, high = outward(interval)
    if low < 1:
        return f"at most {high}" if high > 1 else "at most 1"
    return f"at least {low}" if high > 99 else f"between {low} and {high}"


def chance(interval: Interval, limit: float | None = None) -> str:
    """A chance with its interval in a sentence: "about 6 of 100 (between 4 and 8)"; beside a
    `limit` as `count` has it."""
    return f"{of_100(interval.value, limit)} ({between(interval)})"


def chance_short(interval: Interval, limit: float | None = None) -> str:
    """A chance of 100 for a table: "6 (4 to 8)", "under 1 (0 to 2)"; beside a `limit` as `count`
    has it."""
    if interval.low == interval.high == interval.value == 0:
        return "0"
    low, high = outward(interval)
    return f"{count_short(interval.value, limit)} ({low} to {high})".replace(" ", NBSP)


def duration(years: float) -> str:
    """A stretch of time, roughly: "about 3 weeks", "about 17 months", "about 2½ years"."""
    weeks, months = years * 365.25 / 7, years * 12
    if weeks < 1:
        return "less than a week"
    if months < 2:
        return f"about {_plural(round(weeks), 'week')}"
    if months < 24:
        return f"about {_plural(round(months), 'month')}"
    halves = round(2 * years)
    if halves % 2 == 0 or years >= 10:
        return f"about {_plural(round(years), 'year')}"
    return f"about {halves // 2}½{NBSP}years"


def ordinal(position: int) -> str:
    """ "1st", "2nd", "3rd", "4th", "11th"."""
    if position % 100 in (11, 12, 13):
        return f"{position}th"
    return f"{position}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(position % 10, 'th') }"


def day(iso: str) -> str:
    """A date in words: "1 November 2026"."""
    date = datetime.date.fromisoformat(iso)
    return f"{date.day} {date:%B %Y}".replace(" ", NBSP, 1)


def plural(amount: int, noun: str) -> str:
    """ "1 record", "214 records"."""
    return f"{amount:,} {noun}{'' if amount == 1 else 's'}"


def listed(items: list[str], last: str = "and") -> str:
    """ "a", "a and b", "a, b and c"."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def sentence(text: str) -> str:
    """The text with a capital at its start."""
    return text[:1].upper() + text[1:]


def _plural(amount: int, noun: str) -> str:
    return f"{amount}{NBSP}{noun}{'' if amount == 1 else 's'}"


def significant(value: float, digits: int = 3) -> str:
    """A number to `digits` significant figures, thousands separated: "2.10", "27,700", "0.044"."""
    if value == 0:
        return "0"
    # Of what is left after rounding: 0.998 to two figures is 1.0.
    step = 10.0 ** (math.floor(math.log10(abs(value))) + 1 - digits)
    places = digits - 1 - math.floor(math.log10(round(abs(value) / step) * step) + _ROUND_OFF)
    return f"{round(value, places):,.{max(places, 0)}f}".replace("-", MINUS)
