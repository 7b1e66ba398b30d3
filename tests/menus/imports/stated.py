"""What suppliers state of their products."""

from __future__ import annotations

from menus.imports.plan import ImportPlan, plan_rows
from menus.imports.supplied import SUPPLIED
from menus.models import Product
from tests.menus.imports.files import csv_file

BAR, SOUP, CRISP = "09506000134352", "00012345600012", "07300011000017"
OATS = "rolled oats, honey, sunflower oil, salt"
"""What the package of BAR says."""


def plan(*rows: dict[str, str]) -> ImportPlan:
    """The dry run of a sheet with these rows."""
    return plan_rows(SUPPLIED, csv_file(SUPPLIED, *rows))


def stated(code: str, level: str = "CONTAINS", gtin: str = BAR, **more: str) -> dict[str, str]:
    """A row of the sheet."""
    return {"gtin": gtin, "allergen_type_code": code, "level_of_containment_code": level, **more}


def lines(product: Product) -> list[str]:
    """The supplier's data of the newest label version."""
    return product.labels.order_by("-number")[0].supplied.splitlines()
