"""What is said of records and beliefs: the figures that were found, and nothing else."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from riskmodel.life.check_distribution import Choice
from riskmodel.life.check_remark import Remark
from riskmodel.life.profile import Estimate
from riskmodel.records.inputs import BY_KEY
from riskmodel.words import formats
from riskmodel.words import learned as words
from riskmodel.words.learned_effects import factor_range, factor_text
from tests.words.life_cases import CASES, learned_of
from tests.words.test_wording import NEVER
from tests.words.test_words import plain


def source(name: str) -> list[str]:
    return [plain(text) for text in words.source_sentences(*learned_of(name))]


def effects(name: str) -> list[str]:
    return [plain(text) for text in words.effect_sentences(*learned_of(name))]


def everything(name: str) -> list[str]:
    case, learnt = learned_of(name)
    said = [*words.source_sentences(case, learnt), *words.effect_sentences(case, learnt)]
    return [*said, words.choice_sentence(case, learnt), *words.remark_items(learnt)]


def starting(texts: list[str], start: str) -> str:
    return next(text for text in texts if text.startswith(start))


@pytest.mark.parametrize("name", CASES)
def test_every_text_is_a_sentence_in_words(name: str) -> None:
    for text in everything(name):
        assert not NEVER.search(text)
        assert re.match(r"[A-Z0-9“]", text), text
        assert text.endswith((".", "?", ".)")), text
        assert not re.search(r"[a-z]_[a-z]|\{|\}|\bNone\b|\bnan\b|\binf\b|e\+\d| {2}", text), text
        assert not any(re.search(rf"\b{re.escape(key)}\b", text) for key in BY_KEY if "." in key)


@pytest.mark.parametrize("name", ["road car", "working boat", "conflict", "few"])
def test_each_chance_is_the_figure_found_with_its_own_interval(name: str) -> None:
    _, learnt = learned_of(name)
    for start, known, often in (
        ("By the records alone", learnt.by_records, "19 times in 20"),
        ("By the belief alone", learnt.by_belief, "nine times in ten"),
        ("By both", learnt.both, "nine times in ten"),
    ):
        text = starting(source(name), start)
        if known.chance is None:
            assert "no figure" in text
            continue
        assert known.low is not None
        assert known.high is not None
        assert f"{formats.of_100(known.chance)}, {often}" in text
        for end in re.findall(r"\d+", text.partition(often)[2])[:2]:
            assert min(abs(100 * known.low - int(end)), abs(100 * known.high - int(end))) <= 1


def test_an_end_that_does_not_exist_is_left_open() -> None:
    case, learnt = learned_of("few")
    known = replace(learnt.by_records, chance=0.2, low=None, high=0.5)
    said = words.source_sentences(case, replace(learnt, by_records=known))
    assert "19 times in 20 at most 50," in starting(said, "By the records")
    known = replace(known, low=0.1, high=None)
    said = words.source_sentences(case, replace(learnt, by_records=known))
    assert "19 times in 20 at least 10," in starting(said, "By the records")
    known = replace(known, low=None)
    said = words.source_sentences(case, replace(learnt, by_records=known))
    assert "without an interval" in starting(said, "By the records")


def test_the_chances_name_the_age_and_by_when() -> None:
    assert (
        "Of 100 parts that got to 124,000 km, how many would fail before the next oil change "
        "(8,000 km from now)?"
    ) in source("road car")


def test_without_records_only_belief_is_told() -> None:
    said = source("no records")
    assert said[0] == words.NO_RECORDS
    assert not any("records alone" in text or "both" in text for text in said)
    assert starting(said, "By the belief alone")
    assert "come from this engine's survival so far" in starting(said, "The life by which half")
    case, learnt = learned_of("no records")
    assert words.choice_sentence(case, learnt) == words.NO_RECORDS
    assert effects("no records") == []
    assert words.remark_items(learnt) == []


def test_records_without_a_failure_say_why_they_have_no_figure() -> None:
    text = starting(source("no failure"), "By the records alone")
    assert "no figure" in text
    assert "No part on record failed by wear" in text
    assert "No part on record failed by wear" in words.choice_sentence(*learned_of("no failure"))


def test_records_and_belief_that_disagree_are_told_first() -> None:
    assert source("conflict")[0].startswith("The belief and the records disagree.")
    assert "120,000 to 300,000 km" in source("conflict")[0]
    for name in ("road car", "working boat", "few"):
        assert not any("disagree" in text for text in source(name))


def test_the_share_of_the_records_is_told_in_parts_of_100() -> None:
    _, learnt = learned_of("working boat")
    for start, share in (("How sharply", learnt.shape), ("The life by which half", learnt.half)):
        text = starting(source("working boat"), start)
        parts = round(100 * share.records)
        assert f"Of 100 parts of what is known of it, about {parts} come from the records" in text
        assert "hundredth" not in text
        assert "the rest from the belief" in text
    assert "Believed beforehand: 1,500 to 9,000 h." in text


def test_nothing_believed_and_all_believed_are_both_said() -> None:
    half = starting(source("road car"), "The life by which half")
    assert "nothing was believed beforehand" in half
    shape = starting(source("road car, shape known"), "How sharply")
    assert "taken as known, 2.5" in shape
    assert "parts of what is known" not in shape


def test_a_default_belief_is_called_a_judgement() -> None:
    assert "(the default, a judgement): 1.2 to 5." in starting(source("few"), "How sharply")
    assert "default" not in starting(source("road car"), "How sharply")


def test_records_that_made_nothing_surer_are_said_to_have_done_so() -> None:
    case, learnt = learned_of("few")
    none = replace(learnt, half=replace(learnt.half, records=0.0))
    said = starting(words.source_sentences(case, none), "The life by which half")
    assert "made it no surer" in said
    nearly = replace(learnt, half=replace(learnt.half, records=0.999))
    said = starting(words.source_sentences(case, nearly), "The life by which half")
    assert "Nearly all that is known of it comes from the records" in said


def test_remarks_keep_their_order_and_name_their_lines() -> None:
    _, learnt = learned_of("road car")
    items = [plain(text) for text in words.remark_items(learnt)]
    assert len(items) == len(learnt.remarks) > 3
    for item, remark in zip(items, learnt.remarks, strict=True):
        assert plain(remark.sentence)[-30:] in item
        assert str(remark.lines[0]) in item
        assert re.search(r"[Ll]ines? \d", item)
    assert "and 160 more" in items[0]


def test_a_remark_on_one_line_and_one_on_none() -> None:
    _, learnt = learned_of("few")
    odd = (
        Remark("no entry", "No row states entered_at, see life.reporting_ratio."),
        Remark("covariate", "oil_interval: too few failures by wear.", (7,)),
        Remark("influence", "Line 3 carries the fit.", (3,)),
    )
    assert words.remark_items(replace(learnt, remarks=odd)) == [
        "No row states the age at which the watch began, see the reporting ratio.",
        "Oil interval: too few failures by wear. (Line 7.)",
        "Line 3 carries the fit.",
    ]


def test_the_lead_says_that_no_remark_is_no_proof() -> None:
    assert "changes nothing by itself" in words.REMARKS_LEAD
    assert "no proof" in words.REMARKS_LEAD


def test_the_choice_of_curve_matters_little_or_is_warned_about() -> None:
    case, learnt = learned_of("road car")
    assert learnt.choice is not None
    text = words.choice_sentence(case, learnt)
    chances = [fit.probability for fit in learnt.choice.fits if fit.plausible]
    assert text.startswith("Which kind of curve is taken matters little here")
    assert f"{round(100 * min(chances))} to {round(100 * max(chances))} of 100" in text
    case, learnt = learned_of("few")
    assert learnt.choice is not None
    assert learnt.choice.warning
    assert words.choice_sentence(case, learnt) == learnt.choice.warning


def test_a_weibull_that_the_records_speak_against_is_named() -> None:
    case, learnt = learned_of("road car")
    assert learnt.choice is not None
    fits = tuple(replace(fit, plausible=fit.name == "lognormal") for fit in learnt.choice.fits)
    changed = replace(learnt, choice=replace(learnt.choice, fits=fits))
    text = words.choice_sentence(case, changed)
    assert "The lognormal explains the records clearly better than the Weibull" in text
    assert "The Weibull, which the answer rests on, explains the records clearly worse" in text
    only = replace(learnt.choice, fits=tuple(f for f in fits if f.name == "exponential"))
    only = replace(only, fits=(replace(only.fits[0], plausible=True, low=None, high=None),))
    text = words.choice_sentence(case, replace(learnt, choice=only))
    assert "Only the exponential could be fitted" in text
    assert "no interval can be given" in text
    assert "could not be fitted to the records alone" in text


def test_no_curve_at_all_is_explained() -> None:
    case, learnt = learned_of("few")
    none = Choice(learnt.age, learnt.ahead, (), None, "nothing to fit")
    text = words.choice_sentence(case, replace(learnt, choice=none))
    assert text == "No curves could be compared. Nothing to fit."


def test_each_level_is_told_with_its_factor_and_whether_chance_explains_it() -> None:
    said = effects("road car")
    _, learnt = learned_of("road car")
    assert learnt.effects is not None
    assert learnt.effects.fit is not None
    for term in learnt.effects.fit.terms:
        assert term.factor.estimate is not None
        level = f"“{term.level}” ({term.records:.0f} parts, {term.failures:.0f} failures)"
        told = next(text for text in said if level in text)
        assert f"{term.factor.estimate:.2f} times as long" in told
    assert starting(said, "Oil interval, compared with “long”")
    for column in learnt.effects.fit.columns:
        assert column.p is not None
        assert any(f"about {round(100 * column.p)} of 100 such sets" in text for text in said)
    assert all("cannot tell this from no effect" in text for text in said[:2])


def test_a_level_without_failures_has_a_lower_end_only() -> None:
    said = effects("levels")
    assert (
        "“motorway” (31 parts, none failed) has no best guess; 19 times in 20 it lasts" in said[0]
    )
    assert re.search(r"lasts at least \d\.\d\d times as long", said[0])
    assert any("no upper end" in text for text in said)
    assert any(re.match(r"\d+ failures for 3 effects", text) for text in said)


def test_an_effect_that_is_there_is_told_with_its_direction() -> None:
    said = effects("levels")
    assert re.search(r"“racing” .* lasts 0\.\d\d times as long \(between .*\), so shorter", said[0])
    assert "The records speak for an effect" in said[0]
    assert re.match(r"Trailer load: where it is 1,200 higher, a part lasts 0\.\d\d times", said[1])


def test_the_traits_of_this_engine_are_told_and_whether_they_count() -> None:
    _, learnt = learned_of("road car")
    assert learnt.effects is not None
    text = starting(effects("road car"), "This engine: use “mixed” and oil interval “short”.")
    assert "Its chances count this" in text
    assert f"{formats.of_100(learnt.effects.average[0])} (between 4 and 8) would fail" in text
    text = starting(source("road car"), "By both")
    assert "an average engine" in text
    none = effects("road car, no traits")
    assert starting(none, "What this engine is in these columns has not been stated")
    assert not any("widens every range" in text for text in none)
    assert "sets yours apart" not in starting(source("road car, no traits"), "By both")


def test_effects_that_could_not_be_told_say_why() -> None:
    case, learnt = learned_of("road car")
    assert learnt.effects is not None
    lost = replace(learnt.effects, fit=None, why_not="oil_interval has too many terms")
    said = words.effect_sentences(case, replace(learnt, effects=lost))
    assert said[0] == (
        "What the columns do to life could not be told: oil interval has too many terms."
    )
    unused = replace(learnt.effects, used=False, notes=("A note.",))
    said = words.effect_sentences(case, replace(learnt, effects=unused))
    assert any("This does not enter its chances." in text for text in said)
    assert "A note." in said


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.94417, "0.94"), (1.0, "1.00"), (12.345, "12.3"), (123.4, "123"), (0.0123, "0.012")],
)
def test_factors_are_written_to_two_or_three_figures(value: float, text: str) -> None:
    assert factor_text(value) == text


def test_the_range_of_a_factor_is_rounded_outwards() -> None:
    assert factor_range(Estimate(1.0, 0.7355, 1.2411)) == "between 0.73 and 1.25"
    assert factor_range(Estimate(None, 1.578, None)) == "at least 1.57"
    assert factor_range(Estimate(None, None, 0.801)) == "at most 0.81"
    assert factor_range(Estimate(None, None, None)) == "with no range"
