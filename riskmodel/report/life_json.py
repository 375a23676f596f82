"""What the records say, and how the verdict moves with it, as plain JSON values."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from riskmodel.decision.sensitivity import WhatIf
from riskmodel.life.check import Remark
from riskmodel.life.check_distribution import Choice
from riskmodel.life.covariates import CovariateFit
from riskmodel.life.profile import Estimate
from riskmodel.life.summary import LifeResult
from riskmodel.life.weibayes import Weibayes
from riskmodel.risk.learned import Effects, Known, Learned, Share

Json = dict[str, Any]


def life_json(result: LifeResult, unit: str) -> Json:
    """The object that `riskmodel life --json` prints; what does not exist is null.

    `warnings` holds every warning as a sentence, those of `remarks` included.
    """
    return {
        "unit": unit or None,
        "n": result.n,
        "failures": result.failures,
        "loglik": result.loglik,
        "shape": asdict(result.shape),
        "scale": asdict(result.scale),
        "b10": asdict(result.b10),
        "conditional": [asdict(asked) for asked in result.conditional],
        "comparison": [asdict(other) for other in result.comparison],
        "choice": [_choice(choice) for choice in result.choices],
        "covariates": None if result.covariates is None else _covariates(result.covariates),
        "other_causes": None if result.other_causes is None else asdict(result.other_causes),
        "weibayes": None if result.weibayes is None else _weibayes(result.weibayes),
        "remarks": _remarks(result.remarks),
        "warnings": [*result.warnings, *(remark.sentence for remark in result.remarks)],
    }


def learned_json(learned: Learned) -> Json:
    """The `life` of a weighing: the records and the beliefs, each alone and together.

    `probability` is that of failing before the next oil change (`ahead`) from `at` on. By the
    records alone the interval is 95 % likelihood-ratio, else 90 % credible.
    """
    return {
        "at": learned.age,
        "ahead": learned.ahead,
        "both": _known(learned.both),
        "records_alone": _known(learned.by_records),
        "belief_alone": _known(learned.by_belief),
        "from_records": {"shape": _share(learned.shape), "b50": _share(learned.half)},
        "conflict": learned.conflict,
        "choice": None if learned.choice is None else _choice(learned.choice),
        "traits": None if learned.effects is None else _effects(learned.effects),
        "remarks": _remarks(learned.remarks),
    }


def sensitivity_json(found: Iterable[WhatIf]) -> list[Json]:
    """The answer as it stands, then with one thing changed at a time."""
    return [
        {
            "group": other.group,
            "setting": other.setting,
            "probability": None if other.chance is None else other.chance.value,
            "low": None if other.chance is None else other.chance.low,
            "high": None if other.chance is None else other.chance.high,
            "expected_cost_now": other.now,
            "expected_cost_later": other.later,
            "at": other.at,
            "same_verdict": other.same_verdict,
            "why_not": other.why_not or None,
        }
        for other in found
    ]


def _weibayes(found: Weibayes) -> Json:
    b10, lower = found.life(0.1)
    return {**asdict(found), "b10": b10, "b10_lower": lower}


def _known(known: Known) -> Json:
    return {
        "probability": known.chance,
        "low": known.low,
        "high": known.high,
        "why_not": known.why_not or None,
        "cautions": list(known.cautions),
    }


def _share(share: Share) -> Json:
    believed = share.believed
    return {
        "share": share.records,
        "prior": None if believed is None else [believed.low, believed.high],
        "median": share.median,
        "low": share.low,
        "high": share.high,
    }


def _choice(choice: Choice) -> Json:
    return asdict(choice)


def _remarks(remarks: Iterable[Remark]) -> list[Json]:
    return [asdict(remark) for remark in remarks]


def _effects(effects: Effects) -> Json:
    value, low, high = effects.average
    return {
        "traits": dict(effects.traits),
        "used": effects.used,
        "without_traits": {"probability": value, "low": low, "high": high},
        "fit": None if effects.fit is None else _covariates(effects.fit),
        "why_not": effects.why_not or None,
        "notes": list(effects.notes),
    }


def _covariates(fit: CovariateFit) -> Json:
    return {
        "shape": _estimate(fit.shape),
        "scale": _estimate(fit.scale),
        "loglik": fit.loglik,
        "aic": fit.aic,
        "aic_without": fit.aic_without,
        "terms": [
            {
                "column": term.column,
                "level": term.level,
                "base": term.base,
                "step": term.step,
                "factor": _estimate(term.factor),
                "records": term.records,
                "failures": term.failures,
                "p": term.p,
            }
            for term in fit.terms
        ],
        "columns": [asdict(column) for column in fit.columns],
        "warnings": list(fit.warnings),
    }


def _estimate(estimate: Estimate) -> Json:
    return asdict(estimate)
