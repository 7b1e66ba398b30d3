"""What the demo's kitchens have on hand beside their menus."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from compliance.demo.files import rows
from menus.models import Recipe, Site
from menus.models.cycle import monday_of
from menus.services.alternatives import add_alternative


def load_on_hand(sites: dict[str, Site], *, today: date) -> None:
    """Write the dishes on hand, from the Monday of this week on. Nobody ends them."""
    recipes = Recipe.objects.in_bulk(field_name="code")
    for row in rows("alternatives.csv"):
        add_alternative(
            site=sites[row["site"]],
            recipe=recipes[row["recipe"]],
            starts_on=monday_of(today),
            meals=row["meals"].split(";") if row["meals"] else (),
            portions=int(row["portions"]) if row["portions"] else None,
            cost=Decimal(row["cost"]),
            milk_cups=Decimal(row["milk_cups"]) if row["milk_cups"] else None,
            note=row["note"],
        )
