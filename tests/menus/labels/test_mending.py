"""Words that are not in the lexicon as they stand: what they are plainly meant for, and when they stay a riddle."""

from __future__ import annotations

import random

import pytest

from menus.labels.evidence import ANY, Kind
from menus.labels.jsonl import answer
from menus.labels.label import LabelText
from menus.labels.lexicon import Lexicon, Meaning
from menus.labels.reader import Reading, read
from menus.labels.spelling import canonical
from menus.substances.catalogue import Catalogue

NINE = {"milk", "egg", "fish", "crustacean", "tree-nut", "wheat", "peanut", "soy", "sesame"}
LETTERS = "abcdefghijklmnopqrstuvwxyz"


def kinds(reading: Reading, code: str) -> set[Kind]:
    return {piece.kind for piece in reading.evidence if piece.substance == code}


@pytest.mark.parametrize(
    "text",
    [
        "riboflavn, thiamin mononitrte",
        "sea slat",
        "himalayan sait",
        "xanthan cum",
        "folic acod",
        "sodium pow der",
        "oleo resin",
        "palmand canola oil",
        "9sodium phosphate",
        "L. acidophilus CL1285",
    ],
)
def test_harmless_words_are_read_in_spite_of_a_slip(text: str) -> None:
    """Turned, dropped, torn, run together, marked: where only one harmless word can be meant, nobody is asked."""
    says = answer(LabelText(f"sugar, {text}, water"))
    assert not says["unread"]
    assert not NINE & {*says["present"], *says["possible"]}


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("seasame seeds", "sesame"),
        ("casienate", "milk"),
        ("m1lk powder", "milk"),
        ("sou lecithin", "soy"),
        ("sodium metabisulfate", "sulphite"),
        ("edamsame", "soy"),
    ],
)
def test_a_slip_of_a_substance_is_possible_at_most(text: str, code: str) -> None:
    """It is never present by a slip, and nobody else's question."""
    reading = read(LabelText(f"water, {text}, salt"))
    assert Kind.NEAR_MISS in kinds(reading, code)
    assert not kinds(reading, ANY)


@pytest.mark.parametrize("text", ["zorbly", "wh3y", "zander12x", "e1999", "peanu", "natural flavo"])
def test_riddles_stay_unread(text: str) -> None:
    """Nothing known is near enough, or the word may have been cut where the text ends."""
    assert read(LabelText(f"water, {text}")).unread


@pytest.mark.parametrize(
    ("text", "unread"),
    [
        ("Zorbly cookies (wheat flour, sugar)", []),
        ("Zorbly seasoning (salt, pepper)", []),
        ("Zorbly (water, salt)", ["Zorbly"]),
        ("Zorbly fillets (water, salt)", ["Zorbly"]),
        ("Zorbly cookies", ["Zorbly"]),
        ("Zorbly cookies (crispy)", ["Zorbly"]),
        ("Zorbly's chocolate chips", []),
        ("Zorbly's", ["Zorbly's"]),
        ("sucralose (Zorbly brand)", []),
    ],
)
def test_a_make_is_no_ingredient(text: str, unread: list[str]) -> None:
    """A strange word before a food whose brackets list what is in it, or that owns the food, hides nothing."""
    assert [span.words for span in read(LabelText(f"water, {text}, salt")).unread] == unread


def names_of_the_nine() -> dict[str, set[str]]:
    catalogue = Catalogue.load()
    names: dict[str, set[str]] = {}
    for term in Lexicon.load():
        codes = {
            group
            for entry in term.entries
            if entry.meaning in (Meaning.NAMED, Meaning.DERIVED)
            for code in entry.substances
            for group in ({code} | catalogue.ancestors(code)) & NINE
        }
        (word, *more) = term.words
        if codes and not more and word.isalpha() and len(word) >= 5:
            names[word] = codes
    return names


def slipped(word: str, chance: random.Random) -> str:
    place = chance.randrange(len(word) - 1)
    letter = chance.choice(LETTERS)
    return chance.choice(
        (
            word[:place] + word[place + 1 :],
            word[:place] + letter + word[place:],
            word[:place] + letter + word[place + 1 :],
            word[:place] + word[place + 1] + word[place] + word[place + 2 :],
        )
    )


def test_no_slip_hides_an_allergen() -> None:
    """One letter wrong in the name of any of the nine: it is still found, or the word is unread. Five slips a name."""
    terms = Lexicon.load().terms
    chance = random.Random(9)
    hidden = []
    for word, codes in names_of_the_nine().items():
        for _ in range(5):
            slip = slipped(word, chance)
            if len(slip) < 5 or slip.endswith("ie") or (canonical(slip),) in terms:
                continue  # another word, or one whose plural is spelled otherwise
            says = answer(LabelText(f"salt, {slip}, water"))
            if not says["unread"] and not codes & {*says["present"], *says["possible"]}:
                hidden.append((word, slip))
    assert not hidden
