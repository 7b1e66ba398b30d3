"""Words that change the voice."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from menus.labels.cues import _COMPILED
from tests.external.published import published

TEXTS = [row["template"].lower() for row in published("precautionary_phrases.csv")] + [
    row["text"].lower()
    for path in sorted((Path(__file__).parent / "cases").glob("*.csv"))
    for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())
]


@pytest.mark.parametrize("number", range(len(_COMPILED)))
def test_the_letters_looked_for_first_hide_no_cue(number: int) -> None:
    """Wherever the pattern matches, one of its letters is there: skipping the rest skips nothing."""
    _, stems, pattern, _ = _COMPILED[number]
    for text in TEXTS:
        for match in pattern.finditer(text):
            assert any(stem in match.group() for stem in stems), match.group()
