"""The day's counts for the kitchen as PDF: how many portions of which dish. No child is named on it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Protocol

from compliance.reports.typeset import as_of_line, paper_of, typeset
from menus.models import Site


class Counted(Protocol):
    """One dish with its portions; `away`: how many children are not given it."""

    @property
    def name(self) -> str: ...

    @property
    def portions(self) -> int: ...

    @property
    def note(self) -> str: ...

    @property
    def away(self) -> int: ...


@dataclass(frozen=True, slots=True)
class MealCounts:
    """What is printed: for each meal its name, what to prepare beside the menu, the menu, and how many lack a meal.

    `changes` says what is new since it was worked out; then the sheet says that it is out of date.
    """

    site: Site
    day: date
    as_of: datetime
    meals: Sequence[tuple[str, Sequence[Counted], Sequence[Counted], int]]
    textures: Sequence[Sequence[str]]  # for each meal, how many portions at which level of texture
    changes: Sequence[str]
    cautions: Sequence[str]


def mealcounts_pdf(sheet: MealCounts) -> bytes:
    """Return the sheet as a tagged PDF."""
    title = f"Meals for children with restrictions: {sheet.day:%A} {sheet.day.day} {sheet.day:%B %Y}"
    moment = f"{sheet.site}. {as_of_line(sheet.as_of, sheet.site.zone)}"
    return typeset(
        "mealcounts.typ",
        {
            "title": f"{title}, {sheet.site}",
            "heading": title,
            "paper": paper_of(sheet.site),
            "asof": moment,
            "stale": stale_line(sheet.changes),
            "meals": [
                {
                    "name": name,
                    "extra": _rows(extra),
                    "planned": _rows(planned),
                    "unmet": unmet_line(unmet),
                    "texture": texture_line(levels),
                }
                for (name, extra, planned, unmet), levels in zip(sheet.meals, sheet.textures, strict=True)
            ],
            "cautions": list(sheet.cautions),
            "foot": f"{title}. {moment} An information aid: it decides nothing.",
        },
    )


def stale_line(changes: Sequence[str]) -> str:
    """Return what a sheet says that was out of date when it was printed; nothing for one that was not."""
    return f"Out of date when printed: there is something new ({', '.join(changes)})." if changes else ""


def texture_line(levels: Sequence[str]) -> str:
    """Return how many portions are prepared at which level of texture."""
    return f"Texture: {'; '.join(levels)}. For whom, and of which dishes: see the page." if levels else ""


def unmet_line(children: int) -> str:
    """Return how many children have no whole meal."""
    if not children:
        return ""
    return f"No whole meal for {children} {'child' if children == 1 else 'children'}: see the page."


def _rows(dishes: Iterable[Counted]) -> list[dict[str, Any]]:
    return [
        {
            "portions": str(dish.portions),
            "name": dish.name,
            "note": dish.note or (f"not for {dish.away}" if dish.away else ""),
        }
        for dish in dishes
    ]
