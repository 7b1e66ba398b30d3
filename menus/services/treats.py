"""Keep the label of a treat that turned up in a classroom, so that the next person finds it."""

from __future__ import annotations

from datetime import date
from uuid import uuid4

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from menus.models import Label, Product, Site
from menus.models.product import Regulator
from menus.services.labels import record_label, same_as_newest


@transaction.atomic
def record_treat(
    *, name: str, text: str, gtin: str | None, home_made: bool, site: Site, seen_on: date, seen_by: AbstractBaseUser
) -> Label:
    """Keep a whole label as it was typed or pasted and return the label version to check against.

    With a GTIN it becomes the label that every site finds under that number; without one it stays at its site. The
    words of a package in a classroom never become the label of a product that a kitchen buys: half a label pasted in
    a hurry would make a whole menu look better than it is. Raises ValidationError for text that is no label.
    """
    product = _product(name, gtin, home_made, site)
    text = "\n".join(text.splitlines())
    newest = product.labels.order_by("-number").first()
    if newest and newest.seen_on == seen_on and same_as_newest(product, ingredients=text):
        return newest
    return record_label(product=product, ingredients=text, seen_on=seen_on, seen_by=seen_by)


def _product(name: str, gtin: str | None, home_made: bool, site: Site) -> Product:
    known = Product.objects.filter(gtin=gtin).first() if gtin else None
    if known and known.is_treat:
        return known
    number = None if known else gtin
    product = Product(
        code=f"treat-{uuid4().hex}",
        gtin=number,
        name=name,
        regulator=Regulator.NONE if home_made else Regulator.DEFAULT,
        origin=Product.Origin.CLASSROOM,
        site=None if number else site,
    )
    product.full_clean()
    product.save()
    return product
