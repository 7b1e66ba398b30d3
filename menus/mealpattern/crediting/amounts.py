"""What a quantity of one food credits, by the ways of the table, with the sentence that shows it."""

from __future__ import annotations

from fractions import Fraction

from menus.mealpattern.crediting.amount import Amount
from menus.mealpattern.crediting.foods import Food
from menus.mealpattern.crediting.naming import Name
from menus.mealpattern.crediting.quantity import OUNCE_IN_GRAMS, Piece, parse
from menus.mealpattern.crediting.recipe import Ingredient
from menus.mealpattern.crediting.sizes import is_count, ounces_each
from menus.mealpattern.crediting.ways import Way, citation, ways
from menus.mealpattern.crediting.wording import shown
from menus.mealpattern.tokens import words_of

PREPARED = frozenset(
    {"peeled", "pared", "trimmed", "diced", "chopped", "sliced", "cubed", "cube", "minced", "shredded", "cored"}
    | {"pitted", "halved", "floret", "julienne", "grated", "quartered", "wedge", "stick", "seeded", "stemmed", "cut"}
    | {"slice", "section", "crushed", "stem", "coin", "chunk"}
)
"""Words that say a weight was taken after trimming."""

_WHOLE = frozenset({"each", "ea", "whole", "large", "medium", "small", "fresh", "piece"})


def smaller(food: Food, name: Name, ingredient: Ingredient) -> Amount | None:
    """Return what the weight or the measure credits, the smaller where both do; None where neither can be read.

    Recipes give both, and a heap of raw cubes takes more room than the same cubes cooked: a child gets what is served.
    """
    found = [
        amount
        for text in (ingredient.weight, ingredient.measure)
        if (amount := _by_text(food, name, text, ingredient.name))
    ]
    found = [amount for amount in found if not amount.turned] or found
    if len(found) < 2:
        return found[0] if found else None
    least = min(found, key=lambda amount: amount.credit)
    other = found[1] if least is found[0] else found[0]
    return Amount(least.credit, least.apart, f"{least.steps} (the other quantity: {other.steps}; the smaller counts)")


def _by_text(food: Food, name: Name, text: str, spelled: str) -> Amount | None:
    pieces = parse(text) if text.strip() else None
    if not pieces:
        return None
    amounts = [_by_piece(food, name, piece, spelled) for piece in _summed(pieces)]
    known = [amount for amount in amounts if amount is not None]
    if len(known) < len(amounts):
        return None
    return Amount(
        credit=sum((amount.credit for amount in known), Fraction()),
        apart=any(amount.apart for amount in known),
        steps=" + ".join(amount.steps for amount in known),
        turned=any(amount.turned for amount in known),
    )


def _summed(pieces: tuple[Piece, ...]) -> list[Piece]:
    """Pounds and ounces as one weight, quarts and cups as one volume."""
    sums: dict[str, Fraction] = {}
    for piece in pieces:
        sums[piece.unit] = sums.get(piece.unit, Fraction()) + piece.amount
    return [Piece(amount, unit) for unit, amount in sums.items()]


def _by_piece(food: Food, name: Name, piece: Piece, spelled: str) -> Amount | None:
    way = _way(food, name, piece.unit)
    if way:
        return _worked_out(food, name, piece, way)
    turned = _turned(food, piece, spelled)
    way = _way(food, name, turned.unit) if turned else None
    return _worked_out(food, name, turned, way, of=piece) if turned and way else None


def _turned(food: Food, piece: Piece, spelled: str) -> Piece | None:
    """The same amount by weight: pieces of a size the name gives, or cups of a weight the table gives."""
    if piece.unit == "cup" and food.cup_grams:
        return Piece(piece.amount * food.cup_grams / OUNCE_IN_GRAMS, "oz")
    if is_count(piece) and (ounces := ounces_each(spelled)):
        return Piece(piece.amount * ounces, "oz")
    return None


def _way(food: Food, name: Name, unit: str) -> Way | None:
    """The first way that fits; a row without an amount ("none") says that no later one does for that form."""
    fitting = (way for way in ways(food) if (way.unit == "none" or _measures(way, unit)) and way.fits(name.words))
    way = next(fitting, None)
    return way if way and way.unit != "none" else None


def _measures(way: Way, unit: str) -> bool:
    """Whole pieces go by "each", by the words for a size ("large"), or by the food's own name ("10 eggs")."""
    if way.unit != "each":
        return way.unit == unit
    return set(unit.split()) <= _WHOLE | set(words_of(way.food)) | {word for phrase in way.when for word in phrase}


def _worked_out(food: Food, name: Name, piece: Piece, way: Way, *, of: Piece | None = None) -> Amount:
    steps = _said(of or piece)
    if of:
        steps += f" = {_said(piece)}"
    amount = piece.amount
    if way.ready and name.words & PREPARED:
        amount /= way.ready
        steps += f", which was {shown(amount / 16)} lb as purchased ({shown(way.ready)} of it is left)"
    unit = food.component.unit if food.component else ""
    credit = amount * way.rate
    steps += f"; {way.said(name.words)} credits {shown(way.credits)} {unit}, so {shown(credit)} {unit} [{_proof(way)}]"
    return Amount(credit, way.apart, steps, turned=of is not None)


def _said(piece: Piece) -> str:
    if piece.unit == "oz":
        return f"{shown(piece.amount)} oz" if piece.amount < 16 else f"{shown(piece.amount / 16)} lb"
    if piece.unit == "cup":
        return f"{shown(piece.amount)} cup"
    if piece.unit.startswith("no "):
        return f"{shown(piece.amount)} {piece.unit.replace('no', 'No.')} cans"
    return f"{shown(piece.amount)} {piece.unit}"


def _proof(way: Way) -> str:
    return citation(way.source) + ("" if way.verified == "read" else ", from memory")
