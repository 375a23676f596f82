"""Other distributions beside the Weibull: how well each explains the same records."""

from __future__ import annotations

from dataclasses import dataclass

from riskmodel.life.distributions import fitted
from riskmodel.life.rows import Rows

NAMES = ("Weibull", "lognormal", "exponential", "Weibull with threshold")


@dataclass(frozen=True, slots=True)
class Comparison:
    """A distribution's greatest log-likelihood and AIC = 2 * parameters - 2 * loglik.

    Both None where it has no best-fitting member. The smaller AIC explains the records
    better; a difference below 2 says little (Burnham & Anderson 2002, section 2.6).
    """

    distribution: str
    loglik: float | None
    aic: float | None


def compare(rows: Rows) -> tuple[Comparison, ...]:
    """Weibull, lognormal, exponential and three-parameter Weibull on the same rows.

    Late entry, counts and failures between two ages count alike for all; looks at removed
    parts for none (those parts count as removed). Where no threshold above 0 explains the
    records better, the three-parameter Weibull is the plain one, with a parameter to pay for.
    """
    found = {family.name: (len(at), value) for family, at, value in fitted(rows.without_looks())}
    plain = found.get("Weibull")
    if plain is not None:
        found.setdefault("Weibull with threshold", (3, plain[1]))
    return tuple(
        Comparison(name.lower(), found[name][1], 2 * found[name][0] - 2 * found[name][1])
        if name in found
        else Comparison(name.lower(), None, None)
        for name in NAMES
    )
