"""Lines as they are joined, marked and stored."""

from __future__ import annotations

import json

from menus.ocr.lines import DOUBT, Line, Word, joined, lines_from_json, lines_json

LINES = (Line((Word("Contains:", 0.99), Word("rnilk.", DOUBT - 0.01))), Line((Word("Salt", DOUBT),)))


def test_joined() -> None:
    """A line each, single spaces."""
    assert joined(LINES) == "Contains: rnilk.\nSalt"


def test_doubt() -> None:
    """Below the bound, not at it; a line is as doubtful as its worst word."""
    assert [[word.is_doubtful for word in line.words] for line in LINES] == [[False, True], [False]]
    assert [line.is_doubtful for line in LINES] == [True, False]


def test_stored_and_loaded() -> None:
    """Nothing is lost on the way through JSON."""
    assert lines_from_json(json.loads(json.dumps(lines_json(LINES)))) == LINES
