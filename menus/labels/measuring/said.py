"""What one reader said of one label, ready to be scored."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from menus.labels.jsonl import answer
from menus.labels.label import LabelText, LabelTooLong


@dataclass(frozen=True, slots=True)
class Said:
    """Codes by level, the kinds behind each, and the words not read."""

    present: frozenset[str]
    possible: frozenset[str]
    kinds: dict[str, list[str]]
    unread: tuple[str, ...]

    @property
    def found(self) -> frozenset[str]:
        return self.present | self.possible


def said_of(ingredients: str, *, precautionary: str = "", jurisdiction: str = "us") -> Said:
    """The reader's answer. A text too long to be a label counts as unread, and names nothing."""
    try:
        says: dict[str, Any] = answer(
            LabelText(ingredients, precautionary=precautionary, jurisdiction=jurisdiction),
        )
    except LabelTooLong:
        return Said(frozenset(), frozenset(), {}, (ingredients,))
    return Said(frozenset(says["present"]), frozenset(says["possible"]), says["kinds"], tuple(says["unread"]))
