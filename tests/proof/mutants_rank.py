"""Seeded faults: many machines in order, with the verdict of each."""

from __future__ import annotations

from tests.proof.mutants_made import seeded

RANK = seeded(
    "rank",
    (
        "decision/sale.py",
        "return sale < cost or (",
        "return sale > cost or (",
        "selling is the verdict where it costs more",
        "decision/rank_verdict",
    ),
    (
        "decision/sale.py",
        "ceiling is not None and failure > ceiling",
        "ceiling is not None and failure < ceiling",
        "the machine is sold where the best plan keeps to the ceiling",
        "decision/rank_verdict",
    ),
    (
        "decision/rank_quick.py",
        "sold.without is None else sold.cost",
        "sold.without is None else -sold.forgone",
        "the ranking knows no cost of life without the machine",
        "decision/rank_verdict",
    ),
    (
        "decision/rank.py",
        "sold_instead(told.sale, cost, failure, case.plan.most_risk)",
        "sold_instead(told.sale, cost, failure, None)",
        "a sale in the ranking knows no ceiling",
        "decision/rank_verdict",
    ),
    (
        "decision/rank.py",
        "told.oil_factor >= HINT",
        "told.oil_factor >= 1 / HINT",
        "samples that tell nothing are a hint worth a second one",
        "decision/rank_verdict",
    ),
    (
        "decision/rank.py",
        "case.oil.retest_in + case.oil.turnaround < told.until",
        "case.oil.turnaround < told.until",
        "a second sample is suggested whose result comes too late",
        "decision/rank_verdict",
    ),
    (
        "decision/rank.py",
        "if told.sells and told.sale is not None",
        "if not told.sells and told.sale is not None",
        "a machine weighed in full is sold where it is to be kept",
        "decision/rank_verdict",
    ),
    (
        "decision/rank_standings.py",
        "acts = best_at if instead is None else instead.at",
        "acts = best_at",
        "the replacement is booked where a look is to come first",
        "decision/rank_verdict",
    ),
    (
        "decision/rank_standings.py",
        'instead is not None and instead.kind == "sale"',
        'instead is not None and instead.kind == "retest"',
        "a job is booked for a machine that is to be sold",
        "decision/rank_verdict",
    ),
    (
        "decision/rank_standings.py",
        "float(cost[best]) - instead.cost",
        "float(cost[0]) - instead.cost",
        "a sale is held against replacing now and not against the best plan",
        "decision/rank_verdict",
    ),
    (
        "decision/rank_curves.py",
        "None if learned is case else learned",
        "None",
        "the ranking joins no harshness with its curves",
        "decision/rank_learned",
    ),
    (
        "decision/rank_curves.py",
        "- power * lost",
        "+ power * lost",
        "a part that lasted makes short lives likelier",
        "decision/rank_learned decision/rank",
    ),
    (
        "decision/rank_quick.py",
        "use_ahead(shared.learned(case))",
        "use_ahead(case)",
        "curves joined with a harshness are read at another",
        "decision/rank_learned",
    ),
    (
        "decision/rank_shared.py",
        "traits, joined, *_beliefs(case))",
        "traits, None, *_beliefs(case))",
        "machines of stated harshness share curves with those that learn it",
        "decision/rank_learned",
    ),
    (
        "decision/rank_shared.py",
        "power = 1.0 - sure * life.reporting_ratio",
        "power = 1.0",
        "a part among the records counts twice",
        "decision/rank_learned decision/rank",
    ),
)
