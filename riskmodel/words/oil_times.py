"""The oil factor as it reads in a sentence."""

from __future__ import annotations

from riskmodel.words import formats

ABOUT_ONE = 0.05
"""A factor this near to 1 is called no change (judgement)."""


def about_one(factor: float) -> bool:
    """Whether a factor is so near to 1 that no figure is given for it."""
    return abs(factor - 1) <= ABOUT_ONE


def times_as_likely(factor: float) -> str:
    """ "about 1.3 times as likely": one figure below 1, two from there on."""
    if about_one(factor):
        return "about as likely"
    return f"about {formats.significant(factor, 1 if factor < 1 else 2)} times as likely"
