"""Writing facts about food: what is kept, what is refused, and that nothing is half saved."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from menus.gtin import parse_gtin
from menus.models import CycleMenu, Label, Product, RecipeVersion, Serving, Weekday
from menus.models.facts import FactChanged
from menus.services.labels import record_label
from menus.services.recipes import Line, record_recipe
from menus.services.servings import plan_servings
from tests.factories import (
    CycleEntryFactory,
    CycleMenuFactory,
    ProductFactory,
    RecipeFactory,
    ServingFactory,
    SiteFactory,
    cooked,
    labelled,
    this_monday,
)

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)


def test_correction_is_a_new_version() -> None:
    """Both versions stay; the newest is current now, the old one was current before."""
    product = labelled("sugar")
    before = timezone.now()
    record_label(product=product, ingredients="sugar, milk", seen_on=TODAY)
    assert [label.number for label in product.labels.all()] == [1, 2]
    assert Label.objects.current(timezone.now()).get(product=product).ingredients == "sugar, milk"
    assert Label.objects.current(before).get(product=product).ingredients == "sugar"


def test_label_is_never_edited_nor_deleted() -> None:
    """The model refuses, with what to do in its place."""
    label = labelled("sugar").labels.get()
    label.ingredients = "nothing"
    with pytest.raises(FactChanged, match="Record a new version"):
        label.save()
    with pytest.raises(FactChanged, match="never deleted"):
        label.delete()
    label.refresh_from_db()
    assert label.ingredients == "sugar"


def test_label_over_the_limit_is_refused_whole() -> None:
    """Twenty thousand characters in all parts together are the limit."""
    product = ProductFactory()
    record_label(product=product, ingredients="a" * 19_990, contains="b" * 10, seen_on=TODAY)
    with pytest.raises(ValidationError, match="20,001 characters"):
        record_label(product=product, ingredients="a" * 19_991, contains="b" * 10, seen_on=TODAY)
    assert product.labels.count() == 1


def test_empty_label_is_refused() -> None:
    """White space is no label."""
    with pytest.raises(ValidationError, match="label is empty"):
        record_label(product=ProductFactory(), ingredients=" \n", seen_on=TODAY)


def test_recipe_that_would_hold_itself_is_refused_with_its_path() -> None:
    """Over two steps: stock holds base, base may not come to hold stock."""
    salt = labelled("salt", name="Salt")
    base = cooked("Base", salt)
    stock = cooked("Stock", base)
    with pytest.raises(ValidationError, match="Base → Stock → Base"):
        record_recipe(recipe=base, servings=10, lines=[Line(Decimal(1), "cup", sub_recipe=stock)])
    assert RecipeVersion.objects.filter(recipe=base).count() == 1


def test_bad_line_saves_nothing() -> None:
    """A line with neither product nor recipe is refused, and no version is left behind."""
    recipe = RecipeFactory()
    lines = [Line(Decimal(1), "cup", product=labelled("salt")), Line(Decimal(1), "cup")]
    with pytest.raises(ValidationError, match="exactly one"):
        record_recipe(recipe=recipe, servings=10, lines=lines)
    assert not recipe.versions.exists()


def test_recipe_without_lines_is_refused() -> None:
    """Nothing would be known of such a dish."""
    with pytest.raises(ValidationError, match="at least one line"):
        record_recipe(recipe=RecipeFactory(), servings=10, lines=[])


def test_cycle_week_on() -> None:
    """Week 1 begins on the Monday given, and the cycle comes round."""
    cycle = CycleMenu(weeks=4, starts_on=date(2026, 8, 31), ends_on=date(2027, 6, 4))
    assert cycle.week_on(date(2026, 8, 30)) is None
    assert cycle.week_on(date(2026, 8, 31)) == 1
    assert cycle.week_on(date(2026, 9, 6)) == 1
    assert cycle.week_on(date(2026, 9, 21)) == 4
    assert cycle.week_on(date(2026, 9, 28)) == 1
    assert cycle.week_on(date(2027, 6, 5)) is None


def test_cycle_begins_on_a_monday() -> None:
    """Any other day would shift every week."""
    cycle = CycleMenuFactory.build(site=SiteFactory(), starts_on=date(2026, 9, 1))
    with pytest.raises(ValidationError, match="no Monday"):
        cycle.full_clean()


def test_servings_follow_the_cycle() -> None:
    """A dish of the cycle is planned on its days; twice changes nothing; taken out, it is withdrawn and kept."""
    monday = this_monday()
    cycle = CycleMenuFactory(weeks=1, starts_on=monday)
    entry = CycleEntryFactory(cycle=cycle, week=1, weekday=Weekday.TUESDAY)
    by_hand = ServingFactory(site=cycle.site, date=monday)
    last = monday + timedelta(days=13)
    assert plan_servings(site=cycle.site, first=monday, last=last) == 2
    assert plan_servings(site=cycle.site, first=monday, last=last) == 0
    entry.delete()
    assert plan_servings(site=cycle.site, first=monday, last=last) == 2
    assert list(Serving.objects.planned().filter(site=cycle.site)) == [by_hand]
    assert Serving.objects.filter(site=cycle.site).count() == 3


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("6291041500214", "does not fit the others"),
        ("629104150021X", "other than digits"),
        ("96385075", "does not fit the others"),
        ("629104150", "it has 9 digits"),
    ],
)
def test_gtin_that_is_none_says_why(typed: str, message: str) -> None:
    """What is wrong, and to type it again."""
    with pytest.raises(ValidationError, match=message):
        parse_gtin(typed)


def test_gtin_is_kept_as_fourteen_digits() -> None:
    """The GS1 worked example, whatever its spacing."""
    assert parse_gtin("6 291041 500213") == "06291041500213"


def test_a_label_is_not_read_on_a_day_to_come() -> None:
    """It would count as fresh for longer than it is; the first zone of the earth to see the day may record it."""
    product = ProductFactory()
    with pytest.raises(ValidationError, match="lies ahead"):
        record_label(product=product, ingredients="rice", seen_on=timezone.now().date() + timedelta(days=2))
    assert not product.labels.exists()


def test_a_treat_goes_into_no_recipe() -> None:
    """What somebody pasted in a classroom must not speak for a dish."""
    treat = ProductFactory(origin=Product.Origin.CLASSROOM)
    with pytest.raises(ValidationError, match="brought to a classroom"):
        record_recipe(recipe=RecipeFactory(), servings=10, lines=[Line(Decimal(1), "kg", product=treat)])
