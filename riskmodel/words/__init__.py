"""Every sentence that a person reads, in one place."""

from riskmodel.words import captions, formats, learned, screen
from riskmodel.words.cautions import (
    cautions,
    example_banner,
    stop_heading,
    stop_text,
    symptom_words,
)
from riskmodel.words.chances import (
    chance_headline,
    chance_sentences,
    main_assumption,
    plans_assumption,
    reference_class,
)
from riskmodel.words.glossary import GLOSSARY
from riskmodel.words.next_steps import next_steps, questions
from riskmodel.words.notes import notes
from riskmodel.words.plan_names import keep_phrase, plan_name, plan_short
from riskmodel.words.plans import (
    booking_note,
    ceiling_sentences,
    cost_sentence,
    headline,
    reasons,
    verdict,
    what_would_change,
)

__all__ = [
    "GLOSSARY",
    "booking_note",
    "captions",
    "cautions",
    "ceiling_sentences",
    "chance_headline",
    "chance_sentences",
    "cost_sentence",
    "example_banner",
    "formats",
    "headline",
    "keep_phrase",
    "learned",
    "main_assumption",
    "next_steps",
    "notes",
    "plan_name",
    "plan_short",
    "plans_assumption",
    "questions",
    "reasons",
    "reference_class",
    "screen",
    "stop_heading",
    "stop_text",
    "symptom_words",
    "verdict",
    "what_would_change",
]
