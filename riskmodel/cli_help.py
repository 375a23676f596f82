"""How every verb explains itself: what it is for, its arguments, and examples to copy."""

from __future__ import annotations

import argparse
import textwrap
from typing import Any

_WIDTH = 78


def explained(about: str, *examples: str, more: str = "") -> dict[str, Any]:
    """What `add_parser` is told of a verb.

    `about` is the line in the list of verbs, `more` what else to say of it. Every example stays
    on one line whatever the width, so that it can be copied; README and `tests/cli` run them.
    """
    said = [about[0].upper() + about[1:] + ".", *([more] if more else [])]
    return {
        "help": about,
        "description": "\n\n".join(textwrap.fill(text, _WIDTH) for text in said),
        "epilog": lines_of(*examples),
        "formatter_class": argparse.RawDescriptionHelpFormatter,
    }


def lines_of(*examples: str, after: str = "") -> str:
    """Examples, a line each, and a text below them."""
    lines = [f"Example: {each}" for each in examples]
    return "\n".join([*lines, *(["", textwrap.fill(after, _WIDTH)] if after else [])])
