"""The cook's sheet as PDF: steps in order, equipment, cleanings, and boxes to sign. No child is named on it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from compliance.checks.ordersheet import SheetRow, Wash
from compliance.reports.typeset import as_of_line, paper_of, typeset
from menus.models import Meal, Site


@dataclass(frozen=True, slots=True)
class CookSheet:
    """What is printed. `proposed`: the order is not the kitchen's plan yet. `stays`: what carries over all the same.

    `lifted`: how many children may have a dish by an allowance alone. `textures`: which dishes are asked for at which
    level of texture, for how many children.
    """

    site: Site
    day: date
    meal: Meal
    as_of: datetime
    rows: Sequence[SheetRow]
    stays: Sequence[str]
    lifted: Sequence[str]
    textures: Sequence[str]
    cautions: Sequence[str]
    proposed: bool

    @property
    def file_name(self) -> str:
        """A name for the file."""
        return f"cooks-sheet-{self.site.code}-{self.day.isoformat()}-{self.meal.value}.pdf"


def cooksheet_pdf(sheet: CookSheet) -> bytes:
    """Return the sheet as a tagged PDF."""
    return typeset("cooksheet.typ", _data(sheet))


def _data(sheet: CookSheet) -> dict[str, Any]:
    title = f"Cook's sheet: {sheet.meal.label}, {sheet.day:%A} {sheet.day.day} {sheet.day:%B %Y}"
    as_of = sheet.as_of.astimezone(sheet.site.zone)
    return {
        "title": f"{title}, {sheet.site}",
        "heading": title,
        "paper": paper_of(sheet.site),
        "asof": f"{sheet.site}. {as_of_line(sheet.as_of, sheet.site.zone)}",
        "standing": _standing(sheet),
        "rows": [_row(row) for row in sheet.rows],
        "staysheading": "What carries over all the same: not for the children named on the page of the dish",
        "stays": list(sheet.stays),
        "liftedheading": "Allowance applied: as labelled now, for the children named on the page of the dish",
        "lifted": list(sheet.lifted),
        "texturesheading": "Texture: for the children named on the page of the dish",
        "textures": list(sheet.textures),
        "cautions": list(sheet.cautions),
        "foot": f"{title}, {sheet.site}. As of {as_of:%Y-%m-%d %H:%M}. An information aid: it decides nothing.",
    }


def _standing(sheet: CookSheet) -> str:
    if sheet.proposed:
        return "An order of work proposed. It is not the kitchen's plan until somebody takes it over."
    return "The order of work as planned. What is done otherwise is recorded as it was done."


def _row(row: SheetRow) -> dict[str, Any]:
    return {
        "at": f"{row.at:%H:%M}",
        "until": f"{row.until:%H:%M}",
        "deed": row.deed,
        "dish": row.dish,
        "equipment": row.names,
        "moved": row.moved_from,
        "before": _washes(row.before),
        "after": _washes(row.after),
    }


def _washes(washes: Iterable[Wash]) -> list[dict[str, Any]]:
    return [
        {"at": f"{wash.at:%H:%M}", "how": wash.how, "surface": str(wash.surface), "added": wash.added}
        for wash in washes
    ]
