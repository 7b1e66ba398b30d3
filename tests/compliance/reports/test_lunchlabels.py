"""Labels for lunchboxes stay within their cells on every sheet, whatever children are called and have kept away."""

from __future__ import annotations

import json
from datetime import date, datetime
from importlib.resources import files
from io import BytesIO
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import typst
from PIL import Image, ImageChops

from compliance.reports.lunchlabels import LabelSheet, LunchLabel, label_sheets, labels_data, lunchlabels_pdf
from compliance.web.lunchbox_labels import label_words
from tests.factories import SiteFactory

PIXELS = 4
"""A millimetre on the pictures."""

NAMES = (
    "Al",
    "Maximiliana-Theodora Josefin",  # 28 characters
    "Bartholomaeustheodorakonstan",  # 28 in one word
    "W" * 80,  # as long as the record takes
    '#read("/etc/passwd") *bold* $x$ <l> @r',
)
FOODS = (
    [],
    ["peanut (traces too)"],
    ["peanut (traces too)", "Food of texture level 5 (soft and moist, with small soft lumps)"],
    [f"food number {number} (traces too)" for number in range(20)],
    ["k" * 70],
)


def labels() -> list[LunchLabel]:
    """Every name with every list of foods."""
    return [LunchLabel(name, date(2026, 11, 30), foods, "Keep cold.", True) for name in NAMES for foods in FOODS]


def data_of(sheet: LabelSheet) -> dict[str, Any]:
    moment = datetime(2026, 11, 29, 12, tzinfo=ZoneInfo("UTC"))
    return labels_data(sheet, labels(), site=SiteFactory.build(), as_of=moment, words=label_words(), language="en")


@pytest.mark.parametrize("sheet", label_sheets().values(), ids=label_sheets())
def test_nothing_is_cut_off_at_the_edge_of_a_cell(sheet: LabelSheet) -> None:
    """Cells clip what runs over: two millimetres at their right and one at their foot stay white."""
    template = Path(str(files("compliance.reports"))) / "lunchlabels.typ"
    inputs = {"sheet": json.dumps(data_of(sheet))}
    made = typst.compile(template, format="png", ppi=25.4 * PIXELS, ignore_system_fonts=True, sys_inputs=inputs)
    pages = [Image.open(BytesIO(page)).convert("L") for page in (made if isinstance(made, list) else [made])]
    assert len(pages) == -(-len(labels()) // (sheet.columns * sheet.rows))
    written = 0
    for page in pages:
        for column in range(sheet.columns):
            for row in range(sheet.rows):
                left = sheet.left + column * (sheet.width + sheet.gap_x)
                top = sheet.top + row * (sheet.height + sheet.gap_y)
                right, foot = left + sheet.width, top + sheet.height
                written += inked(page, left, top, right, foot)
                assert not inked(page, right - 2, top, right, foot), (column, row)
                assert not inked(page, left, foot - 1, right, foot), (column, row)
    assert written == len(labels())


def inked(page: Image.Image, left: float, top: float, right: float, foot: float) -> bool:
    """Tell whether anything is printed there."""
    part = page.crop((round(left * PIXELS), round(top * PIXELS), round(right * PIXELS), round(foot * PIXELS)))
    return ImageChops.invert(part).point(lambda shade: 255 if shade > 40 else 0).getbbox() is not None


def test_names_are_data_and_the_pdf_is_made() -> None:
    """Tagged, whatever a child is called."""
    sheet = label_sheets()["letter-2x5"]
    moment = datetime(2026, 11, 29, 12, tzinfo=ZoneInfo("UTC"))
    made = lunchlabels_pdf(sheet, labels(), site=SiteFactory.build(), as_of=moment, words=label_words(), language="en")
    assert made.startswith(b"%PDF") and b"pdfuaid" in made
