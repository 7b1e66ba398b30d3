"""Entries of the record of actions as people read them: what was said, with before and after side by side."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from roster.models import Action
from roster.record.verify import State, states

MOST_SHOWN = 400
"""Characters of one value that a page shows; an export has all of them."""


@dataclass(frozen=True, slots=True)
class Part:
    """One thing that an entry says: by itself, or as it was before and after."""

    name: str
    before: str
    after: str
    is_change: bool


@dataclass(frozen=True, slots=True)
class Line:
    """One entry with what it says and how it stands to its seal."""

    entry: Action
    parts: tuple[Part, ...]
    state: State

    @property
    def who(self) -> str:
        """The person's name, or that it was the service itself."""
        if self.entry.payload:
            return str(self.entry.actor) if self.entry.actor else "nobody signed in"
        return "no longer kept"

    @property
    def is_whole(self) -> bool:
        """Whether nothing about it needs a second look."""
        return self.state is not State.CHANGED


def lines_of(entries: Iterable[Action], *, longest: int | None = MOST_SHOWN) -> list[Line]:
    """Return the entries as lines. One query, for the seals."""
    rows = list(entries)
    return [Line(row, tuple(_parts(row, longest)), state) for row, state in zip(rows, states(rows), strict=True)]


def _parts(entry: Action, longest: int | None) -> Iterator[Part]:
    said = _said(entry)
    before, after = said.pop("before", None), said.pop("after", None)
    for name, value in said.items():
        yield Part(_worded(name), "", _text(value, longest), is_change=False)
    if isinstance(before, Mapping) or isinstance(after, Mapping):
        was, now = before or {}, after or {}
        for name in sorted(dict.fromkeys([*was, *now]), key=lambda each: was.get(each) == now.get(each)):
            old, new = was.get(name), now.get(name)
            changed = old != new and before is not None
            yield Part(_worded(name), _text(old, longest) if changed else "", _text(new, longest), is_change=changed)


def _said(entry: Action) -> dict[str, Any]:
    """What the entry says; nothing where it was emptied or its text is no longer what was written."""
    try:
        said = json.loads(entry.payload)["said"]
    except (ValueError, KeyError, TypeError):
        return {}
    return dict(said) if isinstance(said, dict) else {}


def _worded(name: str) -> str:
    return name.removesuffix("_id").replace("_", " ")


def _text(value: Any, longest: int | None) -> str:
    if value in (None, "", [], {}):
        return "nothing"
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return text if longest is None or len(text) <= longest else f"{text[:longest]}…"
