"""The page from top to bottom. It holds no arithmetic: it asks, shows and remembers."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from riskmodel.decision.results import Weighing
from riskmodel.page import (
    address,
    changes,
    data,
    figures,
    files,
    first_visit,
    going,
    handed,
    illustrative,
    intervals,
    kept,
    learned,
    log_files,
    log_section,
    long_run,
    machines,
    oil,
    problems,
    records_faults,
    records_table,
    samples_faults,
    samples_table,
    sections,
    state,
    use,
    versions,
    workshop,
)
from riskmodel.page.answer import answer, verdict
from riskmodel.page.markup import paragraph
from riskmodel.page.serve import beyond_this_machine
from riskmodel.records.case import Case
from riskmodel.records.errors import CannotAnswer, InputError, Problem
from riskmodel.records.files import changed
from riskmodel.threads import one_thread
from riskmodel.words import screen

_STYLE = Path(__file__).with_name("style.css")
_OPEN = '[data-testid="stExpandSidebarButton"]'
_CLOSE = '[data-testid="stSidebarCollapseButton"] button'


def main() -> None:
    """Runs the page once, as Streamlit does at every change."""
    one_thread()
    st.set_page_config(page_title=screen.TITLE, layout="wide")
    st.html(style_sheet())
    going.script()
    if beyond_this_machine():
        st.html(paragraph(screen.SERVED_BEYOND))
    state.start()
    if state.at_first_visit():
        first_visit.show()
    elif address.asked()[2] == address.WORKSHOP:
        workshop.show()
    elif state.machine() is not None and state.kept() is None:
        _without_part()
    else:
        _one_machine()


def _one_machine() -> None:
    """A machine of the log or an example: its answer, the data behind it, its log."""
    base = state.base()
    sections.banner(base)
    lent = st.container()
    st.title(screen.TITLE, anchor=False)
    machine = st.container()
    notices = st.container()
    with st.container():
        problems.files(state.upload_problems())
    st.header(screen.SYMPTOMS_ASK, anchor=False)
    ticked = figures.symptoms(base)
    stated: dict[str, object] = {}
    if set(ticked) != set(base.machine.symptoms):
        stated[figures.SYMPTOMS] = ticked
    with st.sidebar:
        st.header(screen.CASE, anchor=False)
        _choose()
        st.header(screen.FIGURES, anchor=False)
        stated |= figures.main_figures(base)
        stated |= figures.more_figures(base)

    records = records_table.entered(base)
    samples = samples_table.entered(base)
    stated |= records.changes | samples.changes
    tables = {**records.files, **samples.files}
    # Notices and answer keep to places of their own: what stands further down would close and
    # start anew whenever one more element came before it.
    with st.container():
        case, weighed, faults, taken = _settled(
            stated, tables, (records.file, samples.file), ticked
        )
    half_typed = records_table.unfinished(records) or samples_table.unfinished(samples)
    kept.pending(not taken or half_typed)
    with notices:
        kept.notices()
        kept.refused()
    with lent:
        sections.notice(illustrative.told(case))
    with machine:
        st.html(paragraph(screen.machine_line(case), "quiet"))
    with st.sidebar:
        files.save(case, bool(stated or tables))
    with st.container():
        if case.machine.symptoms:
            sections.stop(case)
            handed.section(case)
            versions.section(case, None)
        elif weighed is not None:
            weighed, changed_last = _show(weighed, case)
    log_says, use_says = st.container(), st.container()
    oil_says, records_say = st.container(), st.container()
    data.behind(case, records, samples, faults)
    log_files.section()
    with log_says:
        log_section.section(weighed)
    if weighed is not None:  # beside a stop there is no figure to explain
        sections.glossary()
        with oil_says:
            oil.section(weighed)
        with use_says:
            use.section(weighed)
        with records_say:  # worked out late, so that nothing else waits for it
            learned.section(weighed.case)
        with changed_last:
            changes.last(weighed, case)


def _choose() -> None:
    machines.choose()
    files.choose()
    machines.start_anew()


def _without_part() -> None:
    """A machine whose part failed and was not replaced: its log alone."""
    st.title(screen.TITLE, anchor=False)
    with st.container():
        kept.notices()
        problems.files(state.upload_problems())
    with st.sidebar:
        st.header(screen.CASE, anchor=False)
        _choose()
    log_section.nothing_to_weigh()
    kept.pending(False)
    log_section.section(None)
    log_files.section()


def style_sheet() -> str:
    """The look of the page, and the words on the buttons of the panel of figures."""
    opens = f'{_OPEN}::after {{ content: "{screen.FIGURES_OPEN}"; }}'
    closes = f'{_CLOSE}::after {{ content: "{screen.FIGURES_CLOSE}"; }}'
    ends = "".join(
        f'[class*="st-key-"][class*="-{end} "] .stNumberInput::before {{ content: "{word}"; }}'
        for end, word in (("from", screen.LOW_END), ("to", screen.HIGH_END))
    )
    on_a_phone = f"@media (max-width: 640px) {{ {closes} }}"
    hidden = f".st-key-{going.HIDDEN} {{ display: none; }}"
    return f"<style>{_STYLE.read_text(encoding='utf-8')}{opens}{ends}{on_a_phone}{hidden}</style>"


def _settled(
    changes: dict[str, object],
    tables: dict[str, bytes],
    names: tuple[str, str],
    ticked: list[str],
) -> tuple[Case, Weighing | None, tuple[Problem, ...], bool]:
    """The case and its verdict as the figures and the `tables` changed stand, else as they last
    had an answer; the faults of the tables, which are told beside them; and whether everything
    typed could be taken. `names` are the files of records and of samples.

    A symptom that is ticked counts whatever is wrong with the figures; no answer is worked
    out beside it.
    """
    faults: tuple[Problem, ...] = ()
    taken = False
    try:
        case = kept.keep(state.with_changes(changes, tables))
        taken = True
        if case.machine.symptoms:
            return case, None, (), True
        weighed = illustrative.with_note(verdict(case))
    except InputError as error:
        of_records, others = records_faults.split(error.problems, names[0])
        of_samples, others = samples_faults.split(others, names[1])
        records_faults.announce(of_records)
        samples_faults.announce(of_samples)
        faults = (*of_records, *of_samples)
        if others:
            problems.figures(others)
    except CannotAnswer as error:
        problems.no_answer(str(error))
    else:
        state.keep(case)
        return case, weighed, (), True
    case = changed(state.good(), {figures.SYMPTOMS: ticked})
    try:
        before = None if ticked else illustrative.with_note(verdict(case))
    except CannotAnswer:  # opened with a symptom, and nothing settles its chances
        return case, None, faults, taken
    return case, before, faults, taken


def _show(w: Weighing, case: Case) -> tuple[Weighing, st.delta_generator.DeltaGenerator]:
    """The answer from top to bottom, its verdict `w` first; gives the whole of it, and the place
    for what the last change did."""
    sections.at_stake(w)
    sections.verdict(w, lent=bool(illustrative.told(w.case)))
    w = illustrative.with_note(answer(case))
    versions.section(case, w)
    changed_last = st.container()
    changes.wanted(w, case)
    sections.trade_off(w)
    sections.plans(w)
    sections.chance(w)
    sections.why(w)
    sections.change(w)
    sections.other_assumptions(w)
    versions.offer(case)
    sections.what_next(w)
    handed.section(w.case, w)
    long_run.section(w)
    intervals.section(w)
    return w, changed_last
