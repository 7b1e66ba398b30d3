"""What codes and words of health records mean here: in doubt more, and never nothing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from menus.substances.catalogue import Catalogue
from roster.fhir.codes import SNOMED, codes
from roster.fhir.naming import meant
from roster.fhir.noted import Coding, Concept


def words(text: str) -> Concept:
    return Concept(text=text)


@pytest.mark.parametrize(
    ("text", "substances"),
    [
        ("Peanut", {"peanut"}),
        ("Cow milk", {"milk"}),
        ("Allergy to egg white", {"egg"}),
        ("IgE-mediated allergy to egg", {"egg"}),
        ("Fish - dietary (substance)", {"fish"}),
        ("Lactose intolerance", {"lactose"}),
        ("Milk/dairy", {"milk"}),
        ("cacahuate", {"peanut"}),
        ("Eggs, milk and wheat", {"egg", "milk", "wheat"}),
        ("Shellfish", {"shellfish"}),
    ],
)
def test_words_that_are_known(text: str, substances: set[str]) -> None:
    """In English and Spanish, with what clinics write around them."""
    said = meant(words(text))
    assert set(said.substances) == substances and not said.unknown


def test_nuts_are_peanut_and_tree_nuts_until_somebody_confirms() -> None:
    """S74: people mean either by it."""
    said = meant(words("nuts"))
    assert set(said.substances) == {"peanut", "tree-nut"} and said.to_confirm
    assert not meant(words("Tree nuts")).to_confirm


@pytest.mark.parametrize(("text", "suggested"), [("sesamee", "sesame"), ("PNUT", "peanut"), ("Mayonnaise", "egg")])
def test_a_slip_of_the_pen_is_suggested_and_never_taken(text: str, suggested: str) -> None:
    """S75: the words stand as they are until a person picks."""
    said = meant(words(text))
    assert said.unknown == (text,) and suggested in said.suggested and not said.substances


def test_a_known_food_does_not_hide_an_unknown_one() -> None:
    """Each of several foods is looked at by itself."""
    said = meant(words("Peanut and zorbalex"))
    assert said.substances == ("peanut",) and said.unknown == ("zorbalex",)


def test_words_that_allow_something_do_not_weaken_it() -> None:
    """HL7's own example: “Allergic to fresh fish. Tolerates canned fish”."""
    said = meant(words("Allergic to fresh fish. Tolerates canned fish"))
    assert said.substances == ("fish",) and said.to_confirm


@pytest.mark.parametrize("text", ["NKA", "NKDA", "No known allergies", "no known food allergies."])
def test_nothing_known_names_nothing(text: str) -> None:
    """It is no restriction, and no question either."""
    said = meant(words(text))
    assert said.nothing_known and not said.substances and not said.unknown


def test_code_and_words_that_differ_are_both_kept() -> None:
    """A code picked wrongly from a list must not hide what was typed."""
    said = meant(Concept((Coding(SNOMED, "227493005", "Cow milk"),)))
    assert set(said.substances) == {"tree-nut.cashew", "milk"} and said.to_confirm


def test_a_code_that_says_nothing_known_does_not_hide_words() -> None:
    """“No known drug allergy”, and a food beside it."""
    said = meant(Concept((Coding(SNOMED, "409137002", ""),), "zorbalex"))
    assert said.unknown == ("zorbalex",) and not said.nothing_known


def test_the_codes_of_other_systems_are_spoken_for_by_one_that_is_known() -> None:
    """Codings of one concept are translations of each other; alone, a strange one is unknown."""
    strange = Coding("urn:x-local", "77", "Arachis code 77")
    assert not meant(Concept((strange, Coding(SNOMED, "762952008", "Peanut")))).unknown
    assert meant(Concept((Coding("urn:x-local", "77", ""),))).unknown == ("urn:x-local 77",)


def test_every_code_of_the_table_names_what_the_catalogue_has() -> None:
    """And a code goes out for one substance alone."""
    out = [row.substances for row in codes().values() if row.goes_out]
    assert len(out) == len(set(out)) and all(len(substances) == 1 for substances in out)
    for row in codes().values():
        assert all(code in Catalogue.load() for code in row.substances)
        assert bool(row.substances) != row.nothing_known and row.source and row.verified in {"read", "memory"}


@given(st.text(max_size=80), st.text(max_size=20), st.text(max_size=30))
def test_nothing_is_ever_dropped(text: str, code: str, display: str) -> None:
    """Whatever is written, it is a substance, a word for people, or “nothing known”."""
    said = meant(Concept((Coding("", code, display),), text.strip()))
    assert said.substances or said.unknown or said.nothing_known
