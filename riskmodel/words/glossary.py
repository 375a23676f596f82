"""The terms used, in plain words."""

from __future__ import annotations

GLOSSARY: dict[str, str] = {
    "Age": "Usage since the part was new, as the meter counts it: kilometres, miles or hours.",
    "AIC": (
        "How well a kind of curve explains the records, less a charge for each figure that it is "
        "free to choose. Smaller is better; differences below 2 say little."
    ),
    "B10 life": "The age by which one in ten has failed.",
    "Bad case": (
        "An amount that one in twenty owners in the same place would end up paying more than, "
        "good and bad luck counted."
    ),
    "Chance of 100": (
        "Of 100 engines alike in all we know, how many would fail. It says nothing about which."
    ),
    "Expected cost": (
        "What a plan costs on average over everything that may happen, later money counting a "
        "little less where a discount rate is given. Nobody pays exactly this."
    ),
    "Factor on life": (
        "How many times as long parts of one kind last as those that they are compared with."
    ),
    "Fitting fault": "A mistake in fitting a new part that makes it fail at once.",
    "Interval": (
        "Two numbers between which the true figure lies nine times in ten, if the assumptions "
        "hold. A wide one means that little is known."
    ),
    "Keep-until": "How long you will own the machine: all costs and chances count up to then.",
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
    "Runner-up": "The plan that costs least after the cheapest.",
    "Survivor": "A part in the records that had not failed when last heard of.",
    "Used-oil sample": (
        "A little of the used oil, in which a laboratory measures metals that wear has shed."
    ),
    "Warning lead": "How much usage passes between the first sign of distress and failure.",
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
