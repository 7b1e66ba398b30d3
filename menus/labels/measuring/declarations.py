"""Labels against the declaration their maker printed, which was taken out of the text."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from menus.labels.measuring.keywords import keyword_search
from menus.labels.measuring.proportion import Bar, Figure, Proportion
from menus.labels.measuring.rows import NINE, Row, codes, jurisdiction_of
from menus.labels.measuring.said import Said, said_of

_NINE = frozenset(NINE)
_NAMES = {
    "crustacean": "crustaceans",
    "tree-nut": "tree nuts",
    "peanut": "peanuts",
    "egg": "eggs",
}
_PRECAUTIONS = (
    "May contain {}.",
    "Manufactured on equipment that also processes {}.",
    "Made in a facility that also uses {}.",
)
"""Wordings of the table of precautionary phrases; a row's own wording is not in the file, only what it warned of."""


@dataclass(slots=True)
class Against:
    """One reader's counts."""

    missed: Proportion = field(default_factory=Proportion)
    precise: Proportion = field(default_factory=Proportion)
    exact: Proportion = field(default_factory=Proportion)
    missed_by: dict[str, Proportion] = field(default_factory=lambda: {code: Proportion() for code in NINE})

    def add(self, declared: frozenset[str], present: frozenset[str], found: frozenset[str]) -> None:
        for code in declared:
            self.missed_by[code].add(code not in found)
        self.missed.add(len(declared - found), len(declared))
        self.precise.add(len(present & declared), len(present))
        self.exact.add(present == declared)


@dataclass(slots=True)
class Declarations:
    """Missed, precision, exact set and needless doubt, beside a keyword search."""

    title = "labels against their own declarations"
    reader: Against = field(default_factory=Against)
    keywords: Against = field(default_factory=Against)
    all_read: Proportion = field(default_factory=Proportion)
    doubt: Proportion = field(default_factory=Proportion)
    oil_only: Proportion = field(default_factory=Proportion)
    doubt_by: dict[str, Proportion] = field(default_factory=lambda: {code: Proportion() for code in NINE})
    warned: Proportion = field(default_factory=Proportion)
    errors: list[Row] = field(default_factory=list)

    def add(self, row: Row) -> None:
        warned = codes(row["declared_may"])
        said = said_of(row["statement"], jurisdiction=jurisdiction_of(row))
        self._warn(row, warned)
        if row["declared_contains"] is None:
            return
        declared = codes(row["declared_contains"])
        unknown = codes(row["unknown"]) - declared
        present = (said.present & _NINE) - unknown
        self.reader.add(declared, present, said.found)
        searched = keyword_search(row["statement"])
        self.keywords.add(declared, searched - unknown, searched)
        self.all_read.add(not said.unread)
        doubted = self._doubt(_NINE - declared - unknown - warned, said)
        if declared - said.found or present != declared or doubted:
            self.errors.append(
                {
                    "id": row["id"],
                    "text": row["statement"],
                    "missed": sorted(declared - said.found),
                    "only_possible": sorted(declared & said.possible),
                    "not_declared": sorted(present - declared),
                    "doubted": sorted(doubted),
                }
            )

    def _doubt(self, silent: frozenset[str], said: Said) -> frozenset[str]:
        oil = {code for code in silent & said.possible if said.kinds[code] == ["refined-oil"]}
        doubted = (silent & said.possible) - oil
        self.oil_only.add(len(oil), len(silent))
        self.doubt.add(len(doubted), len(silent))
        for code in silent:
            self.doubt_by[code].add(code in doubted)
        return frozenset(doubted)

    def _warn(self, row: Row, warned: frozenset[str]) -> None:
        if not warned:
            return
        names = ", ".join(_NAMES.get(code, code) for code in sorted(warned))
        for wording in _PRECAUTIONS:
            found = said_of("sugar, salt.", precautionary=wording.format(names)).found
            self.warned.add(len(warned & found), len(warned))

    def figures(self) -> Iterator[Figure]:
        yield Figure("missed: neither present nor possible", self.reader.missed, Bar(0.007, at_most=True))
        yield Figure("  by keyword search", self.keywords.missed)
        yield Figure("precision of present", self.reader.precise, Bar(0.97))
        yield Figure("  by keyword search", self.keywords.precise)
        yield Figure("exact set", self.reader.exact, Bar(0.93))
        yield Figure("  by keyword search", self.keywords.exact)
        yield Figure("no unread word", self.all_read)
        yield Figure("needless doubt, refined oil apart", self.doubt, Bar(0.02, at_most=True))
        yield Figure("  refined oil as the only doubt", self.oil_only)
        yield Figure("precautions found, put back into words", self.warned, Bar(0.99))
        for code in NINE:
            yield Figure(f"missed {code}", self.reader.missed_by[code])
        for code in NINE:
            yield Figure(f"needless doubt {code}", self.doubt_by[code])

    def notes(self) -> Iterator[str]:
        yield from ()
