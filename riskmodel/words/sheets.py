"""The four sheets to print and keep at hand: what to do, ask, order and watch.

What they say of engines is common practice, without a source; every limit and figure of an engine
is the maker's, and none stands here.
"""

from __future__ import annotations

from riskmodel.decision.results import Weighing
from riskmodel.records.case import Case
from riskmodel.words import data_tables, formats
from riskmodel.words.cautions import STOP_AT_ONCE
from riskmodel.words.oil_names import element
from riskmodel.words.plan_names import first_step_name, plan_name
from riskmodel.words.sheet_dates import booking_sentence, meter_at

NAMES = {
    "bad-report": "A bad report tonight",
    "ask-the-workshop": "Ask the workshop",
    "parts-and-jobs": "Parts and jobs",
    "until-then": "Until then",
}

MAKER = (
    "The maker's workshop manual comes first: wherever it gives a limit, a method or a number, "
    "that holds, and this sheet gives none. What else stands here is common practice."
)
BY_HAND = "To fill in"

# --- a bad report tonight ---------------------------------------------------------------------

BAD_LEAD = (
    "A laboratory found more metal than usual. Work down this list, in this order, before anything "
    "else is done."
)
BAD_STEPS = (
    (
        "Symptoms first.",
        f"{STOP_AT_ONCE} Then the report no longer matters: ring for a tow.",
    ),
    (
        "Don't load it.",
        "With none of these: no full throttle, no towing, no long run until the steps below are "
        "done. Leave it standing if you can.",
    ),
    (
        "Is it this engine's oil?",
        "Bottle, name, date and meter reading on the report against what you wrote down. The same "
        "laboratory and the same units as last time?",
    ),
    (
        "Is the oil's age right?",
        "The same metal in older oil is less wear. Usage since the last change, and every top-up, "
        "as entered on the form.",
    ),
    ("Read the other lines.", "The table below says what each may speak of."),
    (
        "Open the filter.",
        "Cut it open as the maker's procedure says, spread the paper, look in strong light. A "
        "magnet draws iron, not the metal of bearings. Glitter that you can see is a symptom: "
        "stop. Keep filter and oil.",
    ),
    (
        "Draw a second sample.",
        "Hot, drawn in the same way as the first, in a new bottle; ask for a quick reading. One "
        "report can mislead; a second one says whether it did.",
    ),
    (
        "Ring the workshop.",
        "Read them the report, the oil's age and what the filter showed. Ask what the maker's "
        "procedure wants looked at next, and how soon.",
    ),
    (
        "Weigh it again.",
        "Enter the sample in the case: the chance, the plans and the date may all have moved.",
    ),
)
LINES_COLUMNS = ("High on the report", "May speak of")
LINES = (
    ("lead, copper or tin", "plain bearings; copper alone also bushes or the oil cooler"),
    ("iron, chromium", "cylinders, rings, crank, cams: not the bearings alone"),
    ("aluminium", "pistons, or bearings lined with it"),
    ("silicon", "dust past the air filter, or fresh sealant; dust wears bearings"),
    ("fuel", "oil thinned by fuel: ask for the viscosity"),
    ("sodium, potassium, water", "coolant in the oil, which attacks bearings: find the leak first"),
    ("everything at once", "a dirty bottle or a wrong oil age, sooner than all parts at once"),
)
LINES_TITLE = "The other lines of the report (common practice, no source)"
READINGS_COLUMNS = ("Metal", "This report")
TONIGHT = (
    "Report of, number",
    "Meter when drawn, and now",
    "Oil age, top-ups",
    "Filter: what it showed",
    "Workshop: spoken to, agreed",
)

# --- ask the workshop -------------------------------------------------------------------------

ASK_LEAD = "Ask before booking; write the answers down and keep them with the receipt."
ASK_COLUMNS = ("Ask", "Answer")
ASK = (
    "Have you done this job on this kind of engine before? How often, and when last?",
    "Do you follow the maker's procedure for it, and may I see it?",
    "What is the firm price, and what is not in it? Will you ring before doing more?",
    "If a journal is marked: what does the maker's procedure allow, at what price, who decides?",
    "Which bolts and seals are single-use? Are new ones in the price, and by which of the maker's "
    "methods are the bolts tightened?",
    "How is the clearance measured, and will I get the figures beside the maker's limits?",
    "Are the oil pump, the pickup and its strainer looked at, and the oil ways cleaned?",
    "How will the cause be found, if the old part is worn? A new part wears as the old one did if "
    "the cause stays.",
    "Will I get the old shells back, labelled by position and side, and photographs of them and of "
    "the journals?",
    "What is the warranty: on parts, on labour, on the engine if the fitting fails; how long?",
    "How is it run in, when is the first oil change, when the first sample?",
    "Which date, how many days, and what if parts come late?",
)

ASKED = ("Workshop, person, date", "Decided")

# --- parts and jobs ---------------------------------------------------------------------------

PARTS_LEAD = (
    "What to order and what to do in the same visit. Part numbers, sizes and quantities are those "
    "of the maker's parts list for this engine number: write them in, and have the workshop check."
)
JOBS_TITLE = "Jobs while it is open"
JOBS_COLUMNS = ("Job", "With this job", "Alone later", "Needed anyway", "Single-use", "Ordered")
MOST_JOBS = 12
BLANK_JOBS = 3
SINGLE_USE = (
    "Single-use hardware is never used again, whatever it looks like: the maker's procedure says "
    "which it is."
)
PARTS_TITLE = "Parts"
PARTS_COLUMNS = ("Part", "Maker's number", "Quantity", "Price", "Here")

BOOKED = ("Booked for, with whom", "Parts ordered on, expected on")

# --- until then -------------------------------------------------------------------------------

LOG_TITLE = "Kept by hand (enter it in the case: top-ups count in the next sample)"
LOG_COLUMNS = ("Date", "Meter", "Oil level", "Topped up", "Noticed")
LOG_ROWS = 12
NUMBERS = ("Workshop's number", "Towing number")


def heading(case: Case) -> str:
    """Which machine a sheet is about."""
    unit, machine = case.machine.unit, case.machine
    return f"{machine.name}: {case.part.name}, {formats.usage(machine.reading, unit)} on the meter"


def readings(case: Case) -> list[tuple[str, ...]]:
    """Headings, then each metal that the laboratory measures with its last reading."""
    symbols = [each.symbol for each in case.oil.element][:8]
    held = case.samples
    if held is None or not len(held):
        return [READINGS_COLUMNS, *[(element(symbol), "") for symbol in symbols]] if symbols else []
    last = held.rows[-1]
    where = "" if last.reading is None else formats.usage(last.reading, case.machine.unit)
    head = ("Metal", f"Last sample{f', at {where}' if where else ''}, ppm", "This report, ppm")
    return [
        head,
        *[
            (
                element(symbol),
                "" if last.elements.get(symbol) is None else str(last.elements[symbol]),
                "",
            )
            for symbol in symbols
        ],
    ]


def job_rows(case: Case) -> list[tuple[str, ...]]:
    """The case's lines under `JOBS_COLUMNS`, then some blank ones."""
    lines = case.cost.while_open
    found: list[tuple[str, ...]] = [
        (
            line.job,
            data_tables.money(line.now, ""),
            data_tables.money(line.alone, ""),
            data_tables.of_100(line.chance),
            "yes" if line.one_time_use else "",
            "",
        )
        for line in lines[:MOST_JOBS]
    ]
    return [*found, *[("",) * len(JOBS_COLUMNS)] * BLANK_JOBS]


def jobs_title(case: Case) -> str:
    """With the currency, which stands behind no price of the table."""
    currency = case.cost.currency
    return f"{JOBS_TITLE} (prices in {currency})" if currency else JOBS_TITLE


def jobs_sum(case: Case) -> list[str]:
    """What the job and its lines come to."""
    lines, currency = case.cost.while_open, case.cost.currency
    found = [f"The job itself, as entered: {data_tables.money(case.cost.planned, currency)}."]
    if lines:
        now = formats.money(sum(line.now.mean for line in lines), currency)
        later = formats.money(sum(line.alone.mean for line in lines), currency)
        found.append(
            f"All the lines together come to about {now} in the same visit; each done alone later, "
            f"to about {later}."
        )
    if len(lines) > MOST_JOBS:
        found.append(f"{len(lines) - MOST_JOBS} more lines stand in the case.")
    return found


def part_rows(case: Case) -> list[tuple[str, ...]]:
    """The part under `PARTS_COLUMNS`, and room for what goes with it."""
    code = f"entered: {case.part.code}" if case.part.code else ""
    named = (case.part.name, "bolts, single-use", "seals and gaskets", "oil and filter", "")
    return [(name, code if name == case.part.name else "", "", "", "") for name in named]


def booking(w: Weighing) -> list[str]:
    """The plan, and the day to book it by."""
    if w.recommended is None:
        return []
    return [_plan(w, w.recommended), booking_sentence(w)]


def _plan(w: Weighing, i: int) -> str:
    """The plan of the verdict, and beside a sale or what is to be found out first the one that
    keeps the part's decision open."""
    if w.sells:
        return f"Sell it today, the buyer told. The plan that keeps it: {_lower(plan_name(w, i))}."
    if not w.first_step:
        return f"The plan: {_lower(plan_name(w, i))}."
    return f"{first_step_name(w)}. The plan without that: {_lower(plan_name(w, i))}."


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def until_rules(w: Weighing) -> list[tuple[str, str]]:
    """What to do until the part is replaced, or while it stays in."""
    case = w.case
    hours = case.machine.unit == "h"
    when = "Before each day's first start" if hours else "At each refuel"
    meter = meter_at(w, case.next_change_in)
    found = [
        (
            "Oil level.",
            f"{when}, as the maker's handbook says; top up with the oil it names, and write down "
            "how much. A level that falls faster than usual is a reason to ring the workshop.",
        ),
        (
            "Warm oil before load.",
            "The oil warms later than the coolant gauge says. Ask little of the engine until then.",
        ),
        (
            "No labouring.",
            "No full load at low engine speed: let it turn over freely, within what the maker "
            "allows.",
        ),
        ("When to stop.", STOP_AT_ONCE),
        (
            "The pressure lamp or gauge.",
            "A lamp that goes out later than usual after a start, or a pressure lower than you are "
            "used to with warm oil: stop using it and ring the workshop.",
        ),
    ]
    sample = (
        "Have a sample of the used oil read, drawn hot in a new bottle; " if case.sampled else ""
    )
    found.append(
        (
            "Next oil change.",
            f"At about {meter} on the meter. {sample}{'c' if sample else 'C'}ut the filter open "
            "and look for metal, as the maker's procedure says.",
        )
    )
    if w.first_step == "retest":
        found.append(
            ("Second sample.", f"At about {meter_at(w, case.oil.retest_in)} on the meter.")
        )
    if w.recommended is not None:
        found.append(("Then.", f"{_plan(w, w.recommended)} {booking_sentence(w)}"))
    return found
