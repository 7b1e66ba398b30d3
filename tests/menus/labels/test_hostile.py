"""Texts made to be slow are read to their end. How their time grows is told by `manage.py benchmark labels`."""

from __future__ import annotations

import random

import pytest

from menus.labels.label import LONGEST_LABEL, LabelText
from menus.labels.reader import read

PIECES = [
    "(", ")", "([{)]}", ",", "made in a ", "made, ", "made and ", "may contain ", "free from milk, ", "no milk or ",
    "vegan milk (", "emulsifier (322 ",
    "contains milk ", ". ", "a: ", "milk (", "a-\n", "a'", "1%", "oil (may contain (", "equipment that ", "is used in ",
]  # fmt: skip


@pytest.mark.parametrize("piece", PIECES)
def test_repetition_is_read_to_the_end(piece: str) -> None:
    """The longest label made of one piece over and over says at least what twenty of them say."""
    short = {found.substance for found in read(LabelText(piece * 20)).evidence}
    whole = {found.substance for found in read(LabelText(piece * (LONGEST_LABEL // len(piece)))).evidence}
    assert short <= whole


def test_words_nobody_knows_are_each_said() -> None:
    """The longest label of nothing but unknown words, each looked up for a slip of the pen."""
    letters = random.Random(7)
    words = " ".join("".join(letters.choice("abcdefghij") for _ in range(7)) for _ in range(LONGEST_LABEL // 8))
    assert len(read(LabelText(words)).unread) > 1000
