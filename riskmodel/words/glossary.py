"""The terms used, in plain words: those of the trade, those of statistics, and our own."""

from __future__ import annotations

GLOSSARY: dict[str, str] = {
    "Age": "Usage since the part was new, as the meter counts it: kilometres, miles or hours.",
    "AIC": (
        "How well a kind of curve explains the records, less a charge for each figure that it is "
        "free to choose. Smaller is better; differences below 2 say little."
    ),
    "Alarm": (
        "A sample in which the part's own metals together stand higher than chance alone would "
        "put them. It leads to a look into it. Some are false."
    ),
    "Average cost": (
        "What a plan costs on average over everything that may happen (its expected cost), later "
        "money counting a little less where a discount rate is given. Nobody pays exactly this."
    ),
    "B10 life": "The age by which one in ten has failed.",
    "Bad case": (
        "An amount that one in twenty owners in the same place would end up paying more than, "
        "good and bad luck counted."
    ),
    "Belief": (
        "What you, or a mechanic whom you trust, hold to be true of such parts before any record "
        "is counted. It is stated as a range."
    ),
    "Chance of 100": (
        "Of 100 engines alike in all we know, how many would fail. It says nothing about which."
    ),
    "Clearance": "The gap between a bearing and the journal that runs in it.",
    "Distress": (
        "Damage to the part that has begun: the eye could see it on the part, or the laboratory "
        "in the oil, before it fails."
    ),
    "Effective age": (
        "How much average use the part's own use counts like: more than the meter says where it "
        "was driven harder than most, less where it was driven gently."
    ),
    "Factor on life": (
        "How many times as long parts of one kind last as those that they are compared with."
    ),
    "Fitting fault": "A mistake in fitting a new part that makes it fail at once.",
    "Harshness": "How much ordinary use a stretch of hard use is worth in wear; 1 is ordinary.",
    "Interval": (
        "Two numbers between which the true figure lies nine times in ten, if the assumptions "
        "hold. A wide one means that little is known. (The usage from one oil change to the next "
        "is called the oil interval.)"
    ),
    "Journal": "The polished part of the crankshaft that turns in a bearing.",
    "Keep for": "How long you will own the machine: all costs and chances count up to then.",
    "Lay-up": "The time in which a boat, or another machine used in season, stands still.",
    "Lining": "The thin layers of metal on a shell that the journal runs on.",
    "Look, or inspection": (
        "Opening the engine far enough to see the part without replacing it. It can miss "
        "distress, and it says nothing of a shell that was not seen."
    ),
    "Metal": (
        "Whatever the laboratory measures in the oil in ppm: wear metals, and also silicon and "
        "the like, which reports list beside them (a chemist says elements)."
    ),
    "Oil factor": (
        "How many times as likely a failure at a certain age has become because of the oil "
        "samples. At 1 they make no difference."
    ),
    "Own level": (
        "What this engine usually sheds of a metal, by its own samples: engines of one kind differ."
    ),
    "Plan": "A promise about when to replace the part: now, at a certain oil change, or never.",
    "ppm": "Parts per million: milligrams of a metal in a kilogram of oil.",
    "Records": (
        "What became of other people's parts: how old they were when they failed or came out, or "
        "are by now."
    ),
    "Reporting ratio": (
        "How many times as readily people tell of a part that failed as of one that did not. "
        "Above 1 a list looks worse than life."
    ),
    "Runner-up": "The plan that costs least after the cheapest.",
    "Scatter": (
        "How far one sample falls from the engine's own level by chance alone, as a factor: about "
        "two of three lie within it."
    ),
    "Shell": "One half of a plain bearing. A rod has an upper and a lower one.",
    "Silent failure": "A failure of which the oil gives no sign beforehand.",
    "Surge": "A reading far above the engine's own level.",
    "Survivor": "A part in the records that had not failed when last heard of.",
    "Trait": (
        "Something that may make parts last longer or shorter and that the records tell of each "
        "part, such as how the engine was used."
    ),
    "Urgent job": "The part replaced at short notice, after an alarm: dearer than a planned job.",
    "Used-oil sample": (
        "A little of the used oil, in which a laboratory measures metals that wear has shed."
    ),
    "Verdict": (
        "The plan that costs least on the figures entered, or the cheapest within your limit on "
        "the chance of a failure. The decision stays yours."
    ),
    "Visible lead": (
        "How much usage before failure a look at the part, taken out, would show distress."
    ),
    "Warning lead": "How much usage passes between the first sign of distress and failure.",
    "Warning time": (
        "What the warning lead leaves to act in: the usage from the first sign that a sample could "
        "show to the failure, less that until its result is in (the net P-F interval)."
    ),
    "Wear rate": (
        "How much of a metal wear adds to the oil over a stretch of usage, whatever the age of the "
        "oil: what the oil before had left behind is taken off."
    ),
    "Weibull paper": (
        "A chart with both axes stretched so that a Weibull curve is a straight line."
    ),
    "Weibull shape": (
        "How sharply failures cluster with age. At 1 age does not matter; at 3 parts clearly wear "
        "out."
    ),
}
