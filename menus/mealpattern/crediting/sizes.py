"""What a name itself says of one piece: its credit ("3/4 oz eq each") or its weight ("1 oz each")."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction

from menus.mealpattern.crediting.amount import Amount
from menus.mealpattern.crediting.components import Component
from menus.mealpattern.crediting.quantity import UNITS, Piece, number, parse
from menus.mealpattern.crediting.recipe import Ingredient
from menus.mealpattern.crediting.wording import shown

_NUMBER = r"(?<![\d/.])(\d+(?:\s+|-)\d+/\d+|\d+/\d+|\d*\.\d+|\d+)"
_OZ_EQ = r"\s*-?\s*oz\.?\s*(?:eq\b|equiv|m/ma\b|mma\b)"
_CREDIT = re.compile(_NUMBER + _OZ_EQ, re.IGNORECASE)
_WEIGHT = re.compile(rf"{_NUMBER}\s*-?\s*(oz|ounces?|grams?|g|lb)\b(?!\.?\s*(?:eq\b|equiv|m/ma|mma))", re.IGNORECASE)
_RATE = re.compile(rf"{_NUMBER}\s*oz\.?\s*(?:=|credits|equals|gives)\s*{_NUMBER}{_OZ_EQ}", re.IGNORECASE)
_OPEN = re.compile(r"\bat least\b|\babout\b|\bminimum\b|\bup to\b|\bto\s+\d|\d\s*-\s*\d", re.IGNORECASE)
_BY_NAME = "by its name, which a label must bear out"
_HOLDING_SEVERAL = frozenset(
    {"can", "bag", "box", "package", "pkg", "case", "packet", "bunch", "jar", "pan", "loaf", "carton", "tray"}
)


def credit_by_weight(name: str) -> Fraction | None:
    """Return the ounce equivalents in an ounce of it by its name ("2.5 oz = 2 oz eq"), or None."""
    said = _RATE.search(name)
    weight, credit = (number(said[1]), number(said[2])) if said else (None, None)
    return credit / weight if credit is not None and weight else None


def credit_each(name: str) -> Fraction | None:
    """Return the ounce equivalents that one piece has by its name, or None where it does not say, or says two."""
    said = {number(match[1]) for match in _CREDIT.finditer(name)}
    return said.pop() if len(said) == 1 else None


def ounces_each(name: str) -> Fraction | None:
    """Return the weight of one piece by its name, or None where it does not say, or says two."""
    if _OPEN.search(_bare(name)):
        return None
    said = {(number(match[1]), match[2].lower().rstrip("s")) for match in _WEIGHT.finditer(name)}
    if len(said) != 1:
        return None
    amount, unit = said.pop()
    return amount * UNITS[unit][1] if amount is not None else None


def _bare(name: str) -> str:
    """A mixed number with a hyphen ("1-1/2") is no range."""
    return re.sub(r"(\d)-(\d+/\d)", r"\1 \2", name)


def by_name(component: Component, ingredient: Ingredient) -> Amount | None:
    """Return the credit that the name itself gives: "(2 oz eq each)" or, by weight, "(2.5 oz = 2 oz eq)"."""
    if component.unit != "oz eq":
        return None
    each, weighed = credit_each(ingredient.name), credit_by_weight(ingredient.name)
    count = _total(ingredient.measure, is_count)
    ounces = _total(ingredient.weight or ingredient.measure, lambda piece: piece.unit == "oz")
    if weighed is not None and ounces is not None:
        return Amount(ounces * weighed, False, f"{shown(ounces)} oz × {shown(weighed)} oz eq per oz {_BY_NAME}")
    if each is not None and count is not None:
        return Amount(count * each, False, f"{shown(count)} × {shown(each)} oz eq each {_BY_NAME}")
    return None


def _total(text: str, wanted: Callable[[Piece], bool]) -> Fraction | None:
    pieces = parse(text)
    if not pieces or not all(wanted(piece) for piece in pieces):
        return None
    return sum((piece.amount for piece in pieces), Fraction())


def is_count(piece: Piece) -> bool:
    """Tell whether it is a count of pieces, whatever they are called; what holds several is none."""
    measured = piece.unit in {"oz", "cup", "oz can"} or piece.unit.startswith("no ")
    return not measured and not _HOLDING_SEVERAL & set(piece.unit.split())
