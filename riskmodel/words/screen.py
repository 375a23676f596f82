"""Headings, labels and short instructions of the page."""

from __future__ import annotations

from riskmodel.life.covariates import Term
from riskmodel.records.case import Case
from riskmodel.words import formats
from riskmodel.words.learned_effects import column_in_words, step_of

TITLE = "Replace the part now, later, or not?"
SKIP = "Past the figures"
SKIP_TO_VERDICT, SKIP_TO_PAGE = "Skip to the verdict", "Skip to the page"
SYMPTOMS_ASK = "First: do you notice any of these now?"

CHANCE = "The chance of failure"
TRADE_OFF = "Now or wait?"
PLANS = "The plans side by side"
WHY = "Why this plan"
CHANGE = "What would change it"
NEXT = "What to do next"
QUESTIONS = "What to ask the workshop"
CAUTIONS = "Before you act on this"
BEAR_IN_MIND = "What this answer leaves out"
GLOSSARY = "The terms used here"
TABLE = "The figures behind this chart"
ALL_PLANS = "Every plan"

FIGURES = "Your figures"
FIGURES_HELP = (
    "Change a figure and the page follows. Two boxes hold a range: nine times in ten the true "
    "figure lies between them. A range means that it is not known better, unless it says that it "
    "varies from part to part. The same figure twice means that you know it."
)
FIGURES_OPEN, FIGURES_CLOSE = "Change the figures", "Back to the answer"
MORE_FIGURES = "More figures"
LOW_END, HIGH_END = "from", "to"
CASE = "The case"
CHOOSE = "Open an example"
UPLOAD = "Open your own case"
UPLOAD_HELP = (
    "One zip, or the case file (case.toml) together with the tables that it names. Nothing leaves "
    "this computer."
)
DOWNLOAD = "Save this case"
DOWNLOAD_HELP = "A zip of the case file and its tables, with your changes. It opens here again."
RESET = "Undo all changes"
CHANGED = "Changed here and not saved."
TRY_OTHERS = "Try other assumptions and figures"
TRYING = "Trying other assumptions…"
TRY_OTHERS_ABOUT = (
    "Who reports, how often a look at a removed part is wrong, each group of records, and what was "
    "believed beforehand: the verdict is worked out again under each in turn, and with each "
    "uncertain figure at either end of its range. It takes some seconds."
)
TRY_OTHERS_BELIEF = (
    "The verdict is worked out again under other beliefs, and with each uncertain figure at either "
    "end of its range. It takes some seconds."
)
REPORT_ABOUT = (
    "The same on paper, for whoever pays: two pages with the verdict, the picture, the plans and "
    "what they assume, and four sheets: a bad report tonight, ask the workshop, parts and jobs, "
    "until then."
)
REPORT_STOP_ABOUT = (
    "The same on paper, to hand over with the machine: what to do now, what was noticed, and four "
    "sheets, among them what to ask the workshop. No plan and no chance of failure stands in it "
    "while there is a symptom."
)
NO_REPORT = "There is no report yet:"
MAKE_REPORT = "Make the report"
MAKING_REPORT = "Making the report…"
REPORT_PDF = "Report as PDF"
REPORT_HTML = "Report as one HTML file"
WEIGHING = "Weighing the plans…"
BEHIND = "The data behind it"
RECORDS = "Life records of other people's parts"
SAMPLES = "Used-oil samples of this engine"
NO_RECORDS = "No life records in this case."
NO_SAMPLES = "No oil samples in this case."
LISTS = "Lists in this case"

NOT_READ = "This could not be read. The case shown is the one from before."
NOT_TAKEN_IN = "This could not be read, and nothing was taken from it."
NOT_TAKEN = "These figures could not be taken. What is shown is the answer for the figures before."
CANNOT_ANSWER = "These figures have no answer."
PROBLEM_FILE, PROBLEM_WHERE = "File", "Where"
PROBLEM_FOUND, PROBLEM_EXPECTED = "Found", "Expected"
OIL_CHANGES_MARK = "oil changes"
ONE_YEAR_MARK = "one year"
CHANCE_AXIS = ["Chance of failure before", "the next oil change, of 100"]
NOW_LINE = "replace now"
AHEAD_TITLE = "Failed by then, of 100 engines"
COST_KEY = ["● on average; band: nine times in ten", "◇ bad case: one in twenty pays more"]
FAILURES_TITLE = "Failures of 100 engines"
FAILURES_KEY = ["▲ about; band: nine times in ten", "until you give it up, new parts included"]

ROAD_CAR, WORK_BOAT, OWN_CASE = "Road car", "Working boat", "Your own case"
THE_FILES = "the files offered"
UPLOAD_EXPECTED = "one zip alone, or case.toml together with the tables that it names"
TABLES_ALONE = (
    "; a table of records alone is brought in further down, under “The data behind it”, one of a "
    "laboratory's samples under “All machines”"
)
ANSWER_EXPECTED = "records or beliefs that settle how long such parts last"
CHOICES = {
    "plan.after_failure": {"repair": "repaired and kept", "stop": "given up"},
}


def found_files(names: list[str]) -> str:
    """The files that were offered, for a message."""
    return ", ".join(names[:5]) + (f" and {len(names) - 5} more" if len(names) > 5 else "")


FIGURE_GROUPS = {
    "machine": "The machine",
    "part": "The part",
    "life": "How long such parts last",
    "service": "Oil changes",
    "prices": "Other prices",
    "sale": "What it is worth, if you sold it instead",
}


def after_a_failure(name: str) -> str:
    """The label of one consequence of a failure."""
    return f"After a failure, {name}"


PROBLEM_FIGURE = "Figure"
BY_NEXT_CHANGE = "before the next oil change if the part is left in"


def machine_line(case: Case) -> str:
    """Which machine and which part this is about."""
    unit, machine = case.machine.unit, case.machine
    dated = f", {formats.day(machine.date)}" if machine.date else ""
    return (
        f"{machine.name}: {formats.usage(machine.reading, unit)} on the meter{dated}. The part: "
        f"{case.part.name}, {formats.usage(case.age, unit)} old."
    )


def cost_title(case: Case) -> str:
    currency = case.cost.currency
    return f"Average cost{f', {currency}' if currency else ''}"


def kept_cost_title(case: Case) -> str:
    currency = case.cost.currency
    return f"Average cost until you give it up{f', {currency}' if currency else ''}"


def crossing_label(chance: float) -> str:
    """Where the costs of the trade-off cross."""
    return f"costs cross\nat {formats.count(chance)} of 100"


def engine_label(value: str, ends: tuple[int, int]) -> str:
    """Where this engine stands in the trade-off."""
    return f"this engine: {value}\n({ends[0]} to {ends[1]}) of 100"


def usage_axis(case: Case) -> str:
    return f"Usage from now, {case.machine.unit}"


RECORDS_SAY = "What the records say"
LEARNING = "Looking through the records…"
FAIR = "Is the curve fair?"
APART = "What sets engines apart"
REMARKS = "What stands out in the records"
DISTRIBUTIONS_TABLE = "Other kinds of curve, side by side"
LIFE_TITLE = "Failed by that age, of 100 parts"
OBSERVED_LINE = "observed (thin)"
FITTED_LINE = "both (thick)"
BELIEF_ONLY_LINE = "by belief"
BY_RECORDS_LINE = "records (dashed)"
BY_BELIEF_LINE = "belief (dotted)"
PAPER_TITLE = "On Weibull paper: failed, of 100 parts"
EFFECT_TITLE = "How long parts last, compared"
EFFECT_KEY = ["◆ best guess; bar: 19 times in 20", "1 means no difference"]
EFFECT_AXIS = ["times as long", "(below 1: a shorter life)"]


def age_axis(case: Case) -> str:
    return f"Age of the part, {case.machine.unit}"


def stretched_age_axis(case: Case) -> list[str]:
    """Of Weibull paper, on which each doubling of age takes the same room."""
    return [age_axis(case), "(both axes stretched as on Weibull paper)"]


def paper_key(band: bool, spans: bool) -> list[str]:
    """What points and lines of Weibull paper are."""
    key = ["● observed; line: best-fitting Weibull"]
    key += ["bars: nine times in ten"] if band else []
    return key + (["thin lines: failed between two ages"] if spans else [])


def this_engine(case: Case, age: float) -> str:
    """The name of this engine's age in a chart."""
    return f"yours: {formats.usage(age, case.machine.unit)}"


def life_key(dots: bool) -> str:
    """What the bands of the curves of life are."""
    return "band and small dots: nine times in ten" if dots else "band: nine times in ten"


def also(line: str) -> str:
    """A curve that has no room for its name beside it."""
    return f"also drawn: {line}"


def effect_row(term: Term) -> str:
    """One row of the effects, in two lines."""
    column = formats.sentence(column_in_words(term.column))
    if term.step is None:
        return f"{column}: {term.level}\nagainst {term.base}"
    return f"{column}\n{formats.exact(step_of(term))} higher"


OIL_SAYS = "What the oil says"
OIL_WEIGHING = "Looking at the samples…"
OIL_LEVELS = "Each sample against the engine's own level"
OIL_MADE_OF = "What was made of the samples"
OIL_AHEAD = "What sampling could catch"
OIL_WELL = "How to take a sample that says something"
OIL_OTHER_METALS = "Metals that are no evidence on the part"
OIL_FROM_PART = "shed by the part"
OIL_NOT_FROM_PART = "no evidence on the part"
OIL_LIMIT = "the engine's own limit"
OIL_ABOVE = "above"
OIL_FACTOR_TITLE = "Failing at that age: how many times as likely"
OIL_FACTOR_KEY = "with the samples as without; band: as judgements vary"
OIL_NO_DIFFERENCE = "1: no difference"
OIL_NOTHING_DECLARED = (
    "This case does not say which metals the laboratory measures. Add them to its case file, one "
    "[[oil.element]] for each, to enter samples here."
)


def failure_age_axis(case: Case) -> str:
    return f"Age of the part at failure, {case.machine.unit} (from today on)"


def rate_unit(case: Case) -> str:
    return f"ppm per 1,000{formats.NBSP}{case.machine.unit}"


SERVED_BEYOND = (
    "This page is open to other machines on the network. It has no password: whoever reaches it "
    "can read and change the log. Start it without another address to keep it to this computer."
)
