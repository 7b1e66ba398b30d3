"""A supplier's data as text: every way to write a row comes to the same."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from menus.labels.supplied.rows import cut, line_of, written_alike

WAYS = (
    "AM CONTAINS",
    "am contains",
    "AM=CONTAINS",
    "AM | CONTAINS",
    "  AM\tCONTAINS  ",
    "AM CONTAINS (Milk)",
    "gs1:AllergenTypeCode-AM gs1:LevelOfContainmentCode-CONTAINS",
    "gs1%3AAllergenTypeCode-AM CONTAINS",
    "https://ref.gs1.org/voc/AllergenTypeCode-AM <https://gs1.org/voc/LevelOfContainmentCode-CONTAINS>",
    "AllergenTypeCode-AM LevelOfContainmentCode-CONTAINS",
)


@pytest.mark.parametrize("way", WAYS)
def test_every_way_to_write_a_row_comes_to_the_same(way: str) -> None:
    """Case, prefix, percent-encoding, a whole address, the name behind it."""
    ((row,), words) = cut(way)
    assert (row.code, row.level, words) == ("AM", "CONTAINS", [])
    assert written_alike(way) == "AM CONTAINS (Milk)"


@pytest.mark.parametrize("level", ["MAY_CONTAIN", "may contain", "May-Contain", "MAY%5FCONTAIN"])
def test_a_level_may_be_typed_as_one_says_it(level: str) -> None:
    """With a space, a hyphen or an underscore."""
    assert cut(f"AP {level}")[0][0].level == "MAY_CONTAIN"


@pytest.mark.parametrize("between", ["\n", "\r\n", ", ", "; ", ";\n\n"])
def test_rows_stand_on_lines_or_between_commas_and_semicolons(between: str) -> None:
    """However they are separated, none is lost in the note of the one before."""
    assert [row.code for row in cut(between.join(["AM CONTAINS", "AP MAY_CONTAIN", "AE FREE_FROM"]))[0]] == [
        "AM",
        "AP",
        "AE",
    ]


def test_what_stands_after_the_level_is_kept_and_never_splits_a_row() -> None:
    """Whose rules, and of which day."""
    line = line_of("AN", "MAY_CONTAIN", "US FALCPA, FASTER; 2026-09-30")
    assert line == "AN MAY_CONTAIN (Tree nuts) US FALCPA FASTER 2026-09-30"
    (row,) = cut(line)[0]
    assert row.span.words == "AN MAY_CONTAIN (Tree nuts)"
    assert row.line == line


@pytest.mark.parametrize("row", ["ZZZ CONTAINS x", "AM perhaps", "Contains milk", "(a) b", "x:y/ CONTAINS"])
def test_a_row_that_is_not_understood_stays_as_it_was_written(row: str) -> None:
    """Whoever asks the supplier needs it."""
    assert written_alike(f"{row}, am contains") == f"{row}\nAM CONTAINS (Milk)"


def test_a_row_without_level_is_a_row() -> None:
    """Nobody knows what it says, so it must not get lost."""
    (row,) = cut("AS (Sesame Seeds) EU 1169/2011")[0]
    assert (row.code, row.level, row.note) == ("AS", "", "EU 1169/2011")


def test_sentences_are_told_from_rows_by_how_they_begin() -> None:
    """Commas and all."""
    text = "AM CONTAINS\nIngredients: oats, milk; salt\n allergen statement: May contain nuts, sesame"
    rows, words = cut(text)
    assert [row.code for row in rows] == ["AM"]
    assert [each.text.strip() for each in words] == [
        "Ingredients: oats, milk; salt",
        "allergen statement: May contain nuts, sesame",
    ]
    assert all(text[each.start :].startswith(each.text) for each in words)


@given(st.text(max_size=300) | st.text(st.sampled_from("AMPX9 =|(),;:\n_-%contisfreU"), max_size=200))
@example("(a) = ( ,;| =\n(")
def test_no_text_is_lost_and_none_raises(text: str) -> None:
    """Every letter and digit stands in a row, in its note, or in a sentence; and written alike it stays as it is."""
    rows, words = cut(text)
    for row in rows:
        assert text[row.span.start : row.span.end] == row.span.words
    told = "".join([*(row.span.words + row.note for row in rows), *(each.text for each in words)])
    assert sorted(filter(str.isalnum, told)) == sorted(filter(str.isalnum, text))
    assert written_alike(written_alike(text)) == written_alike(text)
