"""What is compared on few curves: the same as on all of them, as far as it is told."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from riskmodel.decision import retest
from riskmodel.decision.flips import flips, what_moves
from riskmodel.decision.means import Means
from riskmodel.decision.occasions import closed
from riskmodel.decision.prepared import Prepared, expected_costs, grounds, prepared, thinned
from riskmodel.decision.swings import Swing, swings
from riskmodel.decision.walk_away import settle
from riskmodel.decision.weigh import weigh
from riskmodel.records.case import Case
from riskmodel.records.files import read_case
from riskmodel.records.quantity import exactly

DATA = Path(__file__).resolve().parents[2] / "data"
NEAR = 5e-3
"""Of what a mean on few curves may be off, in proportion (`prepared.FEW`)."""


@pytest.fixture(scope="module")
def case() -> Case:
    """By its traits, its use and ten samples: a thousand curves."""
    return read_case(DATA / "road-car")


@pytest.fixture(scope="module")
def ready(case: Case) -> Prepared:
    return prepared(grounds(case))


@pytest.fixture(scope="module")
def rows(case: Case) -> tuple[Swing, ...]:
    return swings(grounds(case))


def open_costs(case: Case) -> list[float]:
    """What the plans that can be had cost, on all curves, the soonest first."""
    plans = weigh(case, retest=False).plans
    at = np.array([np.inf if each.at is None else each.at for each in plans])
    return [each.cost.value for each in plans[closed(case, at) :]]


def test_means_on_few_curves_are_those_on_all(ready: Prepared) -> None:
    few = thinned(ready)
    assert len(few.curves) < len(ready.curves) / 2
    assert few.curves.weight.sum() == pytest.approx(1)
    (at, *whole), (at_few, *thin) = expected_costs(ready), expected_costs(few)
    np.testing.assert_array_equal(at, at_few)
    for all_of_them, some in zip(whole, thin, strict=True):
        np.testing.assert_allclose(some, all_of_them, rtol=NEAR)


def test_few_curves_are_worked_out_once_and_take_on_other_prices(
    case: Case, ready: Prepared
) -> None:
    dearer = replace(case, cost=replace(case.cost, planned=exactly(4_000.0)))
    again = prepared(grounds(dearer))
    assert thinned(ready).present is not thinned(again).present
    assert thinned(again).prices.planned == exactly(4_000.0)
    assert thinned(ready).joined is thinned(ready).joined


@pytest.mark.parametrize(
    ("key", "put"),
    [
        (
            "warning.silent",
            lambda c, v: replace(c, warning=replace(c.warning, silent=exactly(v, share=True))),
        ),
        (
            "warning.lead_factor",
            lambda c, v: replace(c, warning=replace(c.warning, lead_factor=exactly(v))),
        ),
        ("oil.misleading", lambda c, v: replace(c, oil=replace(c.oil, misleading=v))),
        ("cost.failure", lambda c, v: replace(c, cost=replace(c.cost, failure=exactly(v)))),
        ("cost.found_worn", lambda c, v: replace(c, cost=replace(c.cost, found_worn=exactly(v)))),
    ],
    ids=lambda each: each if isinstance(each, str) else "",
)
def test_a_row_is_the_whole_case_weighed_anew(
    case: Case, rows: tuple[Swing, ...], key: str, put: Callable[[Case, float], Case]
) -> None:
    row = next(each for each in rows if each.key == key)
    for setting, now, later in ((row.at[i], row.now[i], row.later[i]) for i in (0, 2)):
        first, *others = open_costs(put(case, setting))
        assert first == pytest.approx(now, rel=NEAR / 5)
        assert min(others) == pytest.approx(later, rel=NEAR / 5)


def test_what_is_done_after_a_failure_is_settled_at_each_price_of_one(case: Case) -> None:
    """An engine at its least price is put in where as it stands the car would be scrapped."""
    poor = replace(case, machine=replace(case.machine, value=19_000.0))
    row = next(each for each in what_moves(poor).swings if each.key == "cost.failure")
    walks = []
    for setting, now, later in zip(row.at, row.now, row.later, strict=True):
        priced = replace(poor, cost=replace(poor.cost, failure=exactly(setting)))
        walks.append(settle(grounds(priced)).walks)
        first, *others = open_costs(priced)
        assert first == pytest.approx(now, rel=NEAR / 5)
        assert min(others) == pytest.approx(later, rel=NEAR / 5)
    assert walks == [False, True, True]


def test_the_keep_until_that_tips_it_is_right_on_all_curves(case: Case) -> None:
    found = flips(grounds(case)).keep
    assert found is not None
    plan = replace(case.plan, keep_usage=found, keep_years=None)
    first, *others = open_costs(replace(case, plan=plan))
    assert first == pytest.approx(min(others), rel=NEAR / 5)


def test_the_prices_that_tip_it_are_right_on_all_curves(case: Case, ready: Prepared) -> None:
    found, means = flips(grounds(case)), Means(ready.present)
    assert found.planned is not None
    assert found.sale_credit is not None
    for name in ("planned", "sale_credit"):
        prices = replace(ready.prices, **{name: exactly(getattr(found, name))})
        at_price = means.at(prices)
        first, *others = (at_price.counts @ prices.means())[closed(case, at_price.at) :]
        # the step back from few curves leaves no more than where the search stops
        assert first == pytest.approx(min(others), abs=0.5)


def test_the_limit_for_another_surge_is_the_cheapest_on_all_curves(
    case: Case, monkeypatch: pytest.MonkeyPatch
) -> None:
    costs = {}
    for false_alarm in retest.FALSE_ALARMS:
        with monkeypatch.context() as only:
            only.setattr(retest, "FALSE_ALARMS", (false_alarm,))
            found = weigh(case, retest=True).retest
        assert found is not None
        costs[false_alarm] = found.cost.value
    chosen = weigh(case, retest=True).retest
    assert chosen is not None
    assert len(costs) > 1
    assert costs[chosen.false_alarm] == pytest.approx(min(costs.values()), rel=1e-4)
