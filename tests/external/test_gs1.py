"""GS1 allergen codes (GS1 Web Vocabulary 1.16) against our table, the lexicon, and the lists of US and EU law.

The codes and their labels were read in the vocabulary. Which substance a code names is our judgement, so it is held
against a second one made apart from it: what the lexicon makes of the label as words of a declaration.
"""

from __future__ import annotations

import pytest

from menus.labels.evidence import ANY, Kind
from menus.labels.label import LabelText
from menus.labels.reader import read
from menus.labels.supplied.codes import NONE_DECLARED, allergen_codes
from menus.substances.catalogue import Catalogue
from tests.external.published import published

CODES = published("gs1_allergens.csv")
NINE = {
    "Milk": "AM",
    "Egg": "AE",
    "Fish": "AF",
    "Crustacean shellfish": "AC",
    "Tree nuts": "AN",
    "Wheat": "UW",
    "Peanuts": "AP",
    "Soybeans": "AY",
    "Sesame": "AS",
}
_IN_ORDER = ("AW", "AC", "AE", "AF", "AP", "AY", "AM", "AN", "BC", "BM", "AS", "AU", "NL", "UM")
FOURTEEN = dict(enumerate(_IN_ORDER, start=1))
UNREAD = {"LX", "SU"}
"""Latex and salicylate: no restriction can name them yet, so a product that contains them is asked about."""

OTHERWISE = {
    "LGD": "the lexicon takes lingcod for ling, and it is none",
    "SL": "the words end in nuts; the code means the fruit",
    "UN": "the code is also said of the whole group",
    "AN": "the lexicon adds that loose talk of nuts may mean peanuts; the code has one for those",
    "SAD": "as for AN",
}
"""Codes that are not read as their label would be, and why."""


def declared(supplied: str = "", contains: str = "") -> set[str]:
    pieces = read(LabelText("", contains=contains, supplied=supplied)).evidence
    return {piece.substance for piece in pieces if piece.kind in (Kind.DECLARED, Kind.GROUP)}


def test_every_published_code_is_in_the_table() -> None:
    """And what no restriction can name is so on purpose."""
    assert {row["code"] for row in CODES} <= allergen_codes().keys()
    nameless = {code for code, known in allergen_codes().items() if not known.concerns}
    assert nameless == UNREAD | NONE_DECLARED | {"SALICYLATE"}


@pytest.mark.parametrize("row", CODES, ids=lambda row: row["code"])
def test_a_code_says_what_its_label_says_as_words(row: dict[str, str]) -> None:
    """Where the lexicon knows only a part of the label, what it knows of it is said too, or the group it is of."""
    if row["code"] not in UNREAD | NONE_DECLARED:
        assert agrees(row) == (row["code"] not in OTHERWISE)


def agrees(row: dict[str, str]) -> bool:
    by_code, by_words = declared(f"{row['code']} CONTAINS"), declared(contains=f"{row['label']}.")
    above = {group for code in by_code for group in Catalogue.load().ancestors(code)}
    nothing_more = by_words <= by_code | above
    nothing_less = by_code <= by_words or not by_words or by_words <= above
    return bool(by_code) and nothing_more and nothing_less


@pytest.mark.parametrize("row", published("us_major_allergens.csv"), ids=lambda row: row["allergen"])
def test_the_nine_of_us_law_have_their_codes(row: dict[str, str]) -> None:
    """Each of the nine (21 USC 321(qq)) is declared by its code."""
    assert row["code"] in declared(f"{NINE[row['allergen']]} CONTAINS")


@pytest.mark.parametrize("row", published("eu_annex_ii.csv"), ids=lambda row: row["name"])
def test_the_fourteen_of_eu_law_have_their_codes(row: dict[str, str]) -> None:
    """Each point of Annex II to Regulation (EU) No 1169/2011 is declared by its code, and nothing beside it is."""
    said = declared(f"{FOURTEEN[int(row['point'])]} CONTAINS")
    assert row["code"] in said
    assert not said & set(row["not_listed"].split(";"))


@pytest.mark.parametrize("code", sorted(allergen_codes()))
def test_what_a_code_names_is_in_the_catalogue(code: str) -> None:
    """A restriction can name all of it, and the row says where it is from."""
    known = allergen_codes()[code]
    assert all(substance in Catalogue.load() for substance in known.concerns)
    assert known.source
    assert known.verified in ("read", "memory")
    assert ANY not in known.concerns
