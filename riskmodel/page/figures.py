"""The panel of figures: the main ones open, the rest folded away."""

from __future__ import annotations

from collections.abc import Iterable

import streamlit as st

from riskmodel.page import belief, state
from riskmodel.page.fields import SAME, Field, ask
from riskmodel.page.markup import paragraph
from riskmodel.records.case import Case
from riskmodel.records.inputs import BY_KEY
from riskmodel.words import screen, symptom_words
from riskmodel.words.formats import sentence

MAIN = (
    "machine.reading",
    "machine.usage_per_year",
    "oil.next_change_in",
    "cost.planned",
    "cost.failure",
    "plan.keep",
    "plan.after_failure",
    "plan.most_risk",
    "cost.discount_rate",
    "plan.new_part_life",
)
MORE: dict[str, tuple[str, ...]] = {
    "machine": ("machine.name", "machine.date"),
    "part": ("part.name", "part.fitted_at", "part.entered_at", "part.in_records"),
    "life": (
        "life.reporting_ratio",
        "life.finding_error",
        "life.shape_prior",
        "life.b50_prior",
        "warning.visible_lead",
    ),
    "service": ("oil.interval", "oil.every_months"),
    "prices": (
        "cost.found_worn",
        "cost.oil_change",
        "cost.install_fault",
        "cost.install_fault_price",
        "cost.sale_credit",
        "plan.booking_weeks",
    ),
    "sale": (
        "machine.value",
        "machine.scrap",
        "machine.value_later",
        "machine.upkeep",
        "plan.do_without",
    ),
}
SYMPTOMS = "machine.symptoms"
_KEEP = {True: "plan.keep_usage", False: "plan.keep_years"}


def symptoms(case: Case) -> list[str]:
    """The question that comes first, as one box per symptom; those ticked."""
    held = case.machine.symptoms
    st.html(paragraph(BY_KEY[SYMPTOMS].help, "quiet"))
    with st.container(horizontal=True, gap="medium"):
        return [
            name
            for name in BY_KEY[SYMPTOMS].choices
            if st.checkbox(
                sentence(symptom_words(name)), name in held, key=state.key(f"{SYMPTOMS}:{name}")
            )
        ]


def main_figures(case: Case) -> dict[str, object]:
    """The figures that matter most; what was changed, by key."""
    st.html(paragraph(screen.FIGURES_HELP, "quiet"))
    keep = _KEEP[case.plan.keep_usage is not None]
    return _ask_all((keep if place == "plan.keep" else place for place in MAIN), case)


def more_figures(case: Case) -> dict[str, object]:
    """Every other figure that enters the answer; what was changed, by key."""
    found: dict[str, object] = {}
    with st.expander(screen.MORE_FIGURES):
        for group, places in MORE.items():
            st.markdown(f"**{screen.FIGURE_GROUPS[group]}**")
            believed = belief.ask(case) if group == "life" else {}
            found |= believed
            found |= _ask_all((place for place in places if place not in believed), case)
            if group == "prices":
                found |= _consequences(case)
    return found


def _consequences(case: Case) -> dict[str, object]:
    """What a failure costs beyond the engine, line by line."""
    found: dict[str, object] = {}
    for number, line in enumerate(case.cost.consequence, start=1):
        place = f"cost.consequence[{number}].amount"
        answer = ask(Field(place, screen.after_a_failure(line.name)), case)
        if answer is not SAME:
            found[place] = answer
    return found


def _ask_all(places: Iterable[str], case: Case) -> dict[str, object]:
    answers = {place: ask(Field(place), case) for place in places}
    return {place: answer for place, answer in answers.items() if answer is not SAME}
