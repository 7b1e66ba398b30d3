"""The cook's sheet: what stands in its columns, and that nothing on it is taken for markup."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from compliance.checks.ordersheet import SheetRow, Wash, in_order
from compliance.reports.cooksheet import CookSheet, _data, cooksheet_pdf
from menus.models import Action, Meal, Surface
from menus.models.site import Jurisdiction
from tests.factories import SiteFactory

AT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
BOARD = Surface(pk=1, name="Board")


def row(dish: str, minute: int, **more: Any) -> SheetRow:
    """A step on the board."""
    at = AT + timedelta(minutes=minute)
    return SheetRow(at, at + timedelta(minutes=10), Action.USE, dish, [BOARD], **more)


def wash(minute: int, **more: Any) -> Wash:
    """A wash of the board."""
    return Wash(AT + timedelta(minutes=minute), BOARD, "wash_rinse_sanitize", 10, **more)


def sheet(*rows: SheetRow, **more: Any) -> CookSheet:
    """A sheet of these rows."""
    made = CookSheet(
        site=SiteFactory.build(code="ferrowick", name="Ferrowick", time_zone="UTC"),
        day=date(2026, 3, 2),
        meal=Meal.LUNCH,
        as_of=AT,
        rows=rows,
        stays=(),
        lifted=(),
        textures=(),
        cautions=("Read the package again.",),
        proposed=False,
    )
    return replace(made, **more)


def test_each_row_says_time_step_equipment_and_cleanings() -> None:
    """What is moved and what is added is told."""
    data = _data(sheet(row("Rice", 20, before=[wash(10, added=True)], moved_from="09:30, Board")))
    assert data["rows"] == [
        {
            "at": "09:20",
            "until": "09:30",
            "deed": "",
            "dish": "Rice",
            "equipment": "Board",
            "moved": "09:30, Board",
            "before": [
                {
                    "at": "09:10",
                    "how": "Detergent wash, clean rinse, sanitize, air dry",
                    "surface": "Board",
                    "added": True,
                }
            ],
            "after": [],
        }
    ]


def test_it_says_as_of_when_and_whether_it_is_the_plan() -> None:
    """A proposal is not the plan."""
    assert "2026-03-02 09:00 UTC" in _data(sheet())["asof"]
    assert "as planned" in _data(sheet())["standing"]
    assert "not the kitchen's plan" in _data(sheet(proposed=True))["standing"]


@pytest.mark.parametrize(("law", "paper"), [(Jurisdiction.US, "us-letter"), (Jurisdiction.UK, "a4")])
def test_it_comes_on_the_paper_of_the_place(law: Jurisdiction, paper: str) -> None:
    """Letter in the United States, A4 in the United Kingdom."""
    site = SiteFactory.build(jurisdiction=law, time_zone="UTC")
    assert _data(sheet(site=site))["paper"] == paper


def test_names_are_data_and_never_markup() -> None:
    """A dish may be called anything: the sheet is made, and is larger by no more than the name."""
    hostile = row('#read("/etc/passwd") *bold* $x$ <label> @ref \\ ]', 0)
    plain = cooksheet_pdf(sheet(row("x", 0)))
    made = cooksheet_pdf(sheet(hostile, stays=("#panic()",), cautions=('#import "x"',)))
    assert made.startswith(b"%PDF") and len(made) < len(plain) + 50_000


def test_many_steps_go_over_several_pages() -> None:
    """Sixty rows with their cleanings."""
    rows = [row(f"Dish {number}", number * 5, after=[wash(number * 5 + 2)]) for number in range(60)]
    assert cooksheet_pdf(sheet(*rows)).startswith(b"%PDF")


def test_the_page_shows_rows_and_cleanings_by_time() -> None:
    """A cleaning at noon stands after what is done before noon, though it belongs to an earlier row."""
    first, second = row("Rice", 0, after=[wash(180)]), row("Soup", 30)
    assert in_order([first, second]) == [first, second, first.after[0]]
