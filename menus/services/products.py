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

    A food known so far only as a treat in a classroom becomes the kitchen's under the same GTIN; its label must then be
    read again. Raises ValidationError, field by field, for what is missing, mistyped or taken.
    """
    gtin = parse_gtin(gtin) if gtin.strip() else ""
    known = Product.objects.filter(gtin=gtin, origin=Product.Origin.CLASSROOM).first() if gtin else None
    product = known or Product()
    product.name = name.strip()
    product.code = code.strip() or gtin or f"item-{uuid4().hex[:12]}"
    product.gtin = gtin or None
    product.supplier = Supplier.objects.get_or_create(name=supplier.strip())[0] if supplier.strip() else None
    product.jurisdiction, product.regulator, product.ready_to_eat = jurisdiction, regulator, ready_to_eat
    product.origin, product.site = Product.Origin.KITCHEN, site
    product.full_clean()
    product.save()
    return product
