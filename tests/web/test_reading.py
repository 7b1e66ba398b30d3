"""What was read of a label, laid out for a person."""

from __future__ import annotations

from compliance.rules.values import Outcome
from compliance.web.reading import SAID, STRICT, changes, read_label
from menus.labels.evidence import LEVEL_OF_KIND, Kind, Level
from menus.labels.label import LabelText
from menus.labels.reader import read


def test_every_kind_of_evidence_has_words_and_a_mark() -> None:
    """A new kind must not show as its code, nor unmarked."""
    told = {kind for kind, level in LEVEL_OF_KIND.items() if level > Level.UNREAD}
    assert told <= SAID.keys()
    assert STRICT.keys() == set(Kind)


def test_words_are_marked_by_what_they_mean_for_the_strictest_child() -> None:
    """Present and possible are withheld, what is not understood is referred, the rest is left alone."""
    text = "water, milk, zorbalex. May contain sesame."
    laid = read_label(read(LabelText(text)), {"ingredients": text})
    marked = {piece.text: piece.outcome for part in laid.parts for piece in part.pieces if piece.outcome is not None}
    assert marked == {"milk": Outcome.WITHHOLD, "zorbalex": Outcome.REFER, "sesame": Outcome.WITHHOLD}
    assert "".join(piece.text for part in laid.parts for piece in part.pieces) == text


def test_a_label_without_ingredients_says_that_there_is_no_list() -> None:
    """A “contains” line alone is half a label."""
    assert read_label(read(LabelText("", contains="Milk")), {"contains": "Milk"}).no_list


def test_changes_name_what_came_what_went_and_what_grew_stronger() -> None:
    """And nothing that stayed."""
    before, after = read(LabelText("wheat flour, milk. May contain egg.")), read(LabelText("wheat flour, egg, salt"))
    told = {change.substance: (change.before, change.after) for change in changes(before, after)}
    assert told == {"milk": ("present", "not named"), "egg": ("possible", "present")}
    assert {change.substance for change in changes(before, after) if change.milder} == {"milk"}
    assert changes(before, before) == []
