"""Label words in place."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from compliance.rules.values import Outcome
from compliance.web.labelwords import Piece, Pointer, cut, text_parts


def pointer(start: int, end: int, outcome: Outcome = Outcome.WITHHOLD) -> Pointer:
    return Pointer("ingredients", start, end, outcome)


def test_words_are_marked_where_they_stand() -> None:
    """What lies before and after stays as it is."""
    assert cut("sugar, whey, salt", [pointer(7, 11)]) == (
        Piece("sugar, "),
        Piece("whey", Outcome.WITHHOLD),
        Piece(", salt"),
    )


def test_where_pointers_overlap_the_gravest_outcome_shows() -> None:
    """Whatever the order they come in."""
    weak, grave = pointer(0, 9, Outcome.REFER), pointer(4, 9, Outcome.WITHHOLD)
    expected = (Piece("raw ", Outcome.REFER), Piece("whey!", Outcome.WITHHOLD))
    assert cut("raw whey!", [weak, grave]) == cut("raw whey!", [grave, weak]) == expected


def test_a_text_nobody_points_at_is_one_piece() -> None:
    """An empty one is none."""
    assert cut("rice", []) == (Piece("rice"),)
    assert cut("", []) == ()


def test_parts_come_in_the_order_of_a_package_and_empty_ones_are_left_out() -> None:
    """A pointer counts only in its own part."""
    parts = text_parts({"precautionary": "May contain milk", "ingredients": "rice milk", "claims": ""}, [pointer(0, 4)])
    assert [part.title for part in parts] == ["Ingredients", "May contain, made beside"]
    assert parts[0].pieces[0] == Piece("rice", Outcome.WITHHOLD)
    assert parts[1].pieces == (Piece("May contain milk"),)


spans = st.builds(pointer, st.integers(-3, 40), st.integers(-3, 40), st.sampled_from(Outcome))


@given(st.text(max_size=30), st.lists(spans, max_size=6))
def test_the_pieces_together_are_the_text(text: str, pointers: list[Pointer]) -> None:
    """Nothing of a label is lost or doubled by marking, wherever pointers point."""
    assert "".join(piece.text for piece in cut(text, pointers)) == text
