"""Labels that named the source in brackets: with the brackets taken out, is it still found?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from menus.labels.measuring.proportion import Bar, Figure, Proportion
from menus.labels.measuring.rows import NINE, Row, codes
from menus.labels.measuring.said import said_of

_BARRED = ("milk", "wheat", "soy", "peanut")


def _counts() -> dict[str, Proportion]:
    return {code: Proportion() for code in NINE}


@dataclass(slots=True)
class Glosses:
    """Found by substance; phrases too vague to tell ("enzymes") are counted apart."""

    title = "labels that named the source in brackets, brackets taken out"
    clear: dict[str, Proportion] = field(default_factory=_counts)
    vague: dict[str, Proportion] = field(default_factory=_counts)
    all_read: Proportion = field(default_factory=Proportion)
    errors: list[Row] = field(default_factory=list)

    def add(self, row: Row) -> None:
        said = said_of(row["statement"])
        self.all_read.add(not said.unread)
        clear = frozenset[str]().union(
            *(codes(gloss["groups"]) for gloss in row["glosses"] if not gloss["vague_ingredient"])
        )
        for code in codes(row["positive"]):
            (self.clear if code in clear else self.vague)[code].add(code in said.found)
        missed = clear - said.found
        if missed:
            told = [gloss["ingredient"] for gloss in row["glosses"] if codes(gloss["groups"]) & missed]
            self.errors.append({"id": row["id"], "text": row["text"], "missed": sorted(missed), "ingredient": told})

    def figures(self) -> Iterator[Figure]:
        for code in NINE:
            yield Figure(f"found {code}", self.clear[code], Bar(0.99) if code in _BARRED else None)
        for code in NINE:
            yield Figure(f"found {code} where the phrase is vague", self.vague[code])
        yield Figure("no unread word", self.all_read)

    def notes(self) -> Iterator[str]:
        yield from ()
