"""Labels of treats, kept for the next person."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from menus.models import Label, Product
from menus.models.product import Regulator
from menus.services.treats import record_treat
from tests.cast import Cast
from tests.factories import gtin, labelled


def keep(cast: Cast, text: str = "sugar, wheat flour", **given: Any) -> Label:
    today: date = timezone.localdate()
    return record_treat(
        **{
            "name": "Cupcakes",
            "text": text,
            "gtin": None,
            "home_made": False,
            "site": cast.ferrowick,
            "seen_on": today,
            "seen_by": cast.rosa,
            **given,
        }
    )


def test_a_treat_without_a_number_stays_at_its_site(cast: Cast) -> None:
    """Its label is the words, in one piece."""
    label = keep(cast)
    assert (label.number, label.ingredients, label.product.site) == (1, "sugar, wheat flour", cast.ferrowick)
    assert label.product.origin == Product.Origin.CLASSROOM


def test_a_treat_with_a_number_is_known_everywhere_and_gets_versions(cast: Cast) -> None:
    """Other words are a new version of the same product."""
    first = keep(cast, gtin=gtin(3))
    second = keep(cast, "sugar, peanuts", gtin=gtin(3), site=cast.tansy_gate)
    assert first.product == second.product
    assert (second.number, first.product.site) == (2, None)


def test_the_same_words_on_the_same_day_are_one_version(cast: Cast) -> None:
    """A button pressed twice adds nothing; read again another day it is a new reading."""
    yesterday = timezone.localdate() - timedelta(days=1)
    first = keep(cast, gtin=gtin(3), seen_on=yesterday)
    assert keep(cast, gtin=gtin(3), seen_on=yesterday) == first
    assert keep(cast, gtin=gtin(3)).number == 2


def test_a_kitchen_s_product_keeps_its_own_label(cast: Cast) -> None:
    """The words in a classroom are kept beside it, without the number."""
    bun = labelled("wheat flour, sesame", gtin=gtin(4))
    label = keep(cast, "wheat flour", gtin=gtin(4))
    assert label.product != bun
    assert label.product.gtin is None
    assert bun.labels.count() == 1


def test_a_home_made_treat_falls_under_no_labelling_law(cast: Cast) -> None:
    """So nothing about it is taken to be named by law."""
    assert keep(cast, home_made=True).product.regulator == Regulator.NONE


def test_an_empty_label_leaves_nothing_behind(cast: Cast) -> None:
    """No product without a label is half saved."""
    before = Product.objects.count()
    with pytest.raises(ValidationError, match="The label is empty"):
        keep(cast, "  \n ")
    assert Product.objects.count() == before


def test_words_kept_beside_a_kitchen_s_product_stay_at_their_site(cast: Cast) -> None:
    """Only what is found under its number is everybody's."""
    labelled("wheat flour, sesame", gtin=gtin(4))
    assert keep(cast, "wheat flour", gtin=gtin(4)).product.site == cast.ferrowick
