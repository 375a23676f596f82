"""The figures behind the charts of life, as frames with headings that a person can read."""

from __future__ import annotations

import numpy as np
import pandas as pd

from riskmodel.charts.life_effects import shown_terms
from riskmodel.decision.results import Interval
from riskmodel.life.curves import FittedCurve, Observed
from riskmodel.records.case import Case
from riskmodel.risk.learned import Known, Learned
from riskmodel.words import formats
from riskmodel.words.learned import OFTEN
from riskmodel.words.learned_effects import (
    NEARLY_ALWAYS,
    column_in_words,
    factor_range,
    factor_text,
    step_of,
    told_factor,
)

CURVE_ROWS = 11
NONE = "none"


def sources(case: Case, learnt: Learned) -> pd.DataFrame:
    """The chance before the next oil change by records, by belief and by both."""
    rows = [
        ("The records alone", learnt.by_records, NEARLY_ALWAYS),
        ("The belief alone", learnt.by_belief, OFTEN),
        ("Both together", learnt.both, OFTEN),
    ]
    return pd.DataFrame(
        [
            {
                "Judged by": who,
                "Failures of 100 before the next oil change": _known(known),
                "In brackets": f"{often} within" if known.low is not None else "",
            }
            for who, known, often in rows
        ]
    )


def distributions(learnt: Learned) -> pd.DataFrame:
    """Each distribution fitted, the best first."""
    fits = () if learnt.choice is None else learnt.choice.fits
    return pd.DataFrame(
        [
            {
                "Kind of curve": formats.sentence(fit.name),
                "AIC (smaller explains better)": f"{fit.aic:.1f}",
                f"Failures of 100 before the next oil change ({OFTEN})": _chance(
                    fit.probability, fit.low, fit.high
                ),
                "The records allow it": "yes" if fit.plausible else "hardly",
            }
            for fit in sorted(fits, key=lambda fit: fit.aic)
        ]
    )


def effects(learnt: Learned) -> pd.DataFrame:
    """Each effect with its interval and how many parts it rests on."""
    return pd.DataFrame(
        [
            {
                "What sets them apart": f"{formats.sentence(column_in_words(term.column))}: "
                + (
                    f"{formats.exact(step_of(term))} higher"
                    if term.step is not None
                    else f"{term.level}"
                ),
                "Against": "the same" if term.step is not None else str(term.base),
                "Times as long": "no best guess"
                if (guess := told_factor(term).estimate) is None
                else factor_text(guess),
                f"{formats.sentence(NEARLY_ALWAYS)}": factor_range(told_factor(term)),
                "Parts": f"{term.records:,.0f}",
                "Failures": f"{term.failures:,.0f}",
            }
            for term in shown_terms(learnt)
        ]
    )


def curves(case: Case, learnt: Learned) -> pd.DataFrame:
    """The share failed by even steps of age, by every curve that is drawn."""
    both = learnt.both.curve
    if both is None:
        return pd.DataFrame()
    at = np.linspace(0, len(both.age) - 1, CURVE_ROWS).round().astype(int)
    seen = learnt.observed
    shown: dict[str, list[str]] = {"Age": [_by(case, float(both.age[i])) for i in at]}
    if seen is not None and seen.reason is None:
        shown["Observed, of 100"] = [_seen(seen, float(both.age[i])) for i in at]
    shown["Both together, of 100"] = [
        formats.chance_short(
            Interval(float(both.failed[i]), float(both.low[i]), float(both.high[i]))
        )
        for i in at
    ]
    if learnt.by_records.curve is not None:
        shown["Records alone, of 100"] = _shares(learnt.by_records.curve, at)
    if learnt.by_belief.curve is not None and case.records is not None:
        shown["Belief alone, of 100"] = _shares(learnt.by_belief.curve, at)
    return pd.DataFrame(shown)


def observed(case: Case, learnt: Learned) -> pd.DataFrame:
    """Each rise of the observed curve."""
    seen, unit = learnt.observed, case.machine.unit
    if seen is None or seen.reason is not None:
        return pd.DataFrame()
    return pd.DataFrame(
        [
            {
                "Age": _by(case, float(seen.age[i])),
                "When it failed": f"after {formats.usage(float(seen.since[i]), unit)}"
                if seen.since[i] < seen.age[i]
                else "at that age",
                "Failed of 100": formats.count_short(float(seen.failed[i]))
                if seen.low is None or seen.high is None
                else formats.chance_short(
                    Interval(float(seen.failed[i]), float(seen.low[i]), float(seen.high[i]))
                ),
            }
            for i in range(len(seen.age))
        ]
    )


def _by(case: Case, age: float) -> str:
    """An age that needs no heading: on a phone it heads a card of its own."""
    return f"by {formats.usage(age, case.machine.unit)}"


def _known(known: Known) -> str:
    return NONE if known.chance is None else _chance(known.chance, known.low, known.high)


def _chance(value: float, low: float | None, high: float | None) -> str:
    """A chance of 100; an end that does not exist is the end of what is possible."""
    if low is None and high is None:
        return formats.count_short(value)
    return formats.chance_short(
        Interval(value, 0.0 if low is None else low, 1.0 if high is None else high)
    )


def _seen(seen: Observed, age: float) -> str:
    """The observed share by an age; nothing where nobody was watched or it may have risen."""
    if not seen.from_age <= age <= seen.to_age:
        return ""
    done = int(np.searchsorted(seen.age, age, side="right"))
    value = float(seen.failed[done - 1]) if done else 0.0
    if done < len(seen.age) and seen.since[done] < age:
        return f"{_whole(value)} to {_whole(float(seen.failed[done]))}"
    return _whole(value)


def _whole(value: float) -> str:
    return "0" if value == 0 else formats.count_short(value)


def _shares(curve: FittedCurve, at: np.ndarray[tuple[int], np.dtype[np.int64]]) -> list[str]:
    return [_whole(float(curve.failed[i])) for i in at]
