"""A supplier's new data put into those on record. What the new ones pass over stays: silence takes nothing back."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from menus.labels.supplied.codes import allergen_codes
from menus.labels.supplied.levels import Says, levels
from menus.labels.supplied.rows import Row, Words, cut

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}\Z")
_GRAVITY = {Says.FREE: 0, None: 1, Says.MAY_CONTAIN: 2, Says.CONTAINS: 3}
_ASK = "Ask the supplier which is right."
_TAKEN_BACK = "If the supplier took it back, take it out on the page of the label."

Note = tuple[str, str]
"""What somebody should know, and what to do about it."""


@dataclass(frozen=True, slots=True)
class Merged:
    """The text to store, and what is worth knowing of how it came about."""

    text: str
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True)
class _Line:
    text: str
    subject: str  # AM and MILK are one
    gravity: int
    day: str = ""  # on which it was stated; empty: not given
    is_sentence: bool = False


def merged(recorded: str, stated: str) -> Merged:
    """Put what is stated in the place of what is recorded on the same allergen, unless that is of a later day."""
    old, new = _by_subject(recorded), _by_subject(stated)
    found, notes = dict(old), list[Note]()
    for subject, lines in new.items():
        before = old.get(subject, [])
        if _latest(before) > _latest(lines) > "":
            notes.append((f"Newer data are on record and stay: “{_told(before)}”.", ""))
        else:
            notes.extend(_differences(before, lines))
            found[subject] = lines
    passed_over = [line for subject, lines in old.items() if subject not in new for line in lines if line.gravity]
    if passed_over:
        notes.append((f"The file passes over what is on record, which stays: “{_told(passed_over)}”.", _TAKEN_BACK))
    in_order = sorted((line for lines in found.values() for line in lines), key=lambda line: line.is_sentence)
    return Merged("\n".join(line.text for line in in_order), tuple(notes))


def _differences(before: list[_Line], lines: list[_Line]) -> Iterator[Note]:
    if len({line.gravity for line in lines}) > 1:
        yield f"The file says two things of one allergen: “{_told(lines)}”. The graver counts.", _ASK
    if _gravest(before) > _gravest(lines):
        yield f"The file says less than what is on record: “{_told(lines)}” instead of “{_told(before)}”.", _ASK


def _by_subject(text: str) -> dict[str, list[_Line]]:
    rows, sentences = cut(text)
    found: dict[str, list[_Line]] = {}
    for line in dict.fromkeys([*map(_row_line, rows), *map(_sentence_line, sentences)]):
        found.setdefault(line.subject, []).append(line)
    return found


def _row_line(row: Row) -> _Line:
    code, level = allergen_codes().get(row.code), levels().get(row.level)
    subject = ";".join(code.concerns) or code.name if code else row.code
    day = _DAY.search(row.note)
    return _Line(row.line, subject, _GRAVITY[level.says if level else None], day.group() if day else "")


def _sentence_line(words: Words) -> _Line:
    text = words.text.strip()
    return _Line(text, text.partition(":")[0].casefold(), 0, is_sentence=True)


def _latest(lines: Iterable[_Line]) -> str:
    return max((line.day for line in lines), default="")


def _gravest(lines: Iterable[_Line]) -> int:
    return max((line.gravity for line in lines), default=0)


def _told(lines: Iterable[_Line]) -> str:
    return "; ".join(line.text for line in lines)
