"""What the list and the page of proposed words share."""

from __future__ import annotations

from compliance.rules.values import Outcome
from compliance.web.labelwords import Pointer
from menus.labels.doubts import places_in
from menus.models import Label, Sense
from menus.models.word import Meant, WordQuerySet
from menus.services.labels import TEXTS
from menus.substances.catalogue import Catalogue

SENSES = {
    Sense.NONE: "an ordinary ingredient",
    Sense.NAMED: "a name of",
    Sense.DERIVED: "made from",
    Sense.MAY_DERIVE: "may be made from",
}


def meant(said: Meant) -> str:
    """Return in words what a proposal or a review says the word is."""
    names = ", ".join(Catalogue.load().get(code).name for code in said.codes)
    return f"{SENSES[Sense(said.sense)]} {names}".strip()


def whole(rows: WordQuerySet) -> WordQuerySet:
    """With all that the pages show of a word, in the same query."""
    return rows.select_related(
        "label__product", "proposed_by", "review__reviewed_by", "review__withdrawal__withdrawn_by"
    )


def pointers(label: Label, key: tuple[str, ...]) -> list[Pointer]:
    return [
        Pointer(part, start, end, Outcome.REFER)
        for part in TEXTS
        for start, end in places_in(key, getattr(label, part))
    ]
