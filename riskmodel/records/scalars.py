"""Numbers, dates and words as people write them, read without guessing.

What could be read in two ways (12,5 or 1.234 in a file separated by semicolons) is refused
with a message that says how to write it.
"""

from __future__ import annotations

import datetime
import re
import unicodedata

NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_COMMA = re.compile(r"([+-]?)(\d+),(\d+)", re.ASCII)
_GROUPED = re.compile(r"([+-]?\d{1,3}(?:[,.'’_\s]\d{3})+)([.,]\d+)?", re.ASCII)
_SPACED = re.compile(r"[+-]?\d{1,3}(?:\s\d{3})+(?:[.,]\d+)?")  # \s with no-break spaces too
_WITH_UNIT = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+))\s*[^\W\d_][^\d\n]*")
_PERCENT = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+))\s*%", re.ASCII)
_TWO_WAYS = re.compile(r"[1-9]\d{0,2}\.\d{3}", re.ASCII)
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)

TRAIT_NAME = re.compile(r"[a-z][a-z0-9_]{0,29}", re.ASCII)
"""The name of a covariate column."""
SYMBOL = re.compile(r"[A-Za-z][A-Za-z0-9_]{0,19}", re.ASCII)
"""An element as a column is named after it."""

FORMULA_STARTS = ("=", "+", "-", "@")
LONGEST_TEXT = 200


class UnreadableError(ValueError):
    """The text is not what it should be; the message says what is expected instead."""


def read_number(text: str, *, semicolons: bool = False) -> float:
    """The finite number that `text` states.

    `semicolons` says that the file is separated by semicolons, as where people write a
    decimal comma and a thousands point: 120.000 is then refused, for it may mean 120000.

    Raises UnreadableError with the expected form.
    """
    text = text.strip()
    if NUMBER.fullmatch(text):
        value = float(text)
        if value in (float("inf"), float("-inf")):
            raise UnreadableError("a number of ordinary size")
        if semicolons and _TWO_WAYS.fullmatch(text):
            whole, _, thousandths = text.partition(".")
            raise UnreadableError(
                f"a number that cannot be read in two ways: {whole}{thousandths} or "
                f"{whole}.{thousandths.rstrip('0') or '0'}"
            )
        return value
    raise UnreadableError(_expected_instead_of(text))


def _expected_instead_of(text: str) -> str:
    if _not_finite(text):
        return "a finite number"
    if match := _COMMA.fullmatch(text):
        sign, whole, fraction = match.groups()
        if len(fraction) == 3 and len(whole) <= 3:
            return (
                f"a number with a decimal point and no separators: {sign}{whole}{fraction} "
                f"or {sign}{whole}.{fraction}"
            )
        return f"a number with a decimal point: {sign}{whole}.{fraction}"
    if match := _PERCENT.fullmatch(text):
        return f"a plain number: a share of {match[1]} % is written {float(match[1]) / 100:g}"
    if _GROUPED.fullmatch(text) or _SPACED.fullmatch(text):
        return "a number without separators between its digits, such as 1234567"
    if match := _WITH_UNIT.fullmatch(text):
        return f"the number alone, without a unit: {match[1]}"
    return "a number"


def looks_like_number(text: str) -> bool:
    """Whether a cell is a number or a slip of one (12,5 or 1 234 or nan), and so not a word."""
    forms = (NUMBER, _COMMA, _GROUPED, _SPACED)
    return any(form.fullmatch(text) for form in forms) or _not_finite(text)


def _not_finite(text: str) -> bool:
    return text.lower().strip("+-") in ("nan", "inf", "infinity")


def read_date(text: str) -> datetime.date:
    """The day that `text` names as year-month-day.

    Raises UnreadableError with the expected form.
    """
    form = "a date written year-month-day, such as 2026-05-01"
    if not _DATE.fullmatch(text.strip()):
        raise UnreadableError(form)
    try:
        day = datetime.date.fromisoformat(text.strip())
    except ValueError:
        raise UnreadableError("a day that is in the calendar") from None
    if not 1900 <= day.year < 2200:
        raise UnreadableError("a year from 1900 to 2199")
    return day


def text_fault(text: str, *, in_table: bool = False) -> str | None:
    """What is expected instead of `text` where it should be plain words; None where it is.

    In a table (`in_table`) a text must not begin as a formula would: a spreadsheet that
    opens the file would run it.
    """
    if len(text) > LONGEST_TEXT:
        return f"a text of at most {LONGEST_TEXT} characters"
    if any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") for c in text):
        return "a text on one line, without control characters"
    if in_table and text.startswith(FORMULA_STARTS):
        return "a text that does not begin with =, +, - or @ (a spreadsheet takes it as a formula)"
    return None
