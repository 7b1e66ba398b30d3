"""Adding what a kitchen buys."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from menus.models import Product, Supplier
from menus.services.products import add_product
from tests.factories import ProductFactory, SupplierFactory, gtin, labelled

pytestmark = pytest.mark.django_db


def test_a_product_is_filed_under_its_gtin_unless_the_kitchen_has_a_number() -> None:
    """Any length of GTIN is stored as fourteen digits."""
    assert add_product(name="Buns", gtin=gtin(1)[1:]).code == gtin(1)
    assert add_product(name="Rolls", gtin=gtin(2), code="B-2").code == "B-2"


def test_two_products_without_any_number_are_two() -> None:
    """Each gets a code of its own."""
    assert add_product(name="Soup").code != add_product(name="Soup").code


def test_a_supplier_is_found_by_name_or_made() -> None:
    """The same name is the same supplier."""
    known = SupplierFactory(name="Mill Lane Bakers")
    assert add_product(name="Buns", supplier=" Mill Lane Bakers ").supplier == known
    assert add_product(name="Rolls", supplier="Harbour Foods").supplier == Supplier.objects.get(name="Harbour Foods")


def test_a_number_known_from_a_treat_passes_to_the_kitchen_s_product_without_its_label() -> None:
    """Words pasted in a classroom never speak for what a kitchen cooks with; the treat keeps them."""
    treat = labelled("sugar", gtin=gtin(3), origin=Product.Origin.CLASSROOM)
    bun = add_product(name="Buns", gtin=gtin(3))
    treat.refresh_from_db()
    assert (bun.gtin, bun.origin, bun.labels.count()) == (gtin(3), Product.Origin.KITCHEN, 0)
    assert (treat.gtin, treat.origin, treat.labels.count()) == (None, Product.Origin.CLASSROOM, 1)


def test_what_the_kitchen_has_already_is_not_taken_over() -> None:
    """The same number or code twice is refused, and no supplier is left behind."""
    ProductFactory(gtin=gtin(4), code="B-4")
    for wrong in ({"gtin": gtin(4)}, {"code": "B-4"}, {"gtin": "123"}, {"name": " "}):
        with pytest.raises(ValidationError):
            add_product(**{"name": "Buns", "supplier": "Nobody", **wrong})
    assert not Supplier.objects.filter(name="Nobody").exists()
    assert Product.objects.count() == 1
