"""An ingredient list cut into stretches that can be read one by one, wherever that gives what the whole would."""

from __future__ import annotations

from collections.abc import Iterator

from menus.labels.context import Context
from menus.labels.evidence import Part
from menus.labels.stretch import Stretch, read_stretch

_COMMA = ", "

Passage = tuple[int, Stretch]
"""A stretch and where in its part it begins."""


def passages(context: Context, part: Part, text: str) -> list[Passage]:
    """The part, read in as many stretches as stand alone; from the first that does not, to the end, in one."""
    if part is not Part.INGREDIENTS:
        return [(0, read_stretch(context, part, text))]
    found: list[Passage] = []
    for start, piece in _pieces(text.rstrip()):
        stretch = read_stretch(context, part, piece)
        if stretch.stands_alone:
            found.append((start, stretch))
            continue
        rest = _after_first_sentence(context, part, text, start, piece, stretch)
        return [*found, *rest] if rest else [(0, read_stretch(context, part, text))]
    return found


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


def _pieces(text: str) -> Iterator[tuple[int, str]]:
    """The text between commas, brackets kept whole. Which kind of bracket it is does not matter, as on real labels."""
    start = 0
    held: list[str] = []
    depth = 0
    for bare in text.split(_COMMA):
        if "(" in bare or ")" in bare or "[" in bare or "]" in bare or "{" in bare or "}" in bare:
            depth = max(0, depth + _opened(bare))
        if depth:
            held.append(bare)
            continue
        if held:
            bare = _COMMA.join((*held, bare))
            held = []
        yield start, bare
        start += len(bare) + len(_COMMA)
    if held:
        yield start, _COMMA.join(held)


def _opened(text: str) -> int:
    opened = text.count("(") + text.count("[") + text.count("{")
    return opened - text.count(")") - text.count("]") - text.count("}")
