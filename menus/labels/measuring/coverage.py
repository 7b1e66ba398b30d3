"""Whole statements of which nothing is known: how much of them is read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from menus.labels.measuring.proportion import Bar, Figure, Proportion
from menus.labels.measuring.rows import Row
from menus.labels.measuring.said import said_of

_COMMONEST = 50


@dataclass(slots=True)
class Coverage:
    """Labels without an unread word, and the words that are left."""

    title = "whole statements"
    all_read: Proportion = field(default_factory=Proportion)
    words: Counter[str] = field(default_factory=Counter)
    errors: list[Row] = field(default_factory=list)

    def add(self, row: Row) -> None:
        said = said_of(row["statement"])
        self.all_read.add(not said.unread)
        self.words.update({word.lower() for word in said.unread})
        if said.unread:
            self.errors.append({"id": row["id"], "text": row["statement"], "unread": list(said.unread)})

    def figures(self) -> Iterator[Figure]:
        yield Figure("no unread word", self.all_read, Bar(0.90))

    def notes(self) -> Iterator[str]:
        words = ", ".join(f"{word} {count}" for word, count in self.words.most_common(_COMMONEST))
        yield f"the {_COMMONEST} commonest unread words, by labels: {words or 'none'}"
