"""Texts made to be slow: the reader takes time in proportion to their length and no more."""

from __future__ import annotations

import random
import time

import pytest

from menus.labels.label import LONGEST_LABEL, LabelText
from menus.labels.reader import read

SECONDS = 8.0
"""Generous: a quadratic reader needs minutes for some of these, a linear one about a second on a slow machine."""

PIECES = [
    "(", ")", "([{)]}", ",", "made in a ", "made, ", "made and ", "may contain ", "free from milk, ", "no milk or ",
    "vegan milk (", "emulsifier (322 ",
    "contains milk ", ". ", "a: ", "milk (", "a-\n", "a'", "1%", "oil (may contain (", "equipment that ", "is used in ",
]  # fmt: skip


@pytest.mark.parametrize("piece", PIECES)
def test_repetition_is_no_trap(piece: str) -> None:
    """The longest label made of one piece over and over is read in good time."""
    read(LabelText("milk"))
    begun = time.perf_counter()
    read(LabelText((piece * LONGEST_LABEL)[:LONGEST_LABEL]))
    assert time.perf_counter() - begun < SECONDS


def test_words_nobody_knows_are_no_trap() -> None:
    """The longest label of nothing but unknown words, each looked up for a slip of the pen."""
    letters = random.Random(7)
    words = " ".join("".join(letters.choice("abcdefghij") for _ in range(7)) for _ in range(LONGEST_LABEL // 8))
    begun = time.perf_counter()
    reading = read(LabelText(words))
    assert time.perf_counter() - begun < SECONDS
    assert len(reading.unread) > 1000
