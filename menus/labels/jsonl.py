"""Labels by the line: what `read_labels` does with each row of its input."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from menus.labels.evidence import ANY, LEVEL_OF_KIND, Kind, Level
from menus.labels.label import LabelText
from menus.labels.reader import Reading, read
from menus.labels.supplied.codes import bare_code
from menus.labels.supplied.levels import bare_level
from menus.labels.supplied.rows import line_of
from menus.substances.catalogue import Catalogue

_PARTS = ("ingredients", "contains", "precautionary")


class BadRow(ValueError):
    """A line of input that is not a label row."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One line of output and whether its input was a label row."""

    line: str
    is_good: bool


def read_lines(lines: Iterable[bytes], jurisdiction: str) -> Iterator[Answer]:
    """Answer every line in order; a bad line is answered with what is wrong with it."""
    for number, line in enumerate(lines, start=1):
        row_id: Any = None
        try:
            row = _parsed(line)
            row_id = row.get("id")
            row_answer = answer(_label(row, jurisdiction))
        except ValueError as error:
            yield Answer(_dumped({"id": row_id, "error": f"Line {number}: {error}"}), False)
        else:
            yield Answer(_dumped({"id": row_id, **row_answer}), True)


def answer(label: LabelText, catalogue: Catalogue | None = None) -> dict[str, Any]:
    """What the label says, as codes: present, possible beyond that, words not read, and the kinds behind each code."""
    catalogue = catalogue or Catalogue.load()
    reading = read(label, catalogue=catalogue)
    kinds: dict[str, set[Kind]] = {}
    for substance, found in reading.kinds().items():
        for code in _codes(substance, catalogue):
            kinds.setdefault(code, set()).update(found)
    levels = {code: max(LEVEL_OF_KIND[kind] for kind in found) for code, found in kinds.items()}
    return {
        "present": sorted(code for code, level in levels.items() if level is Level.PRESENT),
        "possible": sorted(code for code, level in levels.items() if level is Level.POSSIBLE),
        "unread": _unread(reading),
        "kinds": {code: sorted(kinds[code]) for code in sorted(kinds)},
    }


@lru_cache(maxsize=4096)
def _codes(substance: str, catalogue: Catalogue) -> tuple[str, ...]:
    """The substance and the allergen groups it belongs to: a cashew is a tree nut."""
    if substance == ANY:
        return (ANY,)
    groups = (code for code in catalogue.ancestors(substance) if catalogue.get(code).kind == "group")
    return (substance, *sorted(groups))


def _unread(reading: Reading) -> list[str]:
    return list(dict.fromkeys(span.words for span in reading.unread))


def _parsed(line: bytes) -> dict[str, Any]:
    try:
        row = json.loads(line.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise BadRow("this line is not UTF-8 text, so it cannot be read; save the file as UTF-8.") from None
    except (json.JSONDecodeError, RecursionError):
        raise BadRow("this line is not a JSON object, so it cannot be read; write one object a line.") from None
    if not isinstance(row, dict):
        raise BadRow('this line is JSON but not an object; write {"id": …, "ingredients": …}.')
    return row


def _label(row: dict[str, Any], jurisdiction: str) -> LabelText:
    if "id" not in row or "ingredients" not in row:
        missing = " and ".join(repr(name) for name in ("id", "ingredients") if name not in row)
        raise BadRow(f"{missing} is missing, so the row cannot be answered; add it.")
    ingredients, contains, precautionary = (_text(row, name) for name in _PARTS)
    return LabelText(ingredients, contains, precautionary, supplied=_supplied(row), jurisdiction=jurisdiction)


def _supplied(row: dict[str, Any]) -> str:
    """A supplier's allergen codes, as text or one by one."""
    told = row.get("supplied")
    if told is None or isinstance(told, str):
        return told or ""
    if not isinstance(told, list):
        raise BadRow(f"'supplied' must be text or a list, not {type(told).__name__}; give one entry for each allergen.")
    return "\n".join(_code_line(each, number) for number, each in enumerate(told, start=1))


def _code_line(each: Any, number: int) -> str:
    if not isinstance(each, dict) or not all(isinstance(each.get(name, ""), str) for name in ("code", "level")):
        raise BadRow(f'entry {number} of \'supplied\' is not {{"code": text, "level": text}}; write it so.')
    if not each.get("code", "").strip():
        raise BadRow(f"entry {number} of 'supplied' has no 'code', so nobody can tell which allergen it is; add it.")
    return line_of(bare_code(each["code"]), bare_level(each.get("level", "")))


def _text(row: dict[str, Any], name: str) -> str:
    text = row.get(name)
    if text is None:
        return ""
    if not isinstance(text, str):
        raise BadRow(f"{name!r} must be text, not {type(text).__name__}; put the words of the label there.")
    return text


def _dumped(row: dict[str, Any]) -> str:
    return json.dumps(row, ensure_ascii=False, allow_nan=False)
