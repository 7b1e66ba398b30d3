"""The lexicon as it stood at one moment: the rows that ship, and the words that licensed staff had accepted by then."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from functools import lru_cache

from menus.labels.lexicon import Entry, Lexicon
from menus.models import WordReview


def lexicon_at(moment: datetime) -> Lexicon:
    """Return the lexicon by which every label is read at that moment. One query."""
    return lexicon_with(WordReview.objects.standing(moment))


def lexicon_with(accepted: Iterable[WordReview]) -> Lexicon:
    """Return the lexicon with these acceptances; the same ones give the same lexicon, so that readings can be kept."""
    return _merged(tuple(review.entry for review in accepted))


@lru_cache(maxsize=4)
def _merged(entries: tuple[Entry, ...]) -> Lexicon:
    return Lexicon.load().with_entries(entries)
