"""What a first visit demands, counted, and how long that takes somebody unused to a keyboard.

An estimate, no trial: nobody was timed. The rates are published ones. Silent reading of prose: 238
words a minute on average, most adults between 175 and 300: Brysbaert, Journal of Memory and
Language 109 (2019) 104047. A key 1.2 s for somebody who does not know the keyboard, 0.28 s for an
average typist, 1.1 s to point at something, 1.35 s to make up one's mind to a step: Card, Moran and
Newell, Communications of the ACM 23(7) (1980) 396-410. Finding the papers (meter, quote)
and thinking about how long such parts last is not in it, nor what is folded away or further down.
"""

from __future__ import annotations

import re
from html import unescape

import pytest

from riskmodel.page import kept
from riskmodel.words import first_visit as words
from tests.page.conftest import Page
from tests.page.first_machine import FIRST_FIGURES
from tests.page.test_first_visit import TODAY, answer, first, press

READING, READING_SLOWLY = 238 / 60, 175 / 60
"""Words a second."""
KEY_UNUSED_TO_IT, KEY_AVERAGE, POINT, DECIDE = 1.2, 0.28, 1.1, 1.35
"""Seconds."""
FIVE_MINUTES = 300.0
RANGES, TEXTS = ("planned", "failure", "tenth", "half"), ("name", "currency")
"""Questions answered with two ages or prices, of which one suffices, and with words."""


@pytest.fixture(autouse=True)
def _same_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "today", lambda: TODAY)


def words_in(texts: list[str]) -> int:
    return sum(len(unescape(re.sub(r"<[^>]*>", " ", text)).split()) for text in texts)


def words_of_the_questions(page: Page) -> int:
    """All that stands on the first screen, the ways in at its foot included."""
    app = page.app
    prose = [text for text in page.html if not text.startswith(("<style>", "<script>"))]
    widgets = (*app.number_input, *app.text_input, *app.checkbox, *app.radio, *app.button)
    options = [option for radio in app.radio for option in radio.options]
    texts = [one.value for one in (*app.title, *app.header, *app.subheader, *app.markdown)]
    return words_in([*prose, *(one.label for one in widgets), *options, *texts])


def seconds(read: int, keys: int, steps: int, key: float, rate: float = READING) -> float:
    return read / rate + keys * key + steps * (POINT + DECIDE)


def test_the_first_verdict_is_read_within_five_minutes() -> None:
    page = first()
    questions = words_of_the_questions(page)
    typed = {
        f"{name}-from" if name in RANGES else name: text if name in TEXTS else float(text)
        for name, text in FIRST_FIGURES.items()
    }
    answer(page, **typed)
    press(page, words.DO)
    told = words_in([page.part("verdict"), page.part("caution")])
    assert told > 50
    read = questions + told
    keys = sum(map(len, FIRST_FIGURES.values()))
    steps = len(FIRST_FIGURES) + 1  # and the button
    average = seconds(read, keys, steps, KEY_AVERAGE)
    unused = seconds(read, keys, steps, KEY_UNUSED_TO_IT)
    slowest = seconds(read, keys, steps, KEY_UNUSED_TO_IT, READING_SLOWLY)
    print(f"{questions} + {told} words, {keys} keys, {steps} steps:", end=" ")
    print(f"{average:.0f}, {unused:.0f}, reading slowly too {slowest:.0f} s")
    assert average < unused < FIVE_MINUTES
