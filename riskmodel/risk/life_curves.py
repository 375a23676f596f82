"""The life curves of this engine's part: from the records, the beliefs and its own survival."""

from __future__ import annotations

from riskmodel.life.covariate_curves import trait_curves
from riskmodel.life.likelihood import Likelihood
from riskmodel.life.posterior import Curves, posterior, surety_of
from riskmodel.records.case import Case
from riskmodel.risk.later import with_life_of_later


def life_curves(case: Case) -> Curves:
    """The curves that the records, the beliefs and this engine's survival to today allow.

    Where the case states traits of this engine and the records have covariates, the curves
    are those of an engine with these traits, else of an average one; of a part that is itself a
    later one they are `later.with_life_of_later`. Raises `CannotAnswer` where records and beliefs
    together do not settle a life curve.
    """
    return with_life_of_later(first_part_curves(case), case)


def first_part_curves(case: Case) -> Curves:
    """The same of a part that the machine was built with."""
    return curves_knowing(case, survived(case))


def curves_knowing(case: Case, known_survival: tuple[float, float] | None) -> Curves:
    """The same of a part of which no more is known than that it lasted (from, to) two ages, or
    not even that."""
    if not by_traits(case):
        return average_knowing(case, known_survival)
    assert case.records is not None
    return trait_curves(
        case.records,
        case.part.traits,
        case.life.shape_prior,
        case.life.b50_prior,
        known_survival,
        case.life.finding_error,
        case.warning.visible_lead,
        case.life.reporting_ratio,
    )


def by_traits(case: Case) -> bool:
    """Whether this engine's traits enter its curves."""
    return bool(case.part.traits) and case.records is not None and len(case.records) > 0


def average_curves(case: Case) -> Curves:
    """The curves of an engine of which no trait is known, its part the one it was built with."""
    return average_knowing(case, survived(case))


def average_knowing(case: Case, known_survival: tuple[float, float] | None) -> Curves:
    """The same where it is known to have lasted (from, to) two ages, or not even that."""
    return posterior(
        likelihood_of(case), case.life.shape_prior, case.life.b50_prior, known_survival
    )


def believed_curves(case: Case) -> Curves:
    """What is believed beforehand, without any record, of an engine that lasts today."""
    return posterior(None, case.life.shape_prior, case.life.b50_prior, survived(case))


def likelihood_of(case: Case) -> Likelihood | None:
    """What the records say of a curve; None without records."""
    if case.records is None:
        return None
    return Likelihood(
        case.records,
        finding_error=case.life.finding_error,
        visible_lead=case.warning.visible_lead,
        reporting_ratio=case.life.reporting_ratio,
    )


def surety_of_records(case: Case) -> float:
    """How much each record counts where some stand for more parts than themselves, else 1."""
    likelihood, life = likelihood_of(case), case.life
    if likelihood is None:
        return 1.0
    return surety_of(likelihood, life.shape_prior, life.b50_prior, survived(case))


def survived(case: Case) -> tuple[float, float] | None:
    """(age when this engine's watch began, age today), unless it is among the records."""
    return None if case.part.in_records else (case.part.entered_at, case.age)
