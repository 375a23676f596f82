"""What must hold of every verdict, whatever the figures."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
from riskmodel.records.quantity import exactly
from tests.decision.exact_case import b50, case_of
from tests.decision.sampled_case import sampled_case

few = settings(max_examples=15, deadline=None)


def plain(shape: float, age: float, failure: float, keep: float = 50_000.0) -> Case:
    return case_of(
        {
            "machine": {"unit": "km", "reading": age, "usage_per_year": 12_000},
            "life": {"shape_prior": shape, "b50_prior": b50(shape, 160_000)},
            "oil": {"interval": 10_000},
            "cost": {"planned": 2_500, "failure": failure, "install_fault": 0.0},
            "plan": {"keep_usage": keep, "new_part_life": 1.0},
        }
    )


def best_at(case: Case) -> float:
    at = weigh(case).best
    assert at is not None
    return float("inf") if at.at is None else at.at


@few
@given(
    shape=st.floats(1.2, 5),
    age=st.floats(20_000, 180_000),
    low=st.floats(3_000, 30_000),
    more=st.floats(1.1, 5),
)
def test_a_dearer_failure_never_delays_the_best_plan(
    shape: float, age: float, low: float, more: float
) -> None:
    """Without fitting faults: with them a dearer failure makes both sides dearer."""
    assert best_at(plain(shape, age, low * more)) <= best_at(plain(shape, age, low)) + 1e-6


@few
@given(age=st.floats(20_000, 180_000), keep=st.floats(15_000, 60_000), more=st.floats(1.05, 2))
def test_more_time_owned_never_lowers_the_cost(age: float, keep: float, more: float) -> None:
    def cost(usage: float) -> float:
        return min(plan.cost.value for plan in weigh(plain(2.5, age, 9_000, usage)).plans)

    assert cost(keep * more) >= cost(keep) * (1 - 5e-3)  # what follows is rounded so far


@few
@given(silent=st.floats(0.05, 0.9), less=st.floats(0.1, 0.95), sees=st.floats(0.2, 0.95))
def test_a_surer_warning_never_raises_the_cost_of_waiting(
    silent: float, less: float, sees: float
) -> None:
    """Fewer silent failures, or a look after an alarm that sees more, where both the look and the
    urgent job are cheap beside a failure."""
    case = sampled_case("delivery_van_ranges")
    case = replace(case, cost=replace(case.cost, investigation=exactly(0.0), urgent=None))

    def waiting(share: float, seen: float) -> float:
        warning = replace(case.warning, silent=exactly(share, share=True))
        oil = replace(case.oil, investigation_sees=seen)
        return weigh(replace(case, warning=warning, oil=oil)).plans[-1].cost.value

    base = waiting(silent, sees)
    assert waiting(silent * less, sees) <= base * (1 + 1e-6)
    assert waiting(silent, sees + (1 - sees) * less) <= base * (1 + 1e-6)
