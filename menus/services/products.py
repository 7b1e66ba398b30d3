"""Add products that a kitchen buys."""

from __future__ import annotations

from uuid import uuid4

from django.db import transaction

from menus.gtin import parse_gtin
from menus.models import Product, Site, Supplier


@transaction.atomic
def add_product(
    *,
    name: str,
    code: str = "",
    gtin: str = "",
    supplier: str = "",
    jurisdiction: str = "",
    regulator: str = "",
    ready_to_eat: bool = False,
    site: Site | None = None,
) -> Product:
    """Add a product to the kitchen's list; without a code it is filed under its GTIN, or under one made up.

    Raises ValidationError, field by field, for what is missing, mistyped or taken.
    """
    gtin = parse_gtin(gtin) if gtin.strip() else ""
    free_gtin(gtin)
    product = Product(
        code=code.strip() or gtin or f"item-{uuid4().hex[:12]}",
        gtin=gtin or None,
        name=name.strip(),
        supplier=Supplier.objects.get_or_create(name=supplier.strip())[0] if supplier.strip() else None,
        jurisdiction=jurisdiction,
        regulator=regulator,
        ready_to_eat=ready_to_eat,
        site=site,
    )
    product.full_clean()
    product.save()
    return product


def free_gtin(gtin: str) -> None:
    """Take the number from a treat, so that a product of the kitchen can have it.

    The treat keeps its label: words pasted in a classroom never speak for what a kitchen cooks with.
    """
    for treat in Product.objects.filter(gtin=gtin, origin=Product.Origin.CLASSROOM):
        treat.gtin = None
        treat.save(update_fields=["gtin"])  # one by one, so that each change is on record
