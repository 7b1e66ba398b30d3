"""An ingredient list cut into stretches that can be read one by one, wherever that gives what the whole would."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate
from typing import TypeGuard

from menus.labels.context import Context
from menus.labels.evidence import Part
from menus.labels.stretch import Stretch, kept_alone, read_stretch

_COMMA = ", "
_BRACKETS = "()[]{}"

Passage = tuple[int, Stretch]
"""A stretch and where in its part it begins."""


def passages(context: Context, part: Part, text: str) -> list[Passage]:
    """The part, read in as many stretches as stand alone; from the first that does not, to the end, in one."""
    if part is not Part.INGREDIENTS:
        return [(0, read_stretch(context, part, text))]
    text = text.rstrip()
    pieces = list(_pieces(text))
    lengths = map(len(_COMMA).__add__, map(len, pieces))
    starts = list(accumulate(lengths, initial=0))[:-1]
    known = list(map(kept_alone(context).get, pieces))
    if _all_there(known):  # the usual case: labels share their ingredients
        return list(zip(starts, known, strict=True))
    found: list[Passage] = []
    for start, piece, kept in zip(starts, pieces, known, strict=True):
        stretch = kept or read_stretch(context, part, piece)
        if not stretch.stands_alone:
            rest = _after_first_sentence(context, part, text, start, piece, stretch)
            if rest:
                return [*found, *rest]
            return [(0, stretch if piece == text else read_stretch(context, part, text))]
        found.append((start, stretch))
    return found


def _all_there(known: list[Stretch | None]) -> TypeGuard[list[Stretch]]:
    return all(known)


def _after_first_sentence(
    context: Context, part: Part, text: str, start: int, piece: str, stretch: Stretch
) -> list[Passage]:
    """ "salt. Contains: milk, soy" ends one sentence and begins another: the list, and the rest of the label."""
    stop = stretch.first_stop
    head = read_stretch(context, part, piece[:stop]) if 0 < stop < len(piece) else None
    if head is None or not head.stands_alone:
        return []
    rest = text[start + stop :].lstrip()
    return [(start, head), (len(text) - len(rest), read_stretch(context, part, rest))]


def _pieces(text: str) -> Iterator[str]:
    """The text between commas, brackets kept whole. Which kind of bracket it is does not matter, as on real labels."""
    brackets = [bracket for bracket in _BRACKETS if bracket in text]
    bare = text.split(_COMMA)
    return _whole(bare, brackets) if brackets else iter(bare)


def _whole(bare: list[str], brackets: list[str]) -> Iterator[str]:
    """The pieces, joined again where a comma stood inside brackets."""
    opening = [bracket for bracket in brackets if bracket in "([{"]
    closing = [bracket for bracket in brackets if bracket in ")]}"]
    held: list[str] = []
    depth = 0
    for piece in bare:
        for bracket in opening:
            depth += piece.count(bracket)
        for bracket in closing:
            depth -= piece.count(bracket)
        if depth > 0:
            held.append(piece)
            continue
        depth = 0
        if held:
            held.append(piece)
            piece = _COMMA.join(held)
            held = []
        yield piece
    if held:
        yield _COMMA.join(held)
