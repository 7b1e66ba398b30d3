"""A longer phrase hides the shorter ones inside it. None may hide an allergen by accident."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from functools import cache
from importlib.resources import files

from menus.labels.lexicon import Lexicon, Meaning, Term, words_of
from menus.substances.catalogue import Catalogue

GUARDED = frozenset(
    {
        "milk",
        "egg",
        "fish",
        "crustacean",
        "tree-nut",
        "wheat",
        "peanut",
        "soy",
        "sesame",
        "mollusc",
        "mustard",
        "celery",
        "lupin",
        "barley",
        "rye",
        "pork",
        "beef",
        "gelatin",
    }
)
SAID = frozenset({Meaning.NAMED, Meaning.DERIVED, Meaning.GROUP, Meaning.USUAL, Meaning.REFINED_OIL})
BARE = (("nut",), ("seed",))
"""Words that name a group only where they stand alone: a pine nut and a grape seed say which they are."""

ON_PURPOSE = ("look_alikes.csv", "flours.csv")
"""Files whose phrases are there to hide a word: "coconut milk", "rice flour". Every row in them was looked at."""


@cache
def families(code: str) -> frozenset[str]:
    return GUARDED & (Catalogue.load().ancestors(code) | {code})


def said(term: Term, meanings: frozenset[Meaning]) -> frozenset[str]:
    codes = (code for entry in term.entries if entry.meaning in meanings for code in entry.substances)
    return frozenset[str]().union(*(families(code) for code in codes))


def inside(term: Term) -> Iterator[Term]:
    terms = Lexicon.load().terms
    for first in range(len(term.words)):
        for last in range(first + 1, len(term.words) + 1):
            found = terms.get(term.words[first:last])
            if found is not None and found is not term and found.words not in BARE:
                yield found


def on_purpose() -> frozenset[tuple[str, ...]]:
    folder = files("menus.labels") / "data"
    return frozenset(
        words_of(row["phrase"])
        for name in ON_PURPOSE
        for row in csv.DictReader((folder / name).read_text(encoding="utf-8").splitlines())
    )


def test_a_phrase_carries_what_its_words_carry() -> None:
    """ "Cheese cracker" must say milk as "cheese" does; only a look-alike on purpose may say less than its words."""
    allowed = on_purpose()
    hidden = {
        term.phrase: sorted(lost)
        for term in Lexicon.load()
        if term.words not in allowed and len(term.words) > 1
        for lost in [
            frozenset[str]().union(*(said(word, SAID) for word in inside(term))) - said(term, frozenset(Meaning))
        ]
        if lost
    }
    assert not hidden


def test_a_phrase_that_names_a_nut_names_it_for_good() -> None:
    """ "Nut" inside a longer phrase may go only where the phrase names the nut or is a look-alike."""
    allowed = on_purpose()
    hidden = [
        term.phrase
        for term in Lexicon.load()
        if "nut" in term.words and len(term.words) > 1 and term.is_silent and term.words not in allowed
    ]
    assert not hidden
