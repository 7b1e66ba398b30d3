"""A supplier's data beside what the package says: what stays when either of them changes."""

from __future__ import annotations

from datetime import date

import pytest
from django.core.exceptions import ValidationError

from menus.models import Product
from menus.services.labels import record_label, record_supplied, same_as_newest
from menus.services.treats import record_treat
from tests.factories import ProductFactory, SiteFactory, UserFactory, gtin, labelled

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)
CODES = "AM MAY_CONTAIN (Milk)"


@pytest.fixture
def bar() -> Product:
    return labelled("oats", label={"supplied": CODES, "contains": "Oats", "seen_on": date(2026, 10, 1)})


def test_a_new_reading_of_the_package_leaves_the_supplier_s_data(bar: Product) -> None:
    """And they are no difference between two readings."""
    assert same_as_newest(bar, ingredients="oats", contains="Oats")
    assert record_label(product=bar, ingredients="oats, honey", seen_on=TODAY).supplied == CODES


def test_they_are_changed_or_taken_out_only_on_purpose(bar: Product) -> None:
    """By somebody who sees them in front of them."""
    assert record_label(product=bar, ingredients="oats", seen_on=TODAY, supplied="").supplied == ""
    assert not same_as_newest(bar, ingredients="oats", supplied=CODES)


def test_new_data_leave_the_words_their_day_and_their_reader(bar: Product) -> None:
    """The package was not read again, so it grows old as before."""
    label = record_supplied(product=bar, supplied="AM CONTAINS (Milk)", seen_by=UserFactory())
    assert (label.ingredients, label.contains, label.supplied) == ("oats", "Oats", "AM CONTAINS (Milk)")
    assert (label.number, label.seen_on, label.seen_by) == (2, date(2026, 10, 1), None)


def test_data_alone_are_a_label_that_nobody_read() -> None:
    """Whoever brought them is on record."""
    june = UserFactory()
    label = record_supplied(product=ProductFactory(), supplied=CODES, seen_by=june)
    assert (label.is_read, label.seen_by) == (False, june)


def test_data_on_record_make_no_label_of_an_empty_form(bar: Product) -> None:
    """A package that was not typed is not read."""
    with pytest.raises(ValidationError, match="label is empty"):
        record_label(product=bar, ingredients=" ", seen_on=TODAY)
    with pytest.raises(ValidationError, match="label is empty"):
        record_supplied(product=ProductFactory(), supplied="\x00 ")


def test_a_treat_typed_again_is_no_new_version_because_of_them() -> None:
    """The label of a treat is found under its number, with the supplier's data."""
    teacher, site, number = UserFactory(), SiteFactory(), gtin(7)
    treat = {"name": "Bar", "text": "oats", "gtin": number, "home_made": False, "site": site, "seen_on": TODAY}
    first = record_treat(**treat, seen_by=teacher)
    label = record_supplied(product=first.product, supplied=CODES)
    assert record_treat(**treat, seen_by=teacher) == label
