"""Seeded faults: the mean counts of every plan, which expected costs are made of."""

from __future__ import annotations

from tests.proof.mutants_made import seeded

MEANS_OF = "decision/means.py"
PLANS = "decision/closed_forms decision/formulas_plans"
SAMPLED = "decision/formulas_sampled"

MEANS = seeded(
    "mean",
    (
        MEANS_OF,
        "counts[i + 1] += discount[i] * (then[i] @ given.planned[i])",
        "counts[i + 1] += then[i] @ given.planned[i]",
        "what follows a planned job is not discounted to today",
        PLANS,
    ),
    (
        MEANS_OF,
        "FOUND_WORN] += given.worn[i + 1] * discount[i]",
        "FOUND_WORN] += given.worn[0] * discount[i]",
        "a part found worn later is as likely as today",
        PLANS,
    ),
    (
        MEANS_OF,
        "TOGETHER] += given.alive[i] * discount[i] * present.together[i]",
        "TOGETHER] += discount[i] * present.together[i]",
        "a saving that comes though the part failed before",
        "decision/while_open",
    ),
    (
        MEANS_OF,
        "spent[SALE] = 0.0  # the worth",
        "spent[SALE] *= 1.0  # the worth",
        "the worth at sale is received after a failure too",
        PLANS,
    ),
    (
        MEANS_OF,
        "spent[FAILURE] += given.failed[i]",
        "spent[FAILURE] += given.failed[i] / 2",
        "half of the failures are not paid for",
        PLANS,
    ),
    (
        MEANS_OF,
        "visits[1:, OIL_CHANGE] = kept",
        "visits[1:, OIL_CHANGE] = 0 * kept",
        "oil changes of the present part cost nothing",
        PLANS,
    ),
    (
        MEANS_OF,
        "lasts[i + 1] += right * (then_lasts[i] @ given.planned[i])",
        "lasts[i + 1] += then_lasts[i] @ given.planned[i]",
        "a fitting fault is no failure",
        PLANS,
    ),
    (
        MEANS_OF,
        "visits[1:, SAMPLE] = kept",
        "visits[1:, SAMPLE] = timing.discount(services)",
        "samples are paid for after the part has gone",
        SAMPLED,
    ),
    (
        MEANS_OF,
        "visits[1:, INVESTIGATION] = alarms * timing.discount(services)",
        "visits[1:, INVESTIGATION] = 0 * alarms * timing.discount(services)",
        "alarms that find nothing cost nothing",
        SAMPLED,
    ),
    (
        MEANS_OF,
        "urgent[1:, [URGENT, OPENED]] += (taken * paid)[:, None]",
        "urgent[1:, [URGENT]] += (taken * paid)[:, None]",
        "an urgent job is no chance for other jobs",
        SAMPLED + " decision/while_open decision/means",
    ),
    (
        MEANS_OF,
        "urgent[1:, FOUND_WORN] += worn * paid",
        "urgent[1:, FOUND_WORN] += taken * paid",
        "every urgent job finds visible distress",
        SAMPLED,
    ),
    (
        MEANS_OF,
        "mended[1:] *= sampled.happens[:, None]",
        "mended[1:] *= 1 + 0 * sampled.happens[:, None]",
        "an urgent job after keep-until still counts",
        SAMPLED + " decision/means",
    ),
)
