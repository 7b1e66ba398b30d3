"""The lexicon: label phrases and what each names. The data files beside this module hold it, one meaning a row."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from menus.labels.text import fold
from menus.labels.tokens import tokenise


class Meaning(StrEnum):
    """How a phrase speaks of a substance."""

    NAMED = "named"  # the substance's own name
    DERIVED = "derived"  # made from it, and still carries it
    USUAL = "usual"  # a compound food usually made with it
    GROUP = "group"  # names the group, leaves the member open
    MAY_DERIVE = "may-derive"  # may be made from it; drops out where the law would make the label say so
    EXEMPT = "exempt"  # may be made from it, and the law here lets the label keep silent
    REFINED_OIL = "refined-oil"
    CLAIM = "claim"  # says the food is free of it: "vegan"
    NONE = "none"  # a food or additive that names no listed substance
    FILLER = "filler"  # grammar, process, function: names no ingredient


SILENT = frozenset({Meaning.CLAIM, Meaning.NONE, Meaning.FILLER})
"""Meanings that put no substance into the food."""
LOCAL = "local"
"""`verified` of a row that licensed staff accepted here; rows that ship with the service are `read` or `memory`."""
_GRAMMAR = frozenset({Meaning.CLAIM, Meaning.FILLER})
_PLAIN = frozenset({Meaning.NAMED, Meaning.GROUP})


@dataclass(frozen=True, slots=True)
class Entry:
    """One row of the lexicon: one phrase, one way of speaking, one source."""

    phrase: str
    substances: tuple[str, ...]
    meaning: Meaning
    jurisdictions: frozenset[str]
    effective_from: date | None
    effective_to: date | None
    source: str
    verified: str
    note: str

    def holds(self, jurisdiction: str, on: date | None) -> bool:
        """Whether the row speaks for a label of this place and day; an undated label is read under today's rows."""
        if self.jurisdictions and jurisdiction not in self.jurisdictions:
            return False
        if on is None:
            return self.effective_to is None
        return (self.effective_from is None or self.effective_from <= on) and (
            self.effective_to is None or on <= self.effective_to
        )


@dataclass(frozen=True, eq=False, slots=True)
class Term:
    """All rows of one phrase, with what they make of it worked out once: labels ask it at every word."""

    words: tuple[str, ...]
    entries: tuple[Entry, ...]
    is_filler: bool = field(init=False)  # names no ingredient at all
    is_silent: bool = field(init=False)  # names no substance
    is_claim: bool = field(init=False)  # says what the food is free of
    is_plain_name: bool = field(init=False)  # a substance's own name, as declarations and claims use it

    def __post_init__(self) -> None:
        meanings = {entry.meaning for entry in self.entries}
        object.__setattr__(self, "is_filler", meanings <= _GRAMMAR)
        object.__setattr__(self, "is_silent", meanings <= SILENT)
        object.__setattr__(self, "is_claim", Meaning.CLAIM in meanings)
        object.__setattr__(self, "is_plain_name", bool(meanings & _PLAIN))

    @property
    def phrase(self) -> str:
        return self.entries[0].phrase

    @property
    def is_accepted_silence(self) -> bool:
        """Whether licensed staff accepted it here as naming nothing: they signed for this spelling, not its slips."""
        return self.is_silent and self.entries[0].verified == LOCAL


@dataclass(frozen=True, eq=False)
class Lexicon:
    """Terms by their words."""

    terms: Mapping[tuple[str, ...], Term]

    @classmethod
    def build(cls, entries: Iterable[Entry]) -> Lexicon:
        """Join rows of one phrase; refuse a phrase that both names a substance and names none."""
        by_words: dict[tuple[str, ...], list[Entry]] = {}
        for entry in entries:
            by_words.setdefault(words_of(entry.phrase), []).append(entry)
        terms = {words: Term(words, tuple(rows)) for words, rows in by_words.items()}
        for term in terms.values():
            _refuse_contradiction(term)
        return cls(MappingProxyType(terms))

    @classmethod
    def load(cls) -> Lexicon:
        """The lexicon of the data files, read once."""
        return _load()

    def __iter__(self) -> Iterator[Term]:
        return iter(self.terms.values())

    def with_entries(self, entries: Iterable[Entry]) -> Lexicon:
        """This lexicon with rows of other phrases besides: what a phrase of its own means, no row can override.

        Where two of the rows contradict each other, the one that names a substance holds.
        """
        fresh = [entry for entry in entries if words_of(entry.phrase) not in self.terms]
        naming = {words_of(entry.phrase) for entry in fresh if entry.meaning not in SILENT}
        kept = [entry for entry in fresh if entry.meaning not in SILENT or words_of(entry.phrase) not in naming]
        return Lexicon(MappingProxyType({**self.terms, **Lexicon.build(kept).terms})) if kept else self


def words_of(phrase: str) -> tuple[str, ...]:
    """The spellings a phrase is looked up under: the same road a label takes."""
    return tuple(token.word for token in tokenise(fold(phrase)))


def _refuse_contradiction(term: Term) -> None:
    silent = {entry.meaning in SILENT for entry in term.entries if entry.meaning is not Meaning.CLAIM}
    if len(silent) > 1:
        raise ValueError(
            f"lexicon: {term.phrase!r} has a row that names a substance and a row that names none; drop one of them"
        )


def _read(name: str) -> Iterator[Entry]:
    with (files("menus.labels") / "data" / name).open(encoding="utf-8") as rows:
        for row in csv.DictReader(rows):
            yield Entry(
                phrase=row["phrase"],
                substances=tuple(code for code in row["substances"].split(";") if code),
                meaning=Meaning(row["class"]),
                jurisdictions=frozenset(place for place in row["jurisdictions"].split(";") if place),
                effective_from=_day(row["effective_from"]),
                effective_to=_day(row["effective_to"]),
                source=row["source"],
                verified=row["verified"],
                note=row["note"],
            )


def _day(cell: str) -> date | None:
    return date.fromisoformat(cell) if cell else None


def file_names() -> tuple[str, ...]:
    """The lexicon's files, in order."""
    folder = files("menus.labels") / "data"
    return tuple(sorted(entry.name for entry in folder.iterdir() if entry.name.endswith(".csv")))


@cache
def _load() -> Lexicon:
    return Lexicon.build(entry for name in file_names() for entry in _read(name))
