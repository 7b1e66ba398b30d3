"""Suppliers' allergen codes, from the file to the verdict on a child's dish."""

from __future__ import annotations

import pytest
from django.utils import timezone

from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.checks.run import check_site
from compliance.models import Run
from menus.models import Product
from tests.cast import Cast
from tests.factories import ProductFactory, recook
from tests.menus.imports.stated import BAR, plan, stated

pytestmark = pytest.mark.django_db


def met(cast: Cast, dish: str) -> dict[str, str]:
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    day = timezone.localdate()
    rows = find_exceptions(None, ExceptionFilter(day, day, site=cast.ferrowick))
    return {row.child.given_name: row.outcome.code for row in rows if row.dish == dish}


def number(product: Product) -> None:
    Product.objects.filter(pk=product.pk).update(gtin=BAR)


def test_a_code_withholds_from_the_child_that_it_concerns(cast: Cast) -> None:
    """The ham's label names no milk; its supplier warns of it. Anneke avoids milk, Mateo peanut."""
    number(cast.larder.ham)
    assert met(cast, "Ham and rice") == {"Yusuf": "withhold", "Saoirse": "withhold"}
    plan(stated("AM", "MAY_CONTAIN"), stated("AP", "FREE_FROM")).save()
    assert met(cast, "Ham and rice") == {"Yusuf": "withhold", "Saoirse": "withhold", "Anneke": "withhold"}


def test_free_from_clears_nothing(cast: Cast) -> None:
    """The oat bar's package warns of milk and tree nuts."""
    before = met(cast, "Oat bar")
    number(cast.larder.oat_bar)
    plan(stated("AM", "FREE_FROM"), stated("AN", "FREE_FROM"), stated("AW", "FREE_FROM"), stated("X99")).save()
    assert met(cast, "Oat bar") == before


def test_a_row_without_level_asks_about_that_allergen_alone(cast: Cast) -> None:
    """Kofi avoids sesame."""
    number(cast.larder.ham)
    plan(stated("AS", "")).save()
    assert met(cast, "Ham and rice") == {"Yusuf": "withhold", "Saoirse": "withhold", "Kofi": "refer"}


def test_codes_alone_leave_the_food_unknown(cast: Cast) -> None:
    """A product that nobody has read is referred for every child with a restriction, whatever it is free from."""
    product = ProductFactory(gtin=BAR)
    plan(stated("X99"), stated("AP")).save()
    recook(cast.dishes.ham_and_rice, [product])
    found = met(cast, "Ham and rice")
    assert found.pop("Mateo") == "withhold"
    assert set(found.values()) == {"refer"}
    assert "Bao" not in found
