"""How an amount stands to its figures, when all of it is known and when only a part is."""

from __future__ import annotations

from fractions import Fraction

import pytest

from menus.mealpattern.patterns.amount import Amount, Stands, stands

MET, SHORT, OVER, UNKNOWN = Stands.MET, Stands.SHORT, Stands.OVER, Stands.UNKNOWN


@pytest.mark.parametrize(
    ("low", "high", "least", "most", "strict", "outcome"),
    [
        (10, 10, None, 10, False, MET),
        (10, 10, None, 10, True, OVER),  # less than 10 %: 10.0 is too much
        (9, 10, None, 10, True, UNKNOWN),  # it may be 10
        (9, 10, None, 10, False, MET),
        (9, 11, None, 10, False, UNKNOWN),
        (9, None, None, 10, False, UNKNOWN),
        (11, None, None, 10, False, OVER),  # what is stated is too much already
        (5, 5, 5, None, False, MET),
        (4, 4, 5, None, False, SHORT),
        (4, None, 5, None, False, UNKNOWN),
        (4, 5, 5, None, False, UNKNOWN),
        (5, None, 5, None, False, MET),  # more changes nothing
        (5, None, 5, 10, False, UNKNOWN),  # more may be too much
        (4, 4, 5, 10, False, SHORT),
        (11, 11, 5, 10, False, OVER),
    ],
)
def test_stands(low: int, high: int | None, least: int | None, most: int | None, strict: bool, outcome: Stands) -> None:
    """What is sure is said; what is not is unknown."""
    figures = [None if figure is None else Fraction(figure) for figure in (high, least, most)]
    assert stands(Amount(Fraction(low), figures[0]), least=figures[1], most=figures[2], strict=strict) is outcome
