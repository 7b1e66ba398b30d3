"""Words of a label shown in place: its text cut where findings point."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from compliance.rules.values import Outcome
from menus.labels.evidence import Part
from menus.models import Label

TITLES = {
    Part.INGREDIENTS: "Ingredients",
    Part.CONTAINS: "Contains",
    Part.PRECAUTIONARY: "May contain, made beside",
    Part.CLAIMS: "Claims on the front",
    Part.SUPPLIED: "Supplier's allergen codes, on no package",
}


WHOLE = "What the package says"
"""The title of ingredients that nothing stands beside: as a rule somebody pasted the whole package there."""


@dataclass(frozen=True, slots=True)
class Pointer:
    """Where a finding points: characters start to end of one part, and how grave it is."""

    part: str
    start: int
    end: int
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of label text; `outcome` is the gravest that points at it, None when nothing does."""

    text: str
    outcome: Outcome | None = None


@dataclass(frozen=True, slots=True)
class LabelPart:
    """One part of a label, cut into pieces that together are its text, character for character."""

    title: str
    pieces: tuple[Piece, ...]


def label_parts(label: Label, pointers: Iterable[Pointer]) -> list[LabelPart]:
    """Return the parts of a stored label that hold text, with the words that findings point at marked."""
    return text_parts({part: getattr(label, part) for part in TITLES}, pointers)


def text_parts(texts: Mapping[str, str], pointers: Iterable[Pointer]) -> list[LabelPart]:
    """Return the parts that hold text, in the order of a package, for a label that need not be stored."""
    by_part: dict[str, list[Pointer]] = {}
    for pointer in pointers:
        by_part.setdefault(pointer.part, []).append(pointer)
    filled = {part: text for part in TITLES if (text := texts.get(part, ""))}
    titles = TITLES if filled.keys() - {Part.INGREDIENTS, Part.SUPPLIED} else {**TITLES, Part.INGREDIENTS: WHOLE}
    return [LabelPart(titles[part], cut(text, by_part.get(part, ()))) for part, text in filled.items()]


def cut(text: str, pointers: Iterable[Pointer]) -> tuple[Piece, ...]:
    """Cut the text at every pointer; where pointers overlap, the gravest outcome holds."""
    marks: list[Outcome | None] = [None] * len(text)
    for pointer in sorted(pointers, key=lambda each: each.outcome):
        for place in range(max(pointer.start, 0), min(pointer.end, len(text))):
            marks[place] = pointer.outcome
    return tuple(_joined(text, marks))


def _joined(text: str, marks: list[Outcome | None]) -> Iterator[Piece]:
    start = 0
    for place in range(1, len(text) + 1):
        if place == len(text) or marks[place] != marks[start]:
            yield Piece(text[start:place], marks[start])
            start = place
