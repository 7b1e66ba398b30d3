"""Quantities as recipes write them, in exact fractions; what would have to be guessed is not read."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from menus.mealpattern.crediting.quantity import Piece, parse


def summed(text: str) -> dict[str, Fraction] | None:
    pieces = parse(text)
    if pieces is None:
        return None
    sums: dict[str, Fraction] = {}
    for piece in pieces:
        sums[piece.unit] = sums.get(piece.unit, Fraction()) + piece.amount
    return sums


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1 gal 2 2/3 qt (6 No. 10 cans)", {"cup": Fraction(80, 3)}),
        ("8 lb 2 oz", {"oz": 130}),
        ("8 pounds + 8 ounces", {"oz": 136}),
        ("1 pound(s) + 8 ounce(s)", {"oz": 24}),
        ("1 1/2 cups", {"cup": Fraction(3, 2)}),
        ("1-1/2 cups", {"cup": Fraction(3, 2)}),
        ("1½ cups", {"cup": Fraction(3, 2)}),
        ("½ cup", {"cup": Fraction(1, 2)}),
        ("2.5 qt", {"cup": 10}),
        ("3 qt 1 pt", {"cup": 14}),
        ("1/4 cup 1 1/3 Tbsp", {"cup": Fraction(1, 3)}),
        ("5 Tbsp", {"cup": Fraction(5, 16)}),
        ("8 fl oz", {"cup": 1}),
        ("50 each", {"each": 50}),
        ("100", {"each": 100}),
        ("10 eggs", {"egg": 10}),
        ("200 shells", {"shell": 200}),
        ("2 50-oz cans", {"oz can": 100}),
        ("1/2 50 ounce can(s)", {"oz can": 25}),
        ("1 (106 oz.) can", {"oz can": 106}),
        ("2 (16 oz) cartons", {"oz": 32}),
        ("2 5-lb bags", {"oz": 160}),
        ("4 No. 10 cans + 6 1/2 cups", {"no 10": 4, "cup": Fraction(13, 2)}),
        ("2/3 No. 10 can", {"no 10": Fraction(2, 3)}),
        ("1 #10 can", {"no 10": 1}),
        ("about 2 2/3 No. 10 cans", {"no 10": Fraction(8, 3)}),
        ("1,250 g", {"oz": 1250 / Fraction("28.35")}),
        ("1 lb, 8 oz", {"oz": 24}),
        ("100 slices, 0.5 ounce slices", {"oz": 50}),
        ("5 pounds + 8 ounces, as purchased", {"oz": 88}),
        ("1 quart, sliced", {"cup": 4}),
        ("4 lb 10 oz (ounce unit missing in print)", {"oz": 74}),
        ("0 cups", {"cup": 0}),
    ],
)
def test_read(text: str, expected: dict[str, Fraction]) -> None:
    """Added up by unit, exactly."""
    assert summed(text) == expected


@pytest.mark.parametrize(
    "text",
    [
        *("", "to taste", "as needed", "6-8 cups", "1 to 2 cups", "-2 cups", "1/0 cup", "some", "2 cups per pan"),
        *("1 lb bag", "2 cups or 1 lb", "5 lb each", "cups", "1 2 3", "9" * 5000, "1 cup " * 50, "3 x 2 lb", "("),
        *("1 cup; then more", "1, 2 cups"),
    ],
)
def test_not_guessed(text: str) -> None:
    """A range, a choice, a wish, nonsense: None, so that somebody is asked."""
    assert parse(text) is None


@given(st.text(max_size=200))
def test_any_text_is_answered(text: str) -> None:
    """Nothing that somebody types raises, and nothing read is negative."""
    pieces = parse(text)
    assert pieces is None or all(isinstance(piece, Piece) and piece.amount >= 0 for piece in pieces)
