"""Rows that cannot be read: what is wrong, and how to mend it."""

from __future__ import annotations

import pytest

from menus.labels.supplied.faults import faults


@pytest.mark.parametrize(
    ("row", "told", "is_grave"),
    [
        ("AS", "“AS” gives no level of containment", True),
        ("AS SOMETIMES", "SOMETIMES is no level", True),
        ("Contains milk", "MILK is no level", True),
        ("- AM CONTAINS", "does not begin with an allergen code", True),
        ("(milk)", "does not begin with an allergen code", True),
        ("SEASAME_SEEDS CONTAINS", "Is SESAME_SEEDS meant?", False),
        ("ZZZ CONTAINS", "counts as not understood", False),
    ],
)
def test_what_cannot_be_read_is_told(row: str, told: str, is_grave: bool) -> None:
    """A slip of the pen is to be mended; a code that GS1 may have added can be kept."""
    (fault,) = faults(f"AM CONTAINS\n{row}")
    assert told in str(fault)
    assert fault.mend
    assert fault.is_grave == is_grave


@pytest.mark.parametrize("text", ["", "AM CONTAINS\nMILK 50; X99\nAE free from", "Ingredients: zzyqqx, 50"])
def test_what_can_be_read_is_in_order(text: str) -> None:
    """Sentences are judged as words are, and not here."""
    assert list(faults(text)) == []
