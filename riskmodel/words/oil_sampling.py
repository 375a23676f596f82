"""How to take a used-oil sample that says something."""

from __future__ import annotations

SAMPLING_LEAD = (
    "This is common practice among those who sample engines; there is no one source for it. Where "
    "the laboratory or the engine's maker says otherwise, follow them. Hot oil burns: wear gloves, "
    "and stay clear of what turns."
)


def sampling_well() -> list[str]:
    """Steps and rules in the order of doing."""
    return [
        "Draw it from a hot engine, within half an hour of stopping: what wear has shed still "
        "floats in the oil.",
        "From the drain plug: let the first run of oil off, then catch some from the middle of the "
        "stream.",
        "Through the dipstick: hold the tube at half the depth of the oil, not on the bottom; a "
        "new tube each time.",
        "Use the laboratory's own clean bottle. Open it last of all, and close it at once.",
        "Never just after an oil change or a large top-up: there is next to nothing in new oil.",
        "Write on it at once: the meter, the usage on this oil, and how many litres were topped up "
        "since the last change. Without these a reading says little.",
        "Always in the same way, from the same place, to the same laboratory.",
        "Send it the same day.",
        "Cut the old filter open and look. Metal in it means: stop, do not start the engine, have "
        "it towed. Do not wait for the laboratory.",
        "A surprising result deserves a second sample before anything is opened: a bottle may be "
        "dirty or swapped. Not so with a knock, low oil pressure or metal in the filter: then stop "
        "at once.",
        "The first fills after new bearings were fitted are not the usual level: new parts shed "
        "more until they have run in.",
    ]
