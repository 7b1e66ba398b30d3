"""Keep the label of a treat that turned up in a classroom, so that the next person finds it."""

from __future__ import annotations

from datetime import date
from uuid import uuid4

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from menus.models import Label, Product, Site
from menus.models.product import Regulator
from menus.services.labels import first_label, record_label, says_the_same


@transaction.atomic
def record_treat(
    *, name: str, text: str, gtin: str | None, home_made: bool, site: Site, seen_on: date, seen_by: AbstractBaseUser
) -> Label:
    """Keep a whole label as it was typed or pasted and return the label version to check against.

    With a GTIN it becomes the label that every site finds under that number; without one it stays at its site. The
    words of a package in a classroom never become the label of a product that a kitchen buys: half a label pasted in
    a hurry would make a whole menu look better than it is. Raises ValidationError for text that is no label.
    """
    text = "\n".join(text.splitlines())
    known = Product.objects.filter(gtin=gtin).first() if gtin else None
    if known is None or not known.is_treat:
        # A kitchen's product keeps its number, and the label of its own.
        product = _product(name, None if known else gtin, home_made, site)
        return first_label(product=product, ingredients=text, seen_on=seen_on, seen_by=seen_by)
    newest = known.labels.order_by("-number").first()
    if newest and newest.seen_on == seen_on and says_the_same(newest, ingredients=text):
        return newest
    return record_label(product=known, ingredients=text, seen_on=seen_on, seen_by=seen_by)


def _product(name: str, number: str | None, home_made: bool, site: Site) -> Product:
    return Product(
        code=f"treat-{uuid4().hex}",
        gtin=number,
        name=name,
        regulator=Regulator.NONE if home_made else Regulator.DEFAULT,
        origin=Product.Origin.CLASSROOM,
        site=None if number else site,
    )
