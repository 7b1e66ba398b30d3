"""Amounts as recipes write them ("1 gal 2 2/3 qt (6 No. 10 cans)"), in exact fractions."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

from menus.mealpattern.tokens import singular

OUNCE_IN_GRAMS = Fraction("28.35")

_MASS = {"oz": 1, "ounce": 1, "lb": 16, "pound": 16, "#": 16}
_METRIC = {"g": 1, "gm": 1, "gram": 1, "kg": 1000, "kilogram": 1000}
_VOLUME = {"cup": 48, "c": 48, "tbsp": 3, "tablespoon": 3, "tsp": 1, "teaspoon": 1, "fl oz": 6, "fluid ounce": 6}
_VOLUME |= {"pt": 96, "pint": 96, "qt": 192, "quart": 192, "gal": 768, "gallon": 768}
_LITRE = {"l": 1000, "liter": 1000, "litre": 1000, "ml": 1, "milliliter": 1, "millilitre": 1}
_PINCH = {"dash": Fraction(1, 768), "pinch": Fraction(1, 768)}  # a sixteenth of a teaspoon, common practice

UNITS: dict[str, tuple[str, Fraction]] = {
    **{name: ("oz", Fraction(size)) for name, size in _MASS.items()},
    **{name: ("oz", size / OUNCE_IN_GRAMS) for name, size in _METRIC.items()},
    **{name: ("cup", Fraction(teaspoons, 48)) for name, teaspoons in _VOLUME.items()},
    **{name: ("cup", size / Fraction("236.6")) for name, size in _LITRE.items()},
    **{name: ("cup", size) for name, size in _PINCH.items()},
}
"""Each unit as so much of an ounce by weight or of a cup."""

_NUMBER = r"\d+(?:\s+|-)\d+/\d+|\d+/\d+|\d*\.\d+|\d+"
_PIECE = re.compile(
    rf"(?P<amount>{_NUMBER})\s*"
    rf"(?:(?:no\.?|#)\s*(?P<can>\d+(?:\s*1/2)?)\s*cans?"
    rf"|(?P<size>{_NUMBER})?(?:[\s-]*(?P<words>[a-z#][a-z#.\s-]*))?)",
)
_BETWEEN = re.compile(r"[\s,;&+]*(?:and\b|plus\b)?\s*")
_AROUND = re.compile(r"\b(?:about|approximately|approx\.?|each of)\s|~")
_CONTAINERS = frozenset({"can", "bag", "box", "package", "pkg", "jar", "carton", "pouch", "bottle", "case", "tub"})
_DOUBT = frozenset({"or", "to", "per", "each", "serving", "taste", "needed", "x"})
_SIZE_ASIDE = re.compile(rf"\(({_NUMBER}[\s-]*(?:oz|ounces?|lb)\.?)\)\s*(?=(?:{'|'.join(sorted(_CONTAINERS))})s?\b)")
_LONGEST = 120


@dataclass(frozen=True, slots=True)
class Piece:
    """So much of one unit: `oz` (by weight), `cup`, `no 10` (a can of that size), `each`, or a noun as written."""

    amount: Fraction
    unit: str


def parse(text: str) -> tuple[Piece, ...] | None:
    """Return the pieces to be added up, or None where the text cannot be read without guessing."""
    plain = _SIZE_ASIDE.sub(r" \1 ", _plain(text))
    outside = re.sub(r"\([^()]*\)", " ", plain).strip() or plain.strip("() ")
    pieces = _pieces(re.sub(r",\s*(?:as purchased|edible portion|[a-z]+ed)$", "", outside))
    return _times_size(pieces) if pieces and "," in outside else pieces


def number(text: str) -> Fraction | None:
    """Return "1 1/2", "1-1/2", "3/4", "2.5" or "7" as a fraction; None for anything else."""
    parts = re.split(r"\s+|-", text.strip())
    try:
        return sum((Fraction(part) for part in parts), Fraction())
    except (ValueError, ZeroDivisionError):
        return None


def spelled_out(text: str) -> str:
    """Return a text in lower case with "½" as "1/2"."""
    spaced = re.sub(r"(?<=\d)(?=[¼½¾⅐-⅞])", " ", text)
    return unicodedata.normalize("NFKC", spaced).replace("⁄", "/").lower()


def _plain(text: str) -> str:
    plain = spelled_out(text[: _LONGEST + 1])
    return _AROUND.sub(" ", re.sub(r"(?<=\d),(?=\d{3}\b)", "", plain.replace("(s)", "s")))


def _pieces(text: str) -> tuple[Piece, ...] | None:
    if not text or len(text) > _LONGEST:
        return None
    pieces: list[Piece] = []
    place = 0
    while place < len(text):
        match = _PIECE.match(text, place)
        piece = _piece(match) if match else None
        if match is None or piece is None:
            return None
        pieces.append(piece)
        between = _BETWEEN.match(text, match.end())
        place = between.end() if between else match.end()
    bare = len(pieces) > 1 and any(piece.unit == "each" for piece in pieces)
    return None if bare else tuple(pieces)


def _times_size(pieces: tuple[Piece, ...]) -> tuple[Piece, ...]:
    """Read "100 slices, 1/2 ounce slices" as so many times a weight; leave "1 lb, 8 oz" as a sum."""
    if (
        len(pieces) != 2
        or pieces[0].unit in {"oz", "cup"}
        or pieces[0].unit.startswith("no ")
        or pieces[1].unit != "oz"
    ):
        return pieces
    return (Piece(pieces[0].amount * pieces[1].amount, "oz"),)


def _piece(match: re.Match[str]) -> Piece | None:
    amount = number(match["amount"])
    if amount is None:
        return None
    if match["can"]:
        return Piece(amount, "no " + re.sub(r"\s+", " ", match["can"]))
    words = [singular(word.strip(".")) for word in re.split(r"[\s-]+", match["words"] or "") if word.strip(".")]
    while words and words[-1] in {"and", "plus"}:
        words.pop()
    return _sized(amount, match["size"], words) if match["size"] else _of(amount, words)


def _sized(amount: Fraction, size_text: str, words: list[str]) -> Piece | None:
    """Return what so many containers of one size hold ("2 50-oz cans")."""
    size = number(size_text)
    if size is None or len(words) < 2 or words[-1] not in _CONTAINERS or words[0] not in UNITS:
        return None
    base, factor = UNITS[words[0]]
    unit = "oz can" if base == "oz" and words[-1] == "can" else base
    return Piece(amount * size * factor, unit)


def _of(amount: Fraction, words: list[str]) -> Piece | None:
    for length in (2, 1):
        name = " ".join(words[:length])
        if name in UNITS:
            if set(words[length:]) & (_DOUBT | _CONTAINERS):
                return None
            base, factor = UNITS[name]
            return Piece(amount * factor, base)
    if not words or words == ["each"]:
        return Piece(amount, "each")
    return None if set(words) & _DOUBT else Piece(amount, " ".join(words))
