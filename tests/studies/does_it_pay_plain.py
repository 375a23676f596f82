"""One owner without oil samples: every rule followed to keep-until."""

from __future__ import annotations

import numpy as np

from riskmodel.decision.rank_shared import Shared
from tests.studies.owners import Misfit, case_of, draw_owner, stream
from tests.studies.owners_club import club
from tests.studies.owners_life import AtAge, Luck, NewRule, first_part, services_paid, total
from tests.studies.owners_verdict import first_service_at, followed, long_run_age, new_rule

LIVES = 200
"""Fates of the first part for each owner, each with its own parts after it."""
ROUND = (100_000.0, 150_000.0, 200_000.0)
TOOL, KNOWN, ONCE, LONG_RUN, NEVER = "this tool", "curve known", "at once", "long-run age", "never"

Row = dict[str, list[float]]


def round_name(figure: float) -> str:
    return f"at {figure:,.0f}"


def plain(number: int, misfit: Misfit, parts: int) -> tuple[float, Row]:
    """What the oil changes would cost whatever is done, and for each rule: discounted cost,
    engines lost, parts fitted, and when the first part is replaced (-1: never)."""
    owner = draw_owner(number)
    data = club(stream(number, 1), parts, owner.shape, owner.scale, misfit.other, misfit.reporting)
    shared, interval = Shared(), owner.interval
    case, known = case_of(owner, data, told=misfit.told), case_of(owner, None)
    age = long_run_age(case, shared)
    nothing = AtAge(float("inf"), interval)
    rules: dict[str, tuple[float, NewRule]] = {
        TOOL: (followed(case, owner, shared), new_rule(case, shared)),
        KNOWN: (followed(known, owner, shared), new_rule(known, shared)),
        ONCE: (0.0, nothing),
        LONG_RUN: (first_service_at(owner, age), AtAge(age, interval)),
        NEVER: (float("inf"), nothing),
        **{
            round_name(each): (first_service_at(owner, each), AtAge(each, interval))
            for each in ROUND
        },
    }
    luck = Luck(owner, misfit, LIVES)
    rows: Row = {}
    for name, (at, new) in rules.items():
        told = total(luck, first_part(luck, at), new)
        rows[name] = [told.cost, told.lost, told.fitted, at if np.isfinite(at) else -1.0]
    oil = float(services_paid(owner, np.array([owner.keep]))[0])
    return oil, rows
