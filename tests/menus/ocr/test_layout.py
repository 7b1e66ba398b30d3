"""In which order pieces of text on a page are read. Source for cutting at gutters: Nagy and Seth 1984 (from memory)."""

from __future__ import annotations

from math import cos, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from menus.ocr.layout import Corners, in_reading_order, lies_on_its_side


def piece(left: float, top: float, width: float, height: float = 20) -> Corners:
    """A level piece of text."""
    right, bottom = left + width, top + height
    return [(left, top), (right, top), (right, bottom), (left, bottom)]


def slanted(corners: Corners, degrees: float) -> Corners:
    """The same on a page that was held at a slant."""
    c, s = cos(radians(degrees)), sin(radians(degrees))
    return [(x * c - y * s, x * s + y * c) for x, y in corners]


PARAGRAPH = [piece(0, 30 * n, width) for n, width in enumerate([600, 580, 610, 90])]


def test_an_empty_page() -> None:
    """No pieces, no lines."""
    assert in_reading_order([]) == []


@pytest.mark.parametrize("degrees", [0, 5, -5, 20, -20])
def test_lines_follow_each_other_at_any_slant(degrees: float) -> None:
    """The short last line comes last, though at a slant its middle may lie higher than that of the one before."""
    page = [slanted(each, degrees) for each in PARAGRAPH]
    assert in_reading_order(page) == [[0], [1], [2], [3]]
    assert in_reading_order(page[::-1]) == [[3], [2], [1], [0]]


def test_parts_of_a_line_are_one_line() -> None:
    """From left to right, though they do not stand at quite one height."""
    assert in_reading_order([piece(300, 3, 100), piece(0, 0, 100), piece(0, 40, 250)]) == [[1, 0], [2]]


def test_columns_are_read_one_after_the_other() -> None:
    """English on the left, French on the right: a label is never mixed from both. The heading spans them."""
    heading, foot = piece(0, 0, 640), piece(0, 200, 640)
    left = [piece(0, 40 + 30 * n, 300) for n in range(4)]
    right = [piece(340, 44 + 30 * n, 300) for n in range(4)]
    page = [heading, *(each for pair in zip(left, right, strict=True) for each in pair), foot]
    assert in_reading_order(page) == [[0], [1], [3], [5], [7], [2], [4], [6], [8], [9]]


def test_headings_before_their_texts_are_no_column() -> None:
    """“Contains: milk”, “May contain: nuts”: each heading stays with what it heads."""
    page = [piece(0, 0, 110), piece(180, 0, 400), piece(0, 30, 120), piece(180, 30, 380), piece(0, 60, 90)]
    page.append(piece(180, 60, 420))
    assert in_reading_order(page) == [[0, 1], [2, 3], [4, 5]]


def test_two_lines_with_a_gap_at_one_place_are_no_columns() -> None:
    """Chance does that."""
    page = [piece(0, 0, 280), piece(330, 0, 280), piece(0, 30, 280), piece(330, 30, 280)]
    assert in_reading_order(page) == [[0, 1], [2, 3]]


@pytest.mark.parametrize(("turned", "side"), [(0, False), (90, True), (180, False), (-90, True), (10, False)])
def test_text_that_runs_up_or_down_the_page(turned: float, side: bool) -> None:
    """Boxes name their corners as they lie on the page, so text on its side is taller than wide."""
    upright = [slanted(each, turned) for each in PARAGRAPH]
    boxes = [upright_box(each) for each in upright] if side else upright
    assert lies_on_its_side(boxes) is side


def upright_box(corners: Corners) -> Corners:
    """The corners as a detector names them: from the top left."""
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return piece(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


boxes = st.builds(piece, st.integers(0, 900), st.integers(0, 900), st.integers(1, 500), st.integers(1, 60))


@given(st.lists(boxes, max_size=40))
def test_every_piece_is_read_once(page: list[Corners]) -> None:
    """However they lie, none is lost and none comes twice."""
    read = [index for line in in_reading_order(page) for index in line]
    assert sorted(read) == list(range(len(page)))
