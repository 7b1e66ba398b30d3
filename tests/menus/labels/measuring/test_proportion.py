"""Shares and their intervals, against published values."""

from __future__ import annotations

import pytest

from menus.labels.measuring.proportion import Bar, Figure, Proportion


@pytest.mark.parametrize(
    ("hits", "of", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_interval(hits: int, of: int, low: float, high: float) -> None:
    """The score intervals that Newcombe (Statistics in Medicine 17, 1998, Table I) prints; values from memory."""
    assert Proportion(hits, of).interval() == pytest.approx((low, high), abs=0.00006)


def test_nothing_counted_says_nothing() -> None:
    """0 of 0 is no success: the interval is everything, and no bar is met by it."""
    assert Proportion().interval() == (0.0, 1.0)
    assert "nothing to measure" in str(Figure("x", Proportion(), Bar(0.9)))


@pytest.mark.parametrize(
    ("bar", "hits", "met"),
    [
        (Bar(0.9), 90, True),
        (Bar(0.9), 89, False),
        (Bar(0.02, at_most=True), 2, True),
        (Bar(0.02, at_most=True), 3, False),
    ],
)
def test_a_bar_counts_its_own_limit_as_met(bar: Bar, hits: int, met: bool) -> None:
    """The word follows the share, on either side."""
    assert bar.verdict(Proportion(hits, 100)).endswith("NOT met") is not met
