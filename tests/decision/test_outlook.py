"""Chances of what is found out first, over many worlds of the warning."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from riskmodel.decision import outlook
from riskmodel.decision.basis import basis
from riskmodel.decision.inspection import NothingSeen
from riskmodel.decision.outlook import outlook_of
from riskmodel.decision.sampling import Retested, Sampling
from riskmodel.decision.watched import shows
from riskmodel.decision.weigh import weigh
from riskmodel.decision.worlds import few_worlds, many_worlds
from riskmodel.life.quantile import weighted_quantile
from riskmodel.life.weibull import density_ahead
from riskmodel.oil.alarm import shed
from riskmodel.oil.history import history
from riskmodel.oil.retest import retest_alarm
from riskmodel.records.case import Case
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.records.tables import Reading
from tests.decision.sampled_case import sampled_case

Floats = NDArray[np.float64]

CASES = ("road_car", "road_car_hint", "road_car_hint x2", "delivery_van_ranges")
SEES = 0.85


def looked(name: str) -> Case:
    """Offered a look, and with something not known of the warning; with the last sample so many
    times as telling where `name` says so."""
    name, *times = name.split(" x")
    case = sampled_case(name)
    if times:
        assert case.samples is not None
        rows = list(case.samples.rows)
        read = {key: Reading(float(times[0]) * r.value) for key, r in rows[-1].elements.items()}
        rows[-1] = replace(rows[-1], elements=read)
        case = replace(case, samples=replace(case.samples, rows=tuple(rows)))
    if case.warning.lead_factor.exact:
        factor, silent = Quantity(0.5, 2.0), Quantity(0.1, 0.5, share=True)
        case = replace(case, warning=replace(case.warning, lead_factor=factor, silent=silent))
    return replace(case, inspection=replace(case.inspection, cost=exactly(400.0), sees=SEES))


def look(case: Case) -> NothingSeen:
    return NothingSeen(case.age, case.warning.visible_lead, SEES)


def test_many_worlds_have_the_moments_of_what_is_not_known() -> None:
    warning = looked("road_car_hint").warning
    many = many_worlds(warning)
    assert many.weight.sum() == pytest.approx(1)
    logs = np.log(many.factor)
    mean = many.weight @ logs
    assert mean == pytest.approx(np.log(warning.lead_factor.median), abs=1e-9)
    spread = np.sqrt(many.weight @ (logs - mean) ** 2)
    assert spread == pytest.approx(warning.lead_factor.spread, rel=0.01)
    assert many.weight @ many.silent == pytest.approx(warning.silent.mean, rel=1e-3)


def test_what_is_known_exactly_has_one_world() -> None:
    warning = replace(
        looked("road_car_hint").warning, lead_factor=exactly(1.3), silent=exactly(0.2, share=True)
    )
    for worlds in (few_worlds(warning), many_worlds(warning)):
        assert (worlds.factor.tolist(), worlds.silent.tolist()) == ([1.3], [0.2])
        assert worlds.weight.tolist() == [1.0]


@pytest.mark.parametrize("name", CASES)
def test_in_the_worlds_of_the_plans_the_chances_are_theirs(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two ways to the same: beside the plans, and without any."""
    monkeypatch.setattr(outlook, "many_worlds", few_worlds)
    case = looked(name)
    told, ready = weigh(case, retest=True), basis(case).ready
    assert told.information is not None
    found = told.information.inspection
    assert found is not None
    for own, plans in zip(
        outlook_of(ready).of_look(look(case)), (found.if_not, found.if_seen)[::-1], strict=True
    ):
        assert own.chance.value == pytest.approx(plans.chance.value, rel=0.004)
        assert own.soon.value == pytest.approx(plans.soon.value, rel=0.01)
    again = told.retest
    assert again is not None
    taken = history(case)
    alarm = retest_alarm(
        shed(case.oil.element),
        again.oil_age,
        case.oil.resolution,
        {} if taken is None else taken.used,
        again.false_alarm,
        case.oil.shared_scatter,
    )
    first, *rest = outlook_of(ready).of_retest(Retested(alarm, True, again.at), again.acts_at)
    assert first.value == pytest.approx(again.first.value, rel=0.004)
    for own, branch in zip(rest, (again.if_surge, again.if_clear), strict=True):
        assert own.chance.value == pytest.approx(branch.chance.value, rel=0.004)
        assert own.soon.value == pytest.approx(branch.soon.value, rel=0.01)


def test_a_price_that_moves_works_no_chance_out_again(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[float] = []
    of = outlook.Outlook._standing

    def counted(self: outlook.Outlook, watch: Sampling, later: float) -> outlook._Standing:
        asked.append(later)
        return of(self, watch, later)

    monkeypatch.setattr(outlook.Outlook, "_standing", counted)
    case = looked("road_car_hint")
    base = basis(case)
    for price in (2_000.0, 2_001.0, 2_002.0):
        cost = replace(case.cost, planned=exactly(price))
        assert weigh(replace(case, cost=cost), base=base, retest=True).retest is not None
    assert len(asked) == 4  # today, a look that shows none, a surge, no surge


@pytest.mark.parametrize("name", CASES)
def test_intervals_are_those_of_drawn_worlds_added_up_plainly(name: str) -> None:
    case = looked(name)
    ready, taken = basis(case).ready, history(case)
    rng, many, curves = np.random.default_rng(4), 3_000, ready.curves
    warning, until = case.warning, min(case.next_change_in, case.keep)
    curve = rng.choice(len(curves), size=many, p=curves.weight)
    factor = warning.lead_factor.quantile(rng.standard_normal(many))
    share = warning.silent.quantile(rng.standard_normal(many))[:, None]
    beyond = until + 300_000 * np.linspace(0, 1, 401)[1:] ** 2
    ahead = np.concatenate([np.linspace(0, until, 101), beyond])
    middle, before = (ahead[1:] + ahead[:-1]) / 2, ahead[1:] <= until
    shape, scale = curves.shape[curve, None], curves.scale[curve, None]
    failing = density_ahead(ready.ages[curve, None], middle, shape, scale) * np.diff(ahead)
    loud = np.ones((many, len(middle)))
    if taken is not None:
        factors = np.geomspace(factor.min(), factor.max(), 31)
        told = np.log(taken.likelihood(case.age + middle, factors))
        place = np.interp(np.log(factor), np.log(factors), np.arange(31.0))
        low = np.minimum(place.astype(int), 29)
        part = (place - low)[:, None]
        loud = np.exp((1 - part) * told[low] + part * told[low + 1])
    failing = failing * (share + (1 - share) * loud)
    likely, seen = failing.sum(axis=1), SEES * shows(warning.visible_lead, middle)
    for own, weight in zip(outlook_of(ready).of_look(look(case)), (seen, 1 - seen), strict=True):
        so = failing * weight
        chance, soon = so.sum(axis=1) / likely, so[:, before].sum(axis=1) / so.sum(axis=1)
        rows = (own.chance, chance, likely), (own.soon, soon, likely * chance)
        for found, values, believed in rows:
            ends = weighted_quantile(values, believed, [0.05, 0.95])
            assert [found.low, found.high] == pytest.approx(ends, rel=0.04)
            assert found.value == pytest.approx(values @ believed / believed.sum(), rel=0.03)
