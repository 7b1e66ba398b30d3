"""Under what a label is read: the lexicon, the catalogue, and the law of its place, regulator and day."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from menus.labels.label import LabelText
from menus.labels.law import declared_by_duty, forced_names
from menus.labels.lexicon import Lexicon
from menus.labels.matcher import Matcher, matcher_of
from menus.substances.catalogue import Catalogue


@dataclass(frozen=True, eq=False, slots=True)
class Context:
    """Equal only to itself, so that what was read under it can be kept by it."""

    lexicon: Lexicon
    catalogue: Catalogue
    matcher: Matcher
    jurisdiction: str
    on: date | None
    forced: frozenset[str]  # what the law makes the label name in words
    duty: frozenset[str]  # what a declaration may not leave out


def context_of(label: LabelText, lexicon: Lexicon, catalogue: Catalogue) -> Context:
    """The context of this label; labels of one place, regulator and period of law share theirs."""
    on = _period(lexicon, catalogue, label.jurisdiction, label.seen_on) if label.seen_on else None
    return _context(lexicon, catalogue, label.jurisdiction, label.regulator, on)


@lru_cache(maxsize=256)
def _context(lexicon: Lexicon, catalogue: Catalogue, jurisdiction: str, regulator: str, on: date | None) -> Context:
    forced = forced_names(catalogue, jurisdiction, regulator, on)
    duty = declared_by_duty(catalogue, jurisdiction, regulator, on)
    return Context(lexicon, catalogue, matcher_of(lexicon), jurisdiction, on, forced, duty)


def _period(lexicon: Lexicon, catalogue: Catalogue, jurisdiction: str, day: date) -> date:
    """The first day of the period that holds this day: between two changes of law every day reads alike."""
    changes = _changes(lexicon, catalogue, jurisdiction)
    return changes[bisect_right(changes, day) - 1]


@lru_cache(maxsize=64)
def _changes(lexicon: Lexicon, catalogue: Catalogue, jurisdiction: str) -> tuple[date, ...]:
    """Every day on which a row of the lexicon or a line of the law begins or has ended, the first of all days too."""
    rows = (entry for term in lexicon for entry in term.entries)
    spans = [(row.effective_from, row.effective_to) for row in rows]
    spans += catalogue.periods(jurisdiction)
    begun = {day for day, _ in spans if day is not None}
    ended = {day + timedelta(days=1) for _, day in spans if day is not None and day < date.max}
    return tuple(sorted({date.min} | begun | ended))
