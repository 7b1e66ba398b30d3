"""The order in which a person reads pieces of text that lie about on a page.

Pieces that stand side by side are columns when they run down the page together, and parts of one line otherwise. A page
photographed at a slant is read along its slant.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import atan2, cos, hypot, sin
from statistics import median

Point = tuple[float, float]
Corners = Sequence[Point]
"""The four corners of a piece of text: top left, top right, bottom right, bottom left, as its words run."""

TALL = 1.5
GUTTER = 1.5
"""How many line heights of empty space make a gutter between columns; words on a line stand about a third apart."""

COLUMN_LINES = 3
"""Fewer lines than this on one side are no column: “Contains:  milk” above “May contain:  nuts” is two lines."""

BALANCE = 0.5
"""A column is at least this part of its neighbour's width: narrower is a row of headings, read with what they head."""


@dataclass(frozen=True, slots=True)
class _Piece:
    """A piece on the page turned level: where it begins and ends along the lines, and down the page."""

    index: int
    left: float
    right: float
    top: float
    bottom: float

    @property
    def middle(self) -> float:
        return (self.top + self.bottom) / 2


@dataclass(frozen=True, slots=True, order=True)
class _Strip:
    """A part of the page's breadth that pieces fill, and how many they are."""

    left: float
    right: float
    pieces: int


def lies_on_its_side(pieces: Sequence[Corners]) -> bool:
    """Tell whether most of the text runs up or down the page."""
    tall = [_height(each) > TALL * _width(each) for each in pieces]
    return sum(tall) * 2 > len(tall)


def in_reading_order(pieces: Sequence[Corners]) -> list[list[int]]:
    """Return the lines of the page, each as the indices of its pieces from left to right."""
    if not pieces:
        return []
    level = _levelled(pieces)
    return _lines(sorted(level, key=lambda each: (each.top, each.left)), median(p.bottom - p.top for p in level))


def _levelled(pieces: Sequence[Corners]) -> list[_Piece]:
    slant = median(atan2(b[1] - a[1], b[0] - a[0]) for a, b, *_ in pieces)
    along, down = (cos(slant), sin(slant)), (-sin(slant), cos(slant))
    level = []
    for index, corners in enumerate(pieces):
        xs = [x * along[0] + y * along[1] for x, y in corners]
        ys = [x * down[0] + y * down[1] for x, y in corners]
        level.append(_Piece(index, min(xs), max(xs), min(ys), max(ys)))
    return level


def _lines(pieces: list[_Piece], height: float) -> list[list[int]]:
    """Read from the top; where columns begin, read each to its end before going on below them."""
    lines: list[list[int]] = []
    plain: list[_Piece] = []
    at = 0
    while at < len(pieces):
        end, columns = _columns_from(pieces, at, GUTTER * height)
        if columns:
            lines += _rows(plain)
            plain = []
            for column in columns:
                lines += _lines(column, height)
            at = end
        else:
            plain.append(pieces[at])
            at += 1
    return lines + _rows(plain)


def _columns_from(pieces: list[_Piece], at: int, gutter: float) -> tuple[int, list[list[_Piece]]]:
    """Return the longest run of pieces from there on that stands in columns, as its end and the columns."""
    end, found = at, []
    strips: list[_Strip] = []
    for stop, piece in enumerate(pieces[at:], at + 1):
        strips = _widened(strips, piece, gutter)
        if _are_columns(strips):
            end, found = stop, strips
        elif found and len(strips) == 1:
            break  # a piece that lies across the gutter ends the columns
    run = pieces[at:end]
    return end, [[p for p in run if strip.left <= p.left <= strip.right] for strip in sorted(found)]


def _widened(strips: list[_Strip], piece: _Piece, gutter: float) -> list[_Strip]:
    """Add a piece to the strips; those that it brings within a gutter of each other become one."""
    near = [each for each in strips if piece.left < each.right + gutter and each.left < piece.right + gutter]
    joined = _Strip(
        min([piece.left, *(each.left for each in near)]),
        max([piece.right, *(each.right for each in near)]),
        1 + sum(each.pieces for each in near),
    )
    return [each for each in strips if each not in near] + [joined]


def _are_columns(strips: list[_Strip]) -> bool:
    widths = [each.right - each.left for each in strips]
    return (
        len(strips) > 1 and all(each.pieces >= COLUMN_LINES for each in strips) and min(widths) >= BALANCE * max(widths)
    )


def _rows(pieces: Iterable[_Piece]) -> list[list[int]]:
    """Gather what stands at one height into lines."""
    rows: list[list[_Piece]] = []
    for piece in sorted(pieces, key=lambda each: each.middle):
        if rows and piece.middle < rows[-1][0].bottom and rows[-1][0].middle > piece.top:
            rows[-1].append(piece)
        else:
            rows.append([piece])
    return [[piece.index for piece in sorted(row, key=lambda each: each.left)] for row in rows]


def _width(corners: Corners) -> float:
    (ax, ay), (bx, by) = corners[0], corners[1]
    return hypot(bx - ax, by - ay)


def _height(corners: Corners) -> float:
    (bx, by), (cx, cy) = corners[1], corners[2]
    return hypot(cx - bx, cy - by)
