"""The cook's sheet as PDF: steps in order, equipment, cleanings, and boxes to sign. No child is named on it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from importlib.resources import as_file, files
from typing import Any

import typst

from compliance.checks.ordersheet import SheetRow, Wash
from menus.models import Meal, Site
from menus.models.site import Jurisdiction

PAPER = {Jurisdiction.US: "us-letter", Jurisdiction.CANADA: "us-letter"}
"""The paper in use there; A4 elsewhere (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class CookSheet:
    """What is printed. `proposed`: the order is not the kitchen's plan yet. `stays`: what carries over all the same."""

    site: Site
    day: date
    meal: Meal
    as_of: datetime
    rows: Sequence[SheetRow]
    stays: Sequence[str]
    cautions: Sequence[str]
    proposed: bool

    @property
    def file_name(self) -> str:
        """A name for the file."""
        return f"cooks-sheet-{self.site.code}-{self.day.isoformat()}-{self.meal.value}.pdf"


def cooksheet_pdf(sheet: CookSheet) -> bytes:
    """Return the sheet as a tagged PDF. Names go in as data, so none of them is taken for markup."""
    with as_file(files("compliance.reports") / "cooksheet.typ") as template:
        return typst.compile(
            template,
            format="pdf",
            ignore_system_fonts=True,  # the fonts of the wheel, on every machine the same
            pdf_standards="ua-1",
            sys_inputs={"sheet": json.dumps(_data(sheet))},
        )


def _data(sheet: CookSheet) -> dict[str, Any]:
    title = f"Cook's sheet: {sheet.meal.label}, {sheet.day:%A} {sheet.day.day} {sheet.day:%B %Y}"
    as_of = sheet.as_of.astimezone(sheet.site.zone)
    return {
        "title": f"{title}, {sheet.site}",
        "heading": title,
        "paper": PAPER.get(Jurisdiction(sheet.site.jurisdiction), "a4"),
        "asof": f"{sheet.site}. As of {as_of:%Y-%m-%d %H:%M} {as_of.tzname()}.",
        "standing": _standing(sheet),
        "rows": [_row(row) for row in sheet.rows],
        "staysheading": "What carries over all the same: not for the children named on the page of the dish",
        "stays": list(sheet.stays),
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
