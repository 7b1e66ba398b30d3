"""Labels for lunchboxes as PDF: first name, day, what to keep away. Sized for sheets of labels by their measures."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from importlib.resources import files
from typing import Any

from compliance.reports.typeset import typeset
from menus.models import Site


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A sheet of labels by its measures in millimetres. No maker and no number of one is meant."""

    code: str
    paper: str  # as typst names it
    columns: int
    rows: int
    width: float
    height: float
    left: float
    top: float
    gap_x: float
    gap_y: float

    @property
    def words(self) -> str:
        """What to look for on the package of the sheets."""
        paper = {"us-letter": "US Letter", "a4": "A4"}[self.paper]
        return f"{paper}, {self.columns} × {self.rows}: {self.width:g} × {self.height:g} mm"


@dataclass(frozen=True, slots=True)
class LunchLabel:
    """One label. The name is the child's first; where two share it, as the class tells them apart."""

    name: str
    day: date
    away: Sequence[str]
    keep: str  # "keep cold", …; empty where nothing has to be
    demo: bool = False


@cache
def label_sheets() -> dict[str, LabelSheet]:
    """Return the sheets by code, in the order of the file."""
    with (files("compliance.reports") / "data" / "label_sheets.csv").open(encoding="utf-8") as lines:
        return {row["code"]: _sheet(row) for row in csv.DictReader(lines)}


def usual_sheet(paper: str) -> LabelSheet:
    """Return the first sheet of that paper."""
    return next(each for each in label_sheets().values() if each.paper == paper)


def lunchlabels_pdf(
    sheet: LabelSheet,
    labels: Sequence[LunchLabel],
    *,
    site: Site,
    as_of: datetime,
    words: dict[str, str],
    language: str,
) -> bytes:
    """Return the labels as a tagged PDF; `words` are the few of them that are ours, in that language."""
    return typeset(
        "lunchlabels.typ", labels_data(sheet, labels, site=site, as_of=as_of, words=words, language=language)
    )


def labels_data(
    sheet: LabelSheet,
    labels: Sequence[LunchLabel],
    *,
    site: Site,
    as_of: datetime,
    words: dict[str, str],
    language: str,
) -> dict[str, Any]:
    """Return what the template sets: plain texts and numbers."""
    moment = as_of.astimezone(site.zone)
    return {
        "title": words["title"],
        "language": language,
        "words": words,
        "as_of": f"{moment:%Y-%m-%d %H:%M}",
        "sheet": {name: getattr(sheet, name) for name in LabelSheet.__dataclass_fields__},
        "labels": [
            {
                "name": each.name,
                "day": each.day.isoformat(),
                "away": list(each.away),
                "keep": each.keep,
                "demo": each.demo,
            }
            for each in labels
        ],
    }


def _sheet(row: dict[str, str]) -> LabelSheet:
    return LabelSheet(
        code=row["code"],
        paper=row["paper"],
        columns=int(row["columns"]),
        rows=int(row["rows"]),
        width=float(row["width_mm"]),
        height=float(row["height_mm"]),
        left=float(row["left_mm"]),
        top=float(row["top_mm"]),
        gap_x=float(row["gap_x_mm"]),
        gap_y=float(row["gap_y_mm"]),
    )
