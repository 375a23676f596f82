"""Coverage of what `weigh` says with oil samples: the part of `intervals_coverage` for these.

    python -m tests.studies.intervals_coverage_sampled [--worlds 1000] [--records 30] [--keep FILE]

The life curve, the factor on the lead, the silent share, prices and the new part's life are drawn
from the ranges that the case states; samples are simulated by a program of its own
(`misfits_oil.draw_engine`). What is then known exactly leaves lead, level, rise and luck to vary:
the truth of a plan is the package's own exact case with the same samples, new parts under the rule
that the tool takes. So it is the intervals that are judged here; that exact cases are right is
judged by `tests/simulation/sampled.py`. What came true is simulated.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import tomli_w
from numpy.typing import NDArray

from riskmodel.decision.possible import drawn, over_nodes, possible
from riskmodel.decision.prepared import Prepared, grounds, prepared
from riskmodel.decision.renewal import NewPart
from riskmodel.decision.renewed import Renewal
from riskmodel.records.case import Case
from riskmodel.records.files import case_from_files
from riskmodel.records.quantity import Quantity, exactly
from riskmodel.risk.with_oil import chance_with_oil
from tests.life.made import joined
from tests.studies.coverage import B50_PRIOR, ERROR, LEAD, SHAPE_PRIOR, Rng, late, looked_at
from tests.studies.intervals_coverage import row
from tests.studies.intervals_coverage_run import run
from tests.studies.intervals_coverage_truth import Rule
from tests.studies.misfits_oil import World as OilWorld
from tests.studies.misfits_oil import draw_engine
from tests.studies.oil_calibration import INTERVALS, LEAD_FACTOR, METALS, SILENT, SUMP
from tests.studies.oil_calibration import LEAD as WARNING

Floats = NDArray[np.float64]

SEED = 20_261_133
KEEP_YEARS = 3.0
PRICES = {
    "planned": Quantity(2_100, 3_300),
    "urgent": Quantity(2_800, 4_200),
    "failure": Quantity(11_000, 19_000),
    "investigation": Quantity(350, 750),
}
NEW_PART_LIFE = Quantity(0.6, 1.1)


def metals_told() -> list[dict[str, Any]]:
    """The metals as a case states them."""
    return [
        {
            "symbol": m.symbol,
            "typical": list(m.typical),
            "scatter": m.scatter,
            "rise": list(m.rise),
            "noise": m.noise,
            "from_part": True,
        }
        for m in METALS
    ]


@lru_cache(maxsize=1)
def _read() -> Case:
    def ends(quantity: Quantity) -> list[float]:
        return [quantity.low, quantity.high]

    metals = metals_told()
    told = {
        "format": 1,
        "machine": {"unit": "km", "reading": 1_000.0, "usage_per_year": 10_000.0},
        "life": {
            "shape_prior": ends(SHAPE_PRIOR),
            "b50_prior": ends(B50_PRIOR),
            "finding_error": ERROR,
        },
        "use": {"stretches": [{"until": 1_000.0, "shares": {}}], "ahead": {}},
        "warning": {
            "lead": list(WARNING),
            "lead_factor": list(LEAD_FACTOR),
            "silent": list(SILENT),
            "visible_lead": ends(LEAD),
        },
        "oil": {"interval": 10_000.0, "break_in": 0, "sump_litres": SUMP, "element": metals},
        "cost": {k: ends(q) for k, q in PRICES.items()} | {"oil_change": 170.0, "sample": 35.0},
        "plan": {"keep_years": KEEP_YEARS, "new_part_life": ends(NEW_PART_LIFE)},
    }
    return case_from_files({"case.toml": tomli_w.dumps(told).encode()})


def draw_case(rng: Rng, parts: int) -> tuple[Case, Case, float]:
    """What the owner tells, the same with all known that is not, and usage left to the part."""
    shape, b50 = (float(q.quantile(rng.standard_normal())) for q in (SHAPE_PRIOR, B50_PRIOR))
    scale = b50 / np.log(2) ** (1 / shape)
    age = float(rng.uniform(40_000, 160_000))
    if rng.exponential() < (age / scale) ** shape:  # has not lasted
        return draw_case(rng, parts)
    case, interval = _read(), float(rng.choice(INTERVALS))
    engine = draw_engine(rng, OilWorld("own"), age, interval, shape, scale)
    data = joined(
        late(rng, shape, scale, parts // 2), looked_at(rng, shape, scale, parts - parts // 2)
    )
    last = engine.samples.rows[-1].age if len(engine.samples) else None
    since = rng.uniform() * interval if last is None else age - last
    told = replace(
        case,
        machine=replace(case.machine, reading=age),
        use=replace(case.use, stretches=(replace(case.use.stretches[0], until=age),)),
        oil=replace(case.oil, interval=interval, next_change_in=float(interval - since)),
        records=data,
        samples=engine.samples if len(engine.samples) else None,
    )
    prices = {k: exactly(float(q.quantile(rng.standard_normal()))) for k, q in PRICES.items()}
    life = float(NEW_PART_LIFE.quantile(rng.standard_normal()))
    known = replace(
        told,
        life=replace(told.life, shape_prior=exactly(shape), b50_prior=exactly(b50)),
        warning=replace(
            told.warning,
            lead_factor=exactly(engine.factor),
            silent=exactly(engine.silent, share=True),
        ),
        cost=replace(told.cost, **prices),
        plan=replace(told.plan, new_part_life=exactly(life)),
        records=None,
    )
    return told, known, engine.failure - age


def under(new: NewPart, renewal: Renewal, interval: float) -> None:
    """Makes new parts of an exact case follow the rule of `renewal` in place of the best."""
    rule = Rule(renewal.left, renewal.service, interval)
    today, lattice = new._today
    asked = iter([*new.left[1:].tolist(), *today[lattice].tolist()])

    def choose(tail: Any, *rest: Any) -> int:
        return min(int(rule.service_at(np.array([next(asked)]), 1e-6)[0]), int(tail.services))

    new._choose = choose  # type: ignore[method-assign]


def any_failure(ready: Prepared, lasts: Floats) -> Floats:
    """Chance of at least one failure or fitting fault, from `lasts` (plans, faults, nodes)."""
    return np.asarray(1 - np.einsum("pfk,f,k->p", lasts, ready.fault_share, ready.weight))


def one(number: int, parts: int) -> dict[str, Any]:
    rng = np.random.default_rng([SEED, number])
    case, exact, lasts = draw_case(rng, parts)
    ready, known = prepared(grounds(case)), prepared(grounds(exact))
    counts, renewal = ready.present.evaluate(ready.prices)
    under(known.present.new_part, renewal, case.interval)
    true, _ = known.present.evaluate(known.prices)
    draws, _ = possible(ready)
    paid = draws.costs(counts.counts)
    cost = np.einsum("pek,e,k->p", counts.counts, ready.prices.means(), ready.weight)
    right = np.einsum("pek,e,k->p", true.counts, known.prices.means(), known.weight)
    fails, certain = any_failure(ready, counts.lasts), any_failure(known, true.lasts)
    failures = draws.failures(counts.lasts)
    found: dict[str, Any] = {}
    found.update(_chances(ready, known, lasts))
    services, never = len(ready.timing.services), len(cost) - 1
    first = int(np.flatnonzero(counts.at == ready.timing.first)[0]) if services else never
    best = int(np.argmin(cost))
    for kind, i in {"now": 0, "next change": first, "never": never, "recommended": best}.items():
        found[f"cost, {kind}"] = row(drawn(float(cost[i]), paid[i]), float(right[i]))
        found[f"any failure, {kind}"] = row(drawn(float(fails[i]), failures[i]), float(certain[i]))
        for what in ("fails", "alarm"):
            values = over_nodes(getattr(counts, what)[i], ready.weight)
            truth = float(getattr(true, what)[i] @ known.weight)
            name = {"fails": "present part fails", "alarm": "alarm leads to a job"}[what]
            found[f"{name}, {kind}"] = row(values, truth)
    cheap = np.bincount(np.argmin(paid, axis=0), minlength=len(cost)) / paid.shape[1]
    least = int(np.argmin(right))
    found["cheapest"] = [[float(c), float(i == least)] for i, c in enumerate(cheap)]
    found["recommended is cheapest"] = [
        float(cheap[best]),
        float(best == least),
        float(right[best] / right[least] - 1),
    ]
    return found


def _chances(ready: Prepared, known: Prepared, lasts: float) -> dict[str, Any]:
    """Chances ahead with the samples, against the exact case, and against what came true."""
    timing = ready.timing
    ahead = np.array([min(timing.first, timing.keep), timing.per_year, timing.keep])
    found: dict[str, Any] = {}
    told, true = (
        chance_with_oil(each.case, each.curves, ahead, each.taken, each.ages).with_oil
        for each in (ready, known)
    )
    for i, what in enumerate(("next_oil_change", "one_year", "keep_until")):
        ends = [float(told.value[i]), float(told.low[i]), float(told.high[i])]
        found[f"fails by {what}"] = [*ends, float(true.value[i])]
        found[f"came true: fails by {what}"] = [ends[0], float(lasts <= ahead[i])]
    return found


if __name__ == "__main__":
    run(__doc__, one)
