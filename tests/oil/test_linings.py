"""Linings: what they contain, values to start from, and what is said of the elements marked."""

import pytest

from riskmodel.oil.alarm import alarm
from riskmodel.oil.linings import (
    LININGS,
    NAMES,
    PER_KM,
    lining_of,
    not_in,
    note,
    precision,
    starting_elements,
    starting_noise,
)
from riskmodel.records.case import Element
from riskmodel.records.quantity import Quantity


def element(symbol, from_part=True):
    return Element(symbol, Quantity(0.1, 0.9), 1.4, Quantity(3, 20), 0.5, from_part)


def named(name):
    return next(lining for lining in LININGS if lining.name == name)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("copper-lead with lead-tin overlay", "copper-lead with lead-tin overlay"),
        ("Copper/lead, three layers", "copper-lead with lead-tin overlay"),
        ("lead bronze", "copper-lead with lead-tin overlay"),
        ("Aluminium-tin", "aluminium-tin"),
        ("bi-metal aluminum / tin (lead-free)", "aluminium-tin"),
        ("aluminium-silicon", "aluminium-tin-silicon"),
        ("lead-free bronze, bismuth overlay", "lead-free bronze with bismuth overlay"),
        ("lead free bronze", "lead-free bronze with bismuth overlay"),
        ("polymer coated aluminium-tin", "aluminium-tin under a polymer coating"),
        ("polymer-coated lead-free bronze", "lead-free bronze under a polymer coating"),
        ("sputtered", "bronze with sputtered aluminium-tin overlay"),
        ("babbitt", "tin-based white metal"),
        ("lead-based babbitt", "lead-based white metal"),
    ],
)
def test_a_lining_is_known_by_its_usual_names(text, name):
    assert lining_of(text).name == name


@pytest.mark.parametrize("text", ["", "EX-BE-01", "copper", "lead-free", "copper-lead, lead-free"])
def test_what_names_none_is_not_guessed(text):
    assert lining_of(text) is None


@pytest.mark.parametrize("lining", LININGS, ids=lambda lining: lining.name)
def test_every_lining_knows_itself_and_starts_a_case(lining):
    assert lining_of(lining.name) is lining
    assert lining.source
    for unit in ("km", "mi", "h"):
        elements = starting_elements(lining, unit)
        assert {e.symbol for e in elements} <= set(NAMES)
        assert not_in(lining, elements) == ()
        for metal, found in zip(lining.sheds, elements, strict=True):
            assert found.typical.low == pytest.approx(metal.typical[0] * PER_KM[unit], abs=1e-3)
            assert found.rise.low > 1
            assert found.scatter > 1
        # and the alarm takes them
        alarm(elements, 10_000 / PER_KM[unit], {}, 0.02)


def test_precision_at_ten_ppm_is_the_published_one():
    """Limits of repeatability and reproducibility at 10 ppm: copper 1.0 and 2.4, lead 3.3 and
    6.9 ppm (ASTM D5185, as a trade article on the variability of oil analysis gives them)."""
    assert [2.77 * s for s in precision("Cu", 10)] == pytest.approx([1.0, 2.4], abs=0.05)
    assert [2.77 * s for s in precision("Pb", 10)] == pytest.approx([3.3, 6.9], abs=0.05)
    assert precision("Bi", 10) is None


@pytest.mark.parametrize("symbol", ["Pb", "Cu", "Sn", "Al", "Fe"])
def test_noise_to_start_from_lies_between_one_laboratory_and_several(symbol):
    one, several = precision(symbol, 5.0)
    assert one - 0.05 <= starting_noise(symbol) <= several + 0.05
    assert starting_noise("Bi") == 1.0


def test_lead_is_no_evidence_on_a_lining_without_lead():
    lining = named("aluminium-tin")
    elements = [element("Pb"), element("Al"), element("Sn"), element("Cu"), element("Fe", False)]
    assert not_in(lining, elements) == ("Pb",)
    said = note(lining, elements)
    assert said[0] == (
        "Lead (Pb) is marked as shed by the part, but aluminium-tin does not contain it: "
        "it is no evidence on this part."
    )
    assert "only a little copper (Cu)" in said[1]
    assert not any("(Fe)" in sentence for sentence in said)


@pytest.mark.parametrize("lining", LININGS, ids=lambda lining: lining.name)
def test_lead_counts_only_where_the_lining_has_it(lining):
    told = any("Lead (Pb)" in s or "little lead" in s for s in note(lining, [element("Pb")]))
    assert told == (
        lining.name not in {"copper-lead with lead-tin overlay", "lead-based white metal"}
    )


def test_a_metal_that_could_be_evidence_is_pointed_out():
    said = " ".join(note(named("lead-free bronze with bismuth overlay"), [element("Cu")]))
    assert "sheds bismuth and tin as well" in said
    assert "ask for it" in said


def test_nothing_to_say_where_all_agrees():
    lining = named("copper-lead with lead-tin overlay")
    assert note(lining, [element("Pb"), element("Cu"), element("Sn"), element("Fe", False)]) == ()


def test_an_unknown_lining_is_an_assumption():
    (said,) = note(None, [element("Pb"), element("Cu"), element("Fe", False)])
    assert "that lead and copper come from them is an assumption" in said
    (said,) = note(None, [element("Pb")])
    assert "that lead comes from them" in said
    assert note(None, [element("Fe", False)]) == ()


def test_no_text_promises_anything():
    texts = [s for lining in LININGS for s in (*note(lining, [element("Pb")]), lining.source)]
    for text in texts:
        assert not {"safe", "sound", "healthy", "fine", "ok"} & set(text.lower().split())
