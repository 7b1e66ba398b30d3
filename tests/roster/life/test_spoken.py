"""Foods as families write them: known names in two languages, slips of the pen, words nobody knows."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from menus.substances.catalogue import Catalogue
from roster.life.spoken import heard


def codes(text: str) -> list[tuple[str, ...]]:
    return [each.codes for each in heard(text)]


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("milk", "milk"),
        ("Peanuts", "peanut"),
        ("yellow 5", "dye.yellow-5"),
        ("leche", "milk"),
        ("Cacahuates", "peanut"),
        ("maní", "peanut"),
        ("mani", "peanut"),
        ("AJONJOLÍ", "sesame"),
        ("camarones", "crustacean.shrimp"),
        ("carne de puerco", "pork"),
        ("whey", "milk"),
        ("casein", "milk"),
    ],
)
def test_a_known_name_is_that(words: str, code: str) -> None:
    """In English, in Spanish with and without accents, and as labels write it."""
    (each,) = heard(words)
    assert each.codes == (code,) and each.is_sure


@pytest.mark.parametrize("words", ["nuts", "Nuts", "frutos secos", "nueces"])
def test_nuts_stand_for_peanut_and_tree_nuts_until_confirmed(words: str) -> None:
    """S74. Basis: design. The word is used for both."""
    (each,) = heard(words)
    assert set(each.codes) == {"peanut", "tree-nut"} and not each.is_sure


@pytest.mark.parametrize(("words", "code"), [("sesamee", "sesame"), ("penuts", "peanut"), ("lehce", "milk")])
def test_a_slip_of_the_pen_protects_and_is_to_be_confirmed(words: str, code: str) -> None:
    """S75. Basis: design. Suggested, not accepted; it is looked for meanwhile."""
    (each,) = heard(words)
    assert each.codes == (code,) and not each.is_sure


@pytest.mark.parametrize("words", ["grandma's stew", "zorbalex", "anything at Rosa's"])
def test_words_that_nobody_knows_come_without_a_code(words: str) -> None:
    """And are never dropped."""
    (each,) = heard(words)
    assert each.words == words and not each.codes and not each.is_sure


def test_one_a_line_or_between_commas_each_once() -> None:
    """Blank lines are nothing."""
    assert codes("milk, egg\n\n  kiwi ;milk\n") == [("milk",), ("egg",), ("kiwi",)]
    assert heard(" \n , ") == ()


@given(st.text())
def test_any_text_is_heard_and_none_of_it_lost(text: str) -> None:
    """Every piece comes back, with codes of the catalogue alone."""
    found = heard(text)
    said = "".join(each.words for each in found)
    assert all(letter in said for letter in text if letter.isalnum())
    assert all(code in Catalogue.load() for each in found for code in each.codes)
