"""The demo's food: products with labels, recipes and cycle menus by way of the imports, and the kitchens."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from compliance.demo.files import Row, rows, sheet
from compliance.demo.kitchens import load_kitchens
from menus.imports.cycle import CYCLE
from menus.imports.kind import Kind
from menus.imports.nutrition import NUTRITION
from menus.imports.plan import plan_rows
from menus.imports.products import PRODUCTS
from menus.imports.recipes import RECIPES
from menus.models import Site
from roster.models import User


class DemoFileWrong(Exception):
    """A data file of the demo does not pass its import: the checkout is damaged or the file was edited."""


def load_food(sites: dict[str, Site], *, today: date, seen_by: User) -> None:
    """Write the food of all sites. `seen_by` read the labels, so many days before `today` as the file says."""
    _import(PRODUCTS, "products.csv", [_dated(row, today) for row in rows("products.csv")], seen_by, today=today)
    _import(NUTRITION, "nutrition.csv", rows("nutrition.csv"), seen_by)
    _import(RECIPES, "recipes.csv", rows("recipes.csv"), seen_by)
    for row in rows("sites.csv"):
        menu = {"site": sites[row["code"]], "menu": row["cycle"], "starts_on": _first_monday(today)}
        _import(CYCLE, row["cycle_file"], rows(row["cycle_file"]), seen_by, **menu)
    load_kitchens(sites)


def _dated(row: Row, today: date) -> Row:
    days = row.pop("seen_days_ago")
    return row | {"seen_on": (today - timedelta(days=int(days))).isoformat() if days else ""}


def _first_monday(today: date) -> date:
    # Four weeks back, so that the current week is week 1 and every week has been served once.
    return today - timedelta(days=today.weekday(), weeks=4)


def _import(kind: Kind, name: str, table: list[Row], user: User, **context: Any) -> None:
    plan = plan_rows(kind, sheet(table), **context)
    if plan.problems:
        first = plan.problems[0]
        raise DemoFileWrong(
            f"The demo's {name}, row {first.row}, {first.field}: {first.what} {first.mend} "
            "Fetch the file again as it was published."
        )
    plan.save(user)
