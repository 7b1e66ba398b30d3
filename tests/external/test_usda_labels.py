"""Real labels of the USDA branded-foods data (public domain) against their manufacturers' own declarations.

The declaration was taken out of each text; the reader must find it again from the ingredients. Some declarations are
wrong themselves, so the floors stand a little under one hundred per cent. "unknown" marks what a row cannot speak of:
sesame before 2023, wheat where only gluten was declared.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

from menus.labels.jsonl import answer
from menus.labels.label import LabelText

LABELS = Path(__file__).parent / "data" / "usda_labels.jsonl"
NINE = {"milk", "egg", "fish", "crustacean", "tree-nut", "wheat", "peanut", "soy", "sesame"}


@cache
def scored() -> list[dict[str, Any]]:
    rows = [json.loads(line) for line in LABELS.read_text(encoding="utf-8").splitlines()]
    return [row | {"says": answer(LabelText(row["statement"]))} for row in rows]


def test_what_is_declared_is_found() -> None:
    """At most one declared allergen in a hundred is neither present nor possible."""
    declared = missed = 0
    for row in scored():
        found = {*row["says"]["present"], *row["says"]["possible"]}
        declared += len(row["declared"])
        missed += len(set(row["declared"]) - found)
    assert declared > 200
    assert missed / declared <= 0.01


def test_what_is_present_was_declared() -> None:
    """At least 97 in a hundred allergens found present are declared."""
    right = wrong = 0
    for row in scored():
        present = NINE & set(row["says"]["present"]) - (set(row["unknown"]) - set(row["declared"]))
        right += len(present & set(row["declared"]))
        wrong += len(present - set(row["declared"]))
    assert right / (right + wrong) >= 0.97


def test_doubt_is_kept_low() -> None:
    """Of allergens a label neither declares nor warns of, at most two in a hundred are possible, refined oil apart."""
    pairs = doubts = 0
    for row in scored():
        silent = NINE - {*row["declared"], *row["may"], *row["unknown"]}
        pairs += len(silent)
        doubts += sum(
            code in row["says"]["possible"] and row["says"]["kinds"][code] != ["refined-oil"] for code in silent
        )
    assert doubts / pairs <= 0.02
