"""Words proposed for the lexicon, beside the labels on record."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from menus.labels.doubts import stands_in
from menus.labels.evidence import Span
from menus.labels.lexicon import words_of
from menus.models import Label, Word
from menus.services.labels import TEXTS


def newest_proposals(unread: Iterable[Span]) -> dict[str, Word]:
    """Return the newest proposal of each of these words by its key, if anybody made one. One query at most."""
    keys = {" ".join(words_of(span.words)) for span in unread}
    if not keys:
        return {}
    made = Word.objects.filter(key__in=keys).select_related("review__withdrawal", "proposed_by")
    return {word.key: word for word in made.order_by("recorded_at", "pk")}


def labels_holding(words: Iterable[Word], at: datetime) -> dict[str, int]:
    """Return on how many labels current at that moment each of the words stands, by key. One query.

    It goes through every label on record; the words of a text are kept once they have been told apart.
    """
    keys = {word.key for word in words}
    if not keys:
        return {}
    counts = dict.fromkeys(keys, 0)
    for texts in Label.objects.current(at).values_list(*TEXTS):
        for key in keys:
            counts[key] += any(stands_in(tuple(key.split()), text) for text in texts if text)
    return counts
