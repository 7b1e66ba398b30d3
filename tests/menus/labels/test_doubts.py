"""What speaks against taking a new word for harmless."""

from __future__ import annotations

import pytest

from menus.labels.doubts import Doubt, Ground, doubts, is_one_phrase, places_in, stands_in, strange_words
from menus.labels.lexicon import Lexicon, Meaning, words_of

LEXICON = Lexicon.load()


def found(phrase: str) -> set[tuple[str, str]]:
    """Ground and name of every doubt."""
    return {(doubt.ground.value, name) for doubt in doubts(phrase, LEXICON) for name in doubt.names}


@pytest.mark.parametrize(
    ("phrase", "doubt"),
    [
        ("zorbalex milk", ("says", "milk")),
        ("milk-free zorbalex", ("says", "milk")),
        ("milkose", ("holds", "milk")),
        ("zorbapeanut", ("holds", "peanut")),
        ("eggo", ("holds", "egg")),
        ("zorbasoy", ("holds", "soy")),
        ("cas ein", ("holds", "casein")),
        ("almods", ("near", "almond")),
        ("mlik", ("near", "milk")),
        ("MLIK", ("near", "milk")),
        ("tahinni", ("near", "tahini")),
        ("cashws", ("near", "cashew")),
    ],
)
def test_a_name_in_the_word_or_a_slip_away_from_it_is_a_doubt(phrase: str, doubt: tuple[str, str]) -> None:
    """Torn, run together or misspelt, in any case."""
    assert doubt in found(phrase)


@pytest.mark.parametrize("phrase", ["zorbalex", "zorbalex gum", "veggiezorb", "xylozorb"])
def test_a_word_far_from_every_name_is_in_no_doubt(phrase: str) -> None:
    """A short name by chance in the middle of a word is none: "egg" in "veggie"."""
    assert found(phrase) == set()


def test_a_doubt_is_answered_by_a_row_that_says_as_much() -> None:
    """What may be made from it says less, and so does what leaves one of the substances out."""
    doubt = Doubt("almods", Ground.NEAR, ("almond",), frozenset({"tree-nut.almond"}))
    assert doubt.is_answered(Meaning.NAMED, ("tree-nut.almond",))
    assert doubt.is_answered(Meaning.DERIVED, ("milk", "tree-nut.almond"))
    assert not doubt.is_answered(Meaning.NONE, ())
    assert not doubt.is_answered(Meaning.MAY_DERIVE, ("tree-nut.almond",))
    assert not doubt.is_answered(Meaning.NAMED, ("tree-nut",))


def test_another_name_in_the_lexicon_is_another_doubt() -> None:
    """What was confirmed of one list of names is not confirmed of a longer one."""
    codes = frozenset({"milk"})
    assert Doubt("a", Ground.NEAR, ("b",), codes).key != Doubt("a", Ground.NEAR, ("b", "c"), codes).key


@pytest.mark.parametrize("text", ["zorbalex", "Zorbalex gum", "e999", "zorb-a-lex"])
def test_one_phrase(text: str) -> None:
    """A label can name it in one go."""
    assert is_one_phrase(text)


@pytest.mark.parametrize(
    "text", ["", "…", "zorbalex, milk", "zorbalex (gum)", "may contain zorbalex", "zorbalex: gum", "free of zorbalex"]
)
def test_no_phrase(text: str) -> None:
    """It would never be met in one piece, or would swallow whoever speaks."""
    assert not is_one_phrase(text)


@pytest.mark.parametrize("phrase", ["milk", "almond milk", "peanut sugar", "wheatflour", "riboflavn", "may contain"])
def test_what_is_read_already_holds_no_strange_word(phrase: str) -> None:
    """Words run together and plain slips of harmless words are read too."""
    assert strange_words(phrase, LEXICON) == ()


def test_strange_words_are_told() -> None:
    """As they are written."""
    assert strange_words("Zorbalex milk", LEXICON) == ("Zorbalex",)


def test_a_phrase_is_found_in_any_spelling_and_not_across_a_comma() -> None:
    """Plurals, capitals and hyphens are the same words; two items are not one phrase."""
    words = words_of("zorbalex gum")
    assert stands_in(words, "salt, ZORBALEX-GUMS (milk)")
    assert not stands_in(words, "zorbalex, gum")
    assert not stands_in(words, "zorbalexgum")
    assert not stands_in((), "zorbalex")


def test_places_are_characters_of_the_stored_text() -> None:
    """Accents and capitals move nothing."""
    text = "Crème; ZÔRBALEX. May contain zorbalex"
    assert [text[start:end] for start, end in places_in(words_of("zorbalex"), text)] == ["ZÔRBALEX", "zorbalex"]
