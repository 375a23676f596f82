"""The one table of every input: unit, bounds, default, where the default comes from, help.

The reader, the page, the command line and the documentation all read it; nothing about an
input is declared anywhere else. Usage is in the case's unit (km, mi or h), money in its
currency.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Unit = Literal["km", "mi", "h"]
UNITS: tuple[Unit, ...] = ("km", "mi", "h")

Kind = Literal[
    "number",  # one number
    "quantity",  # a positive number, or [low, high]
    "share",  # a number between 0 and 1
    "share_quantity",  # a share, or [low, high]
    "text",
    "texts",  # a list of texts
    "file",  # the name of a CSV file beside case.toml
    "flag",
    "choice",
    "date",
    "shares",  # a table: kind of use = its share
    "traits",  # a table: covariate = number or word
    "rows",  # a list of tables with keys of their own
]
Spread = Literal["", "varies from part to part", "not known"]

CEILING = 1e12
"""No input is larger: what is, is a slip of the keyboard."""

JUDGEMENT = "judgement"
PRACTICE = "common practice, no source"
TYPED = "yours to state"


@dataclass(frozen=True, slots=True)
class Input:
    """One input of a case.

    `key` is its place in case.toml ("cost.planned"; "oil.element.typical" for a key of the
    tables in a list). `low` and `high` bound it, inclusive unless `open_low`. `default` is
    None where there is none; `default_by_unit` gives it per unit; `default_text` says in words
    how it follows from other inputs. `unless` is the input that stands in for this one: where it
    is not stated, this one is required. `spread` says what a range means.
    """

    key: str
    label: str
    kind: Kind
    help: str
    unit: str = ""
    low: float = 0.0
    high: float = CEILING
    open_low: bool = False
    default: object = None
    default_by_unit: Mapping[Unit, object] = field(default_factory=dict)
    default_text: str = ""
    required: bool = False
    unless: str = ""
    source: str = TYPED
    spread: Spread = ""
    choices: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.kind in ("share", "share_quantity") and self.high == CEILING:
            object.__setattr__(self, "high", 1.0)

    @property
    def section(self) -> str:
        return self.key.rpartition(".")[0]

    @property
    def name(self) -> str:
        return self.key.rpartition(".")[2]

    def default_for(self, unit: Unit) -> object:
        return self.default_by_unit.get(unit, self.default)


VARIES: Spread = "varies from part to part"
UNKNOWN: Spread = "not known"

INPUTS: tuple[Input, ...] = (
    # --- machine -----------------------------------------------------------------------
    Input("machine.name", "Name", "text", "What you call this machine.", default="Unnamed machine"),
    Input(
        "machine.unit",
        "Unit of usage",
        "choice",
        "What the meter counts; every usage in the case is in this unit.",
        choices=UNITS,
        required=True,
    ),
    Input(
        "machine.reading",
        "Meter now",
        "number",
        "What the meter shows today.",
        unit="usage",
        required=True,
    ),
    Input("machine.date", "Date of the reading", "date", "The day the meter was read."),
    Input(
        "machine.usage_per_year",
        "Usage per year",
        "number",
        "How much it will be used in a year from now on.",
        unit="usage per year",
        open_low=True,
        required=True,
    ),
    Input(
        "machine.symptoms",
        "Symptoms",
        "texts",
        "Signs that it is failing now: a knock, low oil pressure, metal in the filter. "
        "Any of them replaces the verdict by: stop.",
        default=(),
        choices=("knock", "low oil pressure", "metal in the filter"),
    ),
    Input(
        "machine.value",
        "Value as it stands",
        "number",
        "What it would fetch if sold today.",
        unit="money",
    ),
    Input(
        "machine.scrap",
        "Value after a failure",
        "number",
        "What it would fetch with a wrecked engine.",
        unit="money",
    ),
    Input(
        "machine.value_later",
        "Value when you give it up",
        "quantity",
        "What it would fetch at the end of keeping with the part as it is now, the buyer told. "
        "With the two figures that follow, selling today is weighed as a plan.",
        unit="money",
        spread=UNKNOWN,
    ),
    Input(
        "machine.upkeep",
        "A year's upkeep",
        "quantity",
        "What having it costs a year besides the oil changes, and selling spares: insurance, tax, "
        "berth, other repairs.",
        unit="money",
        default=0.0,
        source="none assumed",
        spread=UNKNOWN,
    ),
    Input(
        "machine.invented",
        "Invented example",
        "flag",
        "True marks made-up data: EXAMPLE is printed wherever a verdict is shown.",
        default=False,
    ),
    # --- part --------------------------------------------------------------------------
    Input("part.name", "Part", "text", "The weak part.", default="big-end bearings"),
    Input(
        "part.fitted_at",
        "Meter when the part was fitted",
        "number",
        "0 where it is the part the machine was built with; a later one is taken to live as "
        "plan.new_part_life says.",
        unit="usage",
        default=0.0,
        source="the machine's first part",
    ),
    Input(
        "part.entered_at",
        "Part's age when your watch began",
        "number",
        "The part's usage when you bought the machine: "
        "had it failed before, you would not be asking.",
        unit="usage",
        default=0.0,
        source=JUDGEMENT,
    ),
    Input(
        "part.in_records",
        "This engine is among the records",
        "flag",
        "True where its own line stands in the life records already, "
        "so that it is not counted twice.",
        default=False,
    ),
    Input(
        "part.traits",
        "Traits",
        "traits",
        "What this engine is in the further columns of the life records (use, oil interval, ..).",
        default={},
    ),
    Input(
        "part.code",
        "Part code",
        "text",
        "The part number, to group machines that share it.",
        default="",
    ),
    Input(
        "part.lining",
        "Lining",
        "text",
        "What the bearing's running layers are made of.",
        default="",
    ),
    # --- life --------------------------------------------------------------------------
    Input(
        "life.records",
        "Life records",
        "file",
        "CSV of other people's parts: failures, survivors, parts removed.",
    ),
    Input(
        "life.reporting_ratio",
        "Reporting ratio",
        "number",
        "How many times as readily failures are reported as survivors; "
        "survivors weigh this much more.",
        low=1.0,
        high=1000.0,
        default=1.0,
        source="no bias assumed; see the sensitivity",
    ),
    Input(
        "life.finding_error",
        "Wrong looks",
        "share",
        "Share of looks at a removed part that call it wrong.",
        high=0.5,
        default=0.1,
        source=JUDGEMENT,
    ),
    Input(
        "life.shape_prior",
        "Weibull shape, belief",
        "quantity",
        "How sharply failures cluster with age: "
        "1 is age doesn't matter, 3 a clear wear-out. One number fixes it.",
        low=0.05,
        high=50.0,
        default=(1.2, 5.0),
        source="judgement: no trustworthy published shape for big-end bearings was found",
        spread=UNKNOWN,
    ),
    Input(
        "life.b50_prior",
        "Life by which half fail, belief",
        "quantity",
        "Between which ages do you believe half of such parts would have failed?",
        unit="usage",
        open_low=True,
        default_text="none: the records alone decide (flat in the logarithm)",
        spread=UNKNOWN,
    ),
    # --- use ---------------------------------------------------------------------------
    Input(
        "use.kinds",
        "Kinds of use",
        "rows",
        "Hard uses and how much faster they age the part.",
        default=(),
    ),
    Input("use.kinds.name", "Kind of use", "text", "A hard use in a few words.", required=True),
    Input(
        "use.kinds.harshness",
        "Harshness",
        "quantity",
        "Equivalent usage per unit of such usage; 1 is ordinary.",
        open_low=True,
        high=100.0,
        default=(0.8, 2.0),
        source=JUDGEMENT,
        spread=UNKNOWN,
    ),
    Input(
        "use.kinds.population_share",
        "Share in the records",
        "share",
        "The share of this kind of use in the life of the parts in the records.",
        default=0.0,
        source=JUDGEMENT,
    ),
    Input(
        "use.stretches",
        "How it was driven",
        "rows",
        "Stretches of the past, oldest first.",
        default=(),
    ),
    Input(
        "use.stretches.until",
        "Until",
        "number",
        "Meter at the end of this stretch.",
        unit="usage",
        required=True,
    ),
    Input("use.stretches.shares", "Shares", "shares", "Share of each kind of use in this stretch."),
    Input(
        "use.stretches.unknown",
        "Not known",
        "flag",
        "True where nobody knows how it was driven; beside shares, where the rest is not known.",
        default=False,
    ),
    Input("use.ahead", "Use ahead", "shares", "Share of each kind of use from now on.", default={}),
    # --- warning lead ------------------------------------------------------------------
    Input(
        "warning.lead",
        "Warning lead in the oil",
        "quantity",
        "Usage from the first distress that oil could show to failure.",
        unit="usage",
        open_low=True,
        default_by_unit={"km": (1500.0, 20000.0), "mi": (1000.0, 12500.0), "h": (30.0, 400.0)},
        source=JUDGEMENT,
        spread=VARIES,
    ),
    Input(
        "warning.lead_factor",
        "Doubt about the lead",
        "quantity",
        "The whole range above may be off by this factor.",
        open_low=True,
        high=100.0,
        default=(0.5, 2.0),
        source=JUDGEMENT,
        spread=UNKNOWN,
    ),
    Input(
        "warning.visible_lead",
        "Visible lead",
        "quantity",
        "Usage before failure during which a look at the removed part would show distress.",
        unit="usage",
        open_low=True,
        default_by_unit={"km": (10000.0, 60000.0), "mi": (6000.0, 40000.0), "h": (200.0, 1200.0)},
        source=JUDGEMENT,
        spread=VARIES,
    ),
    Input(
        "warning.silent",
        "Silent share",
        "share_quantity",
        "Share of failures that give no signal in the oil at all.",
        default=0.25,
        source=JUDGEMENT,
        spread=UNKNOWN,
    ),
    # --- oil ---------------------------------------------------------------------------
    Input("oil.samples", "Oil samples", "file", "CSV of this engine's used-oil samples."),
    Input(
        "oil.fleet",
        "Other engines' samples",
        "file",
        "CSV of used-oil samples of other engines of this kind, to learn from what is usual.",
    ),
    Input(
        "oil.interval",
        "Oil interval",
        "number",
        "Usage from one oil change to the next.",
        unit="usage",
        open_low=True,
        default_by_unit={"km": 8000.0, "mi": 5000.0, "h": 100.0},
        source="common practice, no source (5,000 miles; hours: judgement)",
    ),
    Input(
        "oil.every_months",
        "At least every",
        "number",
        "The oil is changed after this many months even if the usage is not reached.",
        unit="months",
        open_low=True,
        default_text="no limit by calendar",
    ),
    Input(
        "oil.next_change_in",
        "Next oil change in",
        "number",
        "Usage from now to the next oil change.",
        unit="usage",
        open_low=True,
        default_text="a whole oil interval",
    ),
    Input(
        "oil.sump_litres",
        "Oil capacity",
        "number",
        "Litres of oil in the engine.",
        unit="litres",
        open_low=True,
        default=5.0,
        source=JUDGEMENT,
    ),
    Input(
        "oil.carry_over",
        "Old oil left after a drain",
        "share",
        "Share of the old oil that a drain leaves behind.",
        high=0.95,
        default=0.1,
        source=JUDGEMENT + " (a drain never gets all the old oil out: common practice, no source)",
    ),
    Input(
        "oil.resolution",
        "Rounding of the laboratory",
        "number",
        "The step in which readings are printed: 1 for whole numbers.",
        unit="ppm",
        open_low=True,
        default=1.0,
        source=PRACTICE,
    ),
    Input(
        "oil.misleading",
        "Misleading samples",
        "share",
        "Chance that a sample shows something other than this part: "
        "swapped, contaminated, another part's debris.",
        high=0.5,
        default=0.02,
        source=JUDGEMENT,
    ),
    Input(
        "oil.shared_scatter",
        "Scatter shared within a sample",
        "share",
        "Share of a sample's scatter that all its elements have in common: its oil's age or "
        "litres noted wrong, hard use, drawn cold or after a top-up.",
        default=0.5,
        source=JUDGEMENT,
    ),
    Input(
        "oil.break_in",
        "Running in",
        "number",
        "Usage of a new part during which its samples are shown and not used.",
        unit="usage",
        default_by_unit={"km": 5000.0, "mi": 3000.0, "h": 50.0},
        source=JUDGEMENT,
    ),
    Input(
        "oil.false_alarm",
        "False alarms",
        "share",
        "Chance that a sample of a part without distress alarms.",
        high=0.5,
        default=0.02,
        source=JUDGEMENT,
    ),
    Input(
        "oil.turnaround",
        "Sample to answer",
        "number",
        "Usage from drawing a sample to acting on its result.",
        unit="usage",
        default_by_unit={"km": 500.0, "mi": 300.0, "h": 10.0},
        default_text="at most half the usage between oil changes",
        source=JUDGEMENT,
    ),
    Input(
        "oil.retest_in",
        "Sample again in",
        "number",
        "Usage from now to a second sample, where one is drawn before the next oil change.",
        unit="usage",
        open_low=True,
        default_by_unit={"km": 500.0, "mi": 300.0, "h": 10.0},
        source=JUDGEMENT,
    ),
    Input(
        "oil.investigation_sees",
        "Investigation sees distress",
        "share",
        "Chance that the look after an alarm finds distress that is there.",
        default=0.8,
        source=JUDGEMENT,
    ),
    Input(
        "oil.life_gamma",
        "Fresher oil, longer life",
        "number",
        "Life grows as (old interval / new interval) to this power; 0 claims nothing.",
        high=2.0,
        default=0.0,
        source="nothing claimed unless stated",
    ),
    Input(
        "oil.element",
        "Elements",
        "rows",
        "What the laboratory measures and what it means for this part.",
        default=(),
    ),
    Input(
        "oil.element.symbol",
        "Element",
        "text",
        "Chemical symbol, as the column of the samples is named.",
        required=True,
    ),
    Input(
        "oil.element.typical",
        "Usual level",
        "quantity",
        "Usual wear rate between engines of this kind.",
        unit="ppm per 1,000 usage",
        open_low=True,
        default=(0.01, 1000.0),
        default_text="learned from it",
        source="learned from the samples that oil.fleet names",
        spread=VARIES,
        unless="oil.fleet",
    ),
    Input(
        "oil.element.scatter",
        "Scatter",
        "number",
        "Factor by which one sample scatters about the engine's own usual level.",
        low=1.0,
        high=20.0,
        open_low=True,
        default=1.5,
        source=JUDGEMENT + "; with oil.fleet learned from other engines' samples",
    ),
    Input(
        "oil.element.rise",
        "Rise at failure",
        "quantity",
        "How many times the usual rate is reached just before failure.",
        low=1.0,
        open_low=True,
        high=1000.0,
        default=(3.0, 20.0),
        source=JUDGEMENT,
        spread=VARIES,
    ),
    Input(
        "oil.element.noise",
        "Laboratory noise",
        "number",
        "One standard deviation between laboratory runs.",
        unit="ppm",
        default=0.0,
        source="none assumed",
    ),
    Input(
        "oil.element.from_part",
        "Shed by the part",
        "flag",
        "True where the part sheds this element; others are drawn, not evidence.",
        required=True,
    ),
    # --- cost --------------------------------------------------------------------------
    Input("cost.currency", "Currency", "text", "Printed with money.", default=""),
    Input(
        "cost.planned",
        "Replacement in time",
        "quantity",
        "Price of replacing the part as a planned job.",
        unit="money",
        required=True,
        spread=UNKNOWN,
    ),
    Input(
        "cost.urgent",
        "Replacement at short notice",
        "quantity",
        "Price of replacing it at once after an alarm.",
        unit="money",
        default_text="as the planned job",
        source=JUDGEMENT,
        spread=UNKNOWN,
    ),
    Input(
        "cost.failure",
        "Failure",
        "quantity",
        "Price of a failure: another engine or a rebuild.",
        unit="money",
        required=True,
        spread=UNKNOWN,
    ),
    Input(
        "cost.found_worn",
        "More if found worn",
        "quantity",
        "What a replacement costs more when the old part shows distress.",
        unit="money",
        default=0.0,
        source="none assumed",
        spread=UNKNOWN,
    ),
    Input(
        "cost.investigation",
        "Investigation",
        "quantity",
        "Price of looking into an alarm.",
        unit="money",
        default=0.0,
        source="none assumed",
        spread=UNKNOWN,
    ),
    Input(
        "cost.sample",
        "Oil sample",
        "quantity",
        "Price of one used-oil sample.",
        unit="money",
        default=0.0,
        source="none assumed",
        spread=UNKNOWN,
    ),
    Input(
        "cost.oil_change",
        "Oil change",
        "quantity",
        "Price of one oil change.",
        unit="money",
        default=0.0,
        source="none assumed",
        spread=UNKNOWN,
    ),
    Input(
        "cost.install_fault",
        "Fitting fault",
        "share_quantity",
        "Chance that a newly fitted part fails at once.",
        default=0.02,
        source=JUDGEMENT,
        spread=UNKNOWN,
    ),
    Input(
        "cost.install_fault_price",
        "Price of a fitting fault",
        "quantity",
        "What a fitting fault costs, all told.",
        unit="money",
        default_text="as a failure, consequences included",
        source=JUDGEMENT,
        spread=UNKNOWN,
    ),
    Input(
        "cost.discount_rate",
        "Discount rate",
        "number",
        "Yearly rate at which later money counts less.",
        unit="per year",
        high=1.0,
        default=0.0,
        source="none assumed",
    ),
    Input(
        "cost.sale_credit",
        "Worth at sale",
        "quantity",
        "What a documented replacement adds to the price when sold.",
        unit="money",
        default=0.0,
        source="none assumed",
        spread=UNKNOWN,
    ),
    Input(
        "cost.while_open",
        "Jobs while access is open",
        "rows",
        "Other work that is cheaper while the engine is open.",
        default=(),
    ),
    Input("cost.while_open.job", "Job", "text", "What would be done.", required=True),
    Input(
        "cost.while_open.now",
        "Price with this job",
        "quantity",
        "Its price while access is open.",
        unit="money",
        required=True,
        spread=UNKNOWN,
    ),
    Input(
        "cost.while_open.alone",
        "Price alone later",
        "quantity",
        "Its price as a job of its own.",
        unit="money",
        required=True,
        spread=UNKNOWN,
    ),
    Input(
        "cost.while_open.chance",
        "Chance it is needed",
        "share",
        "Chance that it would be needed while you keep the machine.",
        default=1.0,
        source=JUDGEMENT,
    ),
    Input(
        "cost.while_open.one_time_use",
        "Single-use hardware",
        "flag",
        "True for bolts and seals that must be new each time.",
        default=False,
    ),
    Input(
        "cost.consequence",
        "Consequences of a failure",
        "rows",
        "What a failure costs beyond the engine.",
        default=(),
    ),
    Input(
        "cost.consequence.name",
        "Consequence",
        "text",
        "Tow, downtime, a lost season.",
        required=True,
    ),
    Input(
        "cost.consequence.amount",
        "Amount",
        "quantity",
        "What it costs.",
        unit="money",
        required=True,
        spread=UNKNOWN,
    ),
    # --- inspection --------------------------------------------------------------------
    Input(
        "inspection.cost",
        "Price of an inspection",
        "quantity",
        "Price of looking at the part without replacing it.",
        unit="money",
        default_text="no inspection offered",
        spread=UNKNOWN,
    ),
    Input(
        "inspection.sees",
        "Inspection sees distress",
        "share",
        "Chance that it sees distress that is there.",
        default=0.8,
        source=JUDGEMENT,
    ),
    Input(
        "inspection.risk",
        "Risk of an inspection",
        "share",
        "Chance that the inspection itself does the damage.",
        default=0.0,
        source="none assumed",
    ),
    # --- plan --------------------------------------------------------------------------
    Input(
        "plan.keep_years",
        "Keep for",
        "number",
        "How many more years you will own the machine.",
        unit="years",
        open_low=True,
        high=60.0,
    ),
    Input(
        "plan.keep_usage",
        "Keep for",
        "number",
        "How much more usage you will own the machine.",
        unit="usage",
        open_low=True,
    ),
    Input(
        "plan.new_part_life",
        "Life of the new part",
        "quantity",
        "Life of a replacement against that of the original part: of parts to come, and of the "
        "present one where it was fitted later. 1 where records and belief are of such parts.",
        open_low=True,
        high=100.0,
        default=(0.6, 1.1),
        source=JUDGEMENT,
        spread=UNKNOWN,
    ),
    Input(
        "plan.sample",
        "Sample at every oil change",
        "flag",
        "Whether a sample is taken at each oil change from now on.",
        default_text="true where elements are given",
    ),
    Input(
        "plan.after_failure",
        "After a failure",
        "choice",
        "Whether the machine is repaired and kept, or given up.",
        choices=("repair", "stop"),
        default="repair",
        source=JUDGEMENT,
    ),
    Input(
        "plan.most_risk",
        "Most risk you will bear",
        "share",
        "Your ceiling on the chance of a failure while you keep it.",
        default_text="no ceiling",
    ),
    Input(
        "plan.lay_up",
        "Lay-up",
        "date",
        "The day the machine is laid up for the season.",
        default_text="none",
    ),
    Input(
        "plan.other_job",
        "Another job that is due",
        "text",
        "Work in the workshop with which the part could be replaced.",
        default="",
    ),
    Input(
        "plan.other_job_in",
        "... due in",
        "number",
        "Usage from now to that job.",
        unit="usage",
        open_low=True,
        default_text="none",
    ),
    Input(
        "plan.other_job_saves",
        "... saves",
        "quantity",
        "What replacing the part together with that job saves.",
        unit="money",
        default=0.0,
        source="none assumed",
        spread=UNKNOWN,
    ),
    Input(
        "plan.do_without",
        "A year without it",
        "quantity",
        "What a year without the machine would cost if you sold it today: another one, hire, lost "
        "income; 0 where you would not miss it. Left out, selling is not weighed.",
        unit="money",
        spread=UNKNOWN,
    ),
    Input(
        "plan.booking_weeks",
        "Booking time",
        "number",
        "Weeks until the workshop can take it.",
        unit="weeks",
        high=520.0,
        default=0.0,
        source="none assumed",
    ),
)

BY_KEY: Mapping[str, Input] = {entry.key: entry for entry in INPUTS}
SECTIONS: tuple[str, ...] = (
    "machine",
    "part",
    "life",
    "use",
    "warning",
    "oil",
    "cost",
    "inspection",
    "plan",
)


def inputs_of(section: str) -> tuple[Input, ...]:
    """The inputs of one section or row table, in their order."""
    return tuple(entry for entry in INPUTS if entry.section == section)
