"""Tray cards as PDF: one for each tray that is not the meal of all, or asks for a texture, with lines to cut along."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from compliance.reports.mealcounts import stale_line
from compliance.reports.typeset import as_of_line, paper_of, typeset
from menus.models import Site

ON_CARD = "Plan of a tray, not a check: look at the dish's own page and read the package again before it is handed out."
"""The caution that stays with a card when it is cut off."""


NOTHING = {False: "Nothing on record now: ask before you serve.", True: "No food on record now."}
"""Of a card without a food to keep away: unless it is there for a texture, something changed since."""


@dataclass(frozen=True, slots=True)
class TrayCard:
    """One tray: the child as the class calls it, what stands on the tray, and what was not on the menu of all."""

    name: str
    classroom: str
    meal: str
    keep_away: Sequence[str]
    dishes: Sequence[str]
    extra: Sequence[str]
    is_open: bool  # the tray is no whole meal
    texture: Sequence[str] = ()  # the levels set for the child, and which dishes do not state them


@dataclass(frozen=True, slots=True)
class TrayCards:
    """What is printed. `changes` says what is new since it was worked out; each card then says so too."""

    site: Site
    day: date
    as_of: datetime
    cards: Sequence[TrayCard]
    changes: Sequence[str]
    cautions: Sequence[str]


def traycards_pdf(sheet: TrayCards) -> bytes:
    """Return the cards as a tagged PDF."""
    day = f"{sheet.day:%A} {sheet.day.day} {sheet.day:%B %Y}"
    moment = as_of_line(sheet.as_of, sheet.site.zone)
    return typeset(
        "traycards.typ",
        {
            "title": f"Tray cards for {day}, {sheet.site}",
            "heading": f"Tray cards for {day}",
            "place": f"{sheet.site}. {moment} Cut along the lines; destroy the cards when the meal is over.",
            "paper": paper_of(sheet.site),
            "stale": stale_line(sheet.changes),
            "cards": [_card(card, f"{sheet.day:%a} {sheet.day.day} {sheet.day:%b}", moment) for card in sheet.cards],
            "caution": ON_CARD,
            "none": "No tray differs from the meal of all.",
            "cautions": list(sheet.cautions),
            "foot": f"{sheet.site}, {day}. {moment}",
        },
    )


def _card(card: TrayCard, day: str, moment: str) -> dict[str, Any]:
    return {
        "name": card.name,
        "place": f"{card.classroom} · {card.meal}, {day}",
        "away": "; ".join(card.keep_away) or NOTHING[bool(card.texture)],
        "texture": list(card.texture),
        "dishes": [{"name": dish, "extra": dish in card.extra} for dish in card.dishes],
        "open": "Not a whole meal: see the page." if card.is_open else "",
        "asof": moment,
    }
