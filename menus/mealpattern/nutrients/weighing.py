"""Grams of a recipe line: weights as they are, cups and pieces by what the panel says that one weighs."""

from __future__ import annotations

from fractions import Fraction

from menus.mealpattern.crediting.quantity import OUNCE_IN_GRAMS, Piece, parse
from menus.mealpattern.crediting.sizes import is_count
from menus.mealpattern.nutrients.panel import Panel

CUPS_IN_CAN = {"no 10": Fraction(12)}
"""Cups that a can holds by its name: a No. 10 can about 12 to 13, the smaller counts (FBG, memory)."""


def grams(text: str, panel: Panel | None) -> Fraction | None:
    """Return what a quantity as a recipe writes it weighs as eaten, or None where nobody has said."""
    pieces = parse(text) if text.strip() else None
    if not pieces:
        return None
    weights = [_grams(piece, panel) for piece in pieces]
    known = [weight for weight in weights if weight is not None]
    edible = panel.edible if panel else Fraction(1)
    return sum(known, Fraction(0)) * edible if len(known) == len(weights) else None


def _grams(piece: Piece, panel: Panel | None) -> Fraction | None:
    if piece.unit in {"oz", "oz can"}:  # a can by weight: of its drained part `edible` tells
        return piece.amount * OUNCE_IN_GRAMS
    if panel is None:
        return None
    cups = piece.amount * CUPS_IN_CAN.get(piece.unit, Fraction(1 if piece.unit == "cup" else 0))
    if cups:
        return None if panel.cup_g is None else cups * panel.cup_g
    return None if panel.piece_g is None or not is_count(piece) else piece.amount * panel.piece_g
