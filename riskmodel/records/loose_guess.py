"""Guesses what the columns and the words of somebody's own table mean; the person decides."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from riskmodel.records.inputs import Unit
from riskmodel.records.units import ALIASES

FIELDS = ("age", "outcome", "age_from", "entered_at", "count", "cause", "why")
LEAVE_OUT = "leave out"
"""Stands for a word whose rows are not wanted."""

_HEADINGS: dict[str, tuple[str, ...]] = {
    # The first that fits wins; whole words, singular or with an s.
    "age_from": ("age from", "last seen", "last running", "last inspected", "failed after"),
    "entered_at": ("entered at", "entered", "entry", "watched", "bought", "purchase", "since"),
    "outcome": (
        *("outcome", "what became", "what happened", "status", "state", "result", "event"),
        *("failed", "failure", "fate", "censored"),
    ),
    "age": (
        *("age", "mileage", "odometer", "meter", "usage", "kilometrage", "kilometre", "kilometer"),
        *("km", "mile", "mi", "running hour", "hour", "hr", "distance", "life", "reading"),
    ),
    "count": ("count", "how many", "number of", "quantity", "qty", "pieces", "n"),
    "cause": ("cause", "failure mode", "mode", "root"),
    "why": ("why", "reason", "removal"),
}
_ORDER = ("age_from", "entered_at", "cause", "why", "count", "outcome", "age")
"""The narrower meanings first, so that "failure mode" is no outcome."""

_NOT = r"\b(not|no|never|without|un)\b"
_OUTCOMES: tuple[tuple[str, str], ...] = (
    (r"\b(unworn|not worn|no wear|no distress|as new|looked new)\b", "removed_unworn"),
    (r"\b(worn|distress\w*|wiped|scored)\b", "removed_worn"),
    (rf"{_NOT}\W*(fail\w*|broken?|broke)\b", "running"),
    (r"\b(survi\w*|running|runs|alive|in service|in use|ok|suspen\w*|censor\w*)\b", "running"),
    (r"\b(still|going|active|live)\b", "running"),
    (r"\b(remov\w*|replac\w*|pulled|taken out|swapped|changed|prevent\w*)\b", "removed"),
    (r"\b(fail\w*|broken?|broke|seized|spun|blown|blew|dead|knock\w*|destroyed|f)\b", "failed"),
)
_CAUSES = (
    (r"\b(unknown|not known|unclear|\?+)(?!\w)", "unknown"),
    (r"\b(wear\w*|worn|fatigue|age|aged)\b", "wear"),
    (r"\b(other|accident|overheat\w*|starv\w*|loss of oil|detonation|assembly)\b", "other"),
)
_WHYS = (
    (r"\b(suspect\w*|symptom\w*|knock\w*|noise|noisy|alarm|pressure|metal)\b", "suspected"),
    (r"\b(schedul\w*|planned|prevent\w*|service|routine|precaution\w*)\b", "scheduled"),
)
_YES, _NO = ("1", "yes", "y", "true", "x"), ("0", "no", "n", "false")
_UNIT_WORDS: dict[str, Unit] = {"km": "km", "mi": "mi", "h": "h", "mileage": "mi", **ALIASES}


def guessed_columns(headings: Sequence[str]) -> dict[str, str]:
    """A heading for each field of the records that one seems to be meant for."""
    found: dict[str, str] = {}
    plain = {heading: _plain(heading) for heading in headings}
    for field in _ORDER:
        for wanted in (field.replace("_", " "), *_HEADINGS[field]):
            free = [heading for heading in headings if heading not in found.values()]
            hit = next((h for h in free if _holds(plain[h], wanted)), None)
            if hit is not None:
                found[field] = hit
                break
    return {field: found[field] for field in FIELDS if field in found}


def guessed_unit(heading: str) -> Unit | None:
    """The unit that a heading names: "Mileage (km)" is km."""
    words = re.findall(r"[a-z]+", heading.lower())
    found = [_UNIT_WORDS[word] for word in words if word in _UNIT_WORDS and word != "mileage"]
    return found[0] if found else None


def distinct(cells: Iterable[str]) -> dict[str, int]:
    """Each word of a column, however written, with how often it stands there; the most
    frequent first. The key is in lower case, "" for empty cells."""
    counts: dict[str, int] = {}
    for cell in cells:
        counts[cell.lower()] = counts.get(cell.lower(), 0) + 1
    return dict(sorted(counts.items(), key=lambda item: -item[1]))


def guessed_word(field: str, word: str, heading: str = "") -> str | None:
    """What a word of the outcome, cause or why column seems to mean; None where nothing does."""
    plain = word.lower().replace("_", " ").strip()
    if field == "outcome":
        exact = {"failed", "running", "removed", "removed_worn", "removed_unworn"}
        if word.lower() in exact:
            return word.lower()
        if plain in _YES + _NO:
            return _of_event(plain in _YES, heading)
        return _first(_OUTCOMES, plain)
    if not plain:
        return "wear" if field == "cause" else "scheduled"
    return _first(_CAUSES if field == "cause" else _WHYS, plain)


def _of_event(yes: bool, heading: str) -> str | None:
    """What yes and no mean under a heading that asks for the failure, or for its absence."""
    name = _plain(heading)
    if _holds(name, "censored") or _holds(name, "suspended") or _holds(name, "running"):
        return "running" if yes else "failed"
    if any(_holds(name, word) for word in ("failed", "failure", "fail", "event", "dead", "broken")):
        return "failed" if yes else "running"
    return None


def _first(patterns: Sequence[tuple[str, str]], word: str) -> str | None:
    return next((meaning for pattern, meaning in patterns if re.search(pattern, word)), None)


def _plain(heading: str) -> str:
    return " ".join(re.findall(r"[a-z0-9]+", heading.lower()))


def _holds(name: str, wanted: str) -> bool:
    return re.search(rf"\b{wanted}s?\b", name) is not None
