"""What moves the verdict, in words, and what samples are worth where their assumptions give way."""

from __future__ import annotations

from dataclasses import replace

import pytest

from riskmodel.decision.results import Sampled, Weighing
from riskmodel.decision.swings import Swing
from riskmodel.decision.weigh import weigh
from riskmodel.words.swings import swing_sentences, swing_table
from tests.decision.sampled_case import sampled_case
from tests.words.weighings import weighing


@pytest.fixture(scope="module")
def weighed() -> Weighing:
    return weigh(sampled_case("road_car"))


def said(w: Weighing, saves: float, rows: dict[str, tuple[float, float, float]]) -> str:
    """The sentence on samples, where they save so much as it stands and at the settings."""
    assert w.information is not None
    known = replace(w.information, samples=Sampled(None, 4_000.0, saves))
    at = {"warning.lead_factor": (0.4972, 1.0, 2.011), "warning.silent": (0.1, 0.25, 0.5)}
    same, never = (3_000.0,) * 3, (None, None, None)
    found = [
        Swing(key, at[key], same, same, never, 0.0, 0.0, sampling_saves=told)
        for key, told in rows.items()
    ]
    plain = Swing("cost.planned", (1.0, 2.0, 3.0), same, same, never, 5.0, 0.0)
    told = swing_sentences(replace(w, information=known), [plain, *found])
    return next((text for text in told if text.startswith("Sampling")), "")


def test_each_end_is_told_with_its_side(weighed: Weighing) -> None:
    rows = {
        "warning.lead_factor": (-230.0, 0.0, 310.0),
        "warning.silent": (60.0, 0.0, -2.0),
    }
    text = said(weighed, -121.0, rows)
    assert "costs about 120 as it stands" in text
    assert "with warnings 0.5 times as long as judged it costs about 230" in text
    assert "with warnings 2 times as long as judged it saves about 310" in text
    assert "with 10 of 100 failures silent it saves about 60" in text
    assert "with 50 of 100 failures silent it comes to the same" in text
    assert "judgements" in text


def test_what_hardly_hangs_on_them_is_said_so_in_short(weighed: Weighing) -> None:
    text = said(weighed, -121.0, {"warning.silent": (-119.0, -121.0, -124.0)})
    assert "about as much at the ends" in text
    assert "silent it" not in text


def test_nothing_is_said_where_no_input_bears_on_samples(weighed: Weighing) -> None:
    assert said(weighed, 50.0, {}) == ""


COSTS = (5000.0, 5000.0, 5000.0)


def swing(key: str, low: float, high: float) -> Swing:
    later = (4000.0, 5000.0, 6500.0)
    return Swing(key, (low, 0.5, high), COSTS, later, (None, None, 0.0), 2500.0, 400.0)


FOUND = [swing("life.curve", 0.123, 0.342), swing("warning.lead_factor", 0.497, 2.01)]


def test_a_figure_is_named_in_a_sentence_without_its_unit() -> None:
    said = " ".join(swing_sentences(weighing(), FOUND)).replace("\u00a0", " ")
    assert "life curve (EUR 2,500) and length of warnings (EUR 2,500)." in said
    assert "changes the verdict: life curve and length of warnings." in said
    assert "first: life curve; knowing" in said


def test_every_column_of_the_table_can_be_read_alone_and_no_figure_has_digits_to_spare() -> None:
    frame = swing_table(weighing(), FOUND)
    assert list(frame["Lowest to highest"]) == ["12 to 34", "0.5 to 2"]
    assert "to" not in frame.columns, "on a phone each stands in a line of its own"
