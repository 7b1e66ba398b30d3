"""A label that contradicts itself: declaration against ingredients, claim against both."""

from __future__ import annotations

from datetime import date

import pytest

from menus.labels.evidence import CERTAIN, Kind
from menus.labels.label import LabelText
from menus.labels.reader import read

CONTRADICTIONS = {Kind.DISAGREEMENT, Kind.CLAIM_CONTRADICTED}


def told(label: LabelText, kind: Kind) -> dict[str, str]:
    """Substance and words of every piece of this kind."""
    return {
        piece.substance: piece.span.words
        for piece in read(label).evidence
        if piece.kind is kind and piece.span is not None
    }


@pytest.mark.parametrize(
    ("ingredients", "contains", "substance", "words"),
    [
        ("sugar, salt, palm oil", "milk", "milk", "milk"),
        ("sugar, whey", "soy", "milk", "whey"),
        ("rice, almonds, cashews", "almonds", "tree-nut.cashew", "cashews"),
        ("wheat flour, sesame seeds", "wheat", "sesame", "sesame seeds"),
        ("sugar, salt. Contains: milk.", "", "milk", "milk"),
        ("flour, sugar. Contains milk.", "", "wheat", "flour"),
    ],
)
def test_a_disagreement_is_told(ingredients: str, contains: str, substance: str, words: str) -> None:
    """Declared without a source, or an ingredient that the declaration leaves out (FD&C Act s.403(w)(1)(A))."""
    assert told(LabelText(ingredients, contains=contains), Kind.DISAGREEMENT)[substance] == words


@pytest.mark.parametrize(
    ("ingredients", "contains"),
    [
        ("sugar, whey, soy lecithin", "milk, soy"),
        ("rice, almonds", "tree nuts"),
        ("rice, mixed nuts", "almonds"),
        ("sugar, natural flavor", "milk"),  # the flavour may be where it comes from
        ("sugar, zorbalex", "milk"),  # so may the word that was not read
        ("sugar, mayonnaise", "egg"),
        ("soybean oil, salt", "soy"),
        ("sugar, whey", ""),  # no declaration, none that could be incomplete
        ("sugar, whey, natural flavor (contains soy)", ""),  # in brackets: of the flavour
        ("flour, contains whey, sugar", ""),  # in the middle of the list: of the list
        ("sugar, sodium bisulfite, whey", "milk"),  # sulphites are named above an amount only
        ("sugar, mustard, whey", "milk"),  # no major allergen in the United States
        ("", "milk"),  # no list to disagree with
        ("enriched flour, whey", "contains milk and wheat ingredients"),
        ("cod, salt", "fish (cod)"),
    ],
)
def test_agreement_is_no_finding(ingredients: str, contains: str) -> None:
    """A declaration borne out, or one that cannot be held against the list."""
    assert told(LabelText(ingredients, contains=contains), Kind.DISAGREEMENT) == {}


def test_the_law_of_the_day_and_place_says_what_a_declaration_owes() -> None:
    """Sesame from 2023 in the United States; mustard in Canada; nothing on home-made food."""
    label = LabelText("wheat flour, sesame seeds", contains="wheat", seen_on=date(2022, 12, 31))
    assert told(label, Kind.DISAGREEMENT) == {}
    assert "mustard" in told(LabelText("mustard, whey", contains="milk", jurisdiction="ca"), Kind.DISAGREEMENT)
    assert told(LabelText("egg, whey", contains="milk", regulator="none"), Kind.DISAGREEMENT) == {}


@pytest.mark.parametrize(
    ("text", "claims", "substance", "words"),
    [
        ("dairy-free creamer (sodium caseinate, a milk derivative)", "", "milk", "dairy"),
        ("peanuts, salt", "peanut-free", "peanut", "peanut"),
        ("oats, honey", "vegan", "honey", "vegan"),
        ("wheat starch, sugar", "gluten free", "wheat", "gluten"),
        ("shrimp, salt. Does not contain crustaceans", "", "crustacean.shrimp", "crustaceans"),
        ("sugar", "no milk", "milk", "milk"),
        ("vegan chocolate chips (cocoa, whey)", "", "milk", "vegan"),
        ("wheat flour, salt. Gluten free.", "", "wheat", "Gluten"),
    ],
)
def test_a_claim_that_the_label_contradicts_is_told(text: str, claims: str, substance: str, words: str) -> None:
    """By the ingredients, or by the declaration."""
    label = LabelText(text, claims=claims, contains="milk" if text == "sugar" else "")
    assert told(label, Kind.CLAIM_CONTRADICTED)[substance] == words


@pytest.mark.parametrize(
    ("text", "claims"),
    [
        ("lactose-free milk", ""),  # says nothing of milk protein
        ("rice, sugar", "gluten free"),
        ("gluten free flour (rice flour, tapioca starch)", ""),
        ("free range eggs", ""),
        ("fish, salt", "pareve"),  # fish is pareve; common practice, no source
        ("sugar. May contain milk.", "dairy free"),  # a warning is about the line, a claim about the recipe
        ("vegan chocolate chips (cocoa, sugar), cheddar", ""),  # said of the chips, not of the cheese
        ("gluten free oats, wheat flour", ""),
        ("soybean oil, salt", "soy-free"),  # refined oil is a question of its own
    ],
)
def test_a_claim_that_stands_is_no_finding(text: str, claims: str) -> None:
    """What is only possible contradicts nothing."""
    assert told(LabelText(text, claims=claims), Kind.CLAIM_CONTRADICTED) == {}


@pytest.mark.parametrize(
    "text", ["sugar, whey. Contains: soy.", "vegan cookie (eggs, wheat flour)", "sugar. Contains: egg"]
)
def test_a_contradiction_never_stands_alone(text: str) -> None:
    """It is told beside a piece that says the substance is there, so it alarms about nothing new."""
    pieces = read(LabelText(text)).evidence
    certain = {piece.substance for piece in pieces if piece.kind in CERTAIN}
    contradicted = {piece.substance for piece in pieces if piece.kind in CONTRADICTIONS}
    assert contradicted
    assert contradicted <= certain
