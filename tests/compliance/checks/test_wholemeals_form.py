"""Dishes on hand by their form: cut for the child's age, and of the texture that is set. Both ways for each.

Cutting as the CDC's list of choking hazards asks it, by `menus/mealpattern/data/choking.csv`; levels of texture by
their number alone.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from compliance.checks.wholemeals.keep import work_out
from menus.models import Recipe, RecipeLine
from tests.cast import Cast
from tests.factories import (
    AlternativeFactory,
    RecipeFactory,
    RecipeVersionFactory,
    ServingFactory,
    TextureLevelFactory,
    labelled,
)
from tests.ownlunch import checked, day_of_it, dish, monday_of_it, set_the_table

pytestmark = pytest.mark.django_db


def of_grapes(note: str) -> Recipe:
    """A dish of grapes, cut as its line says."""
    version = RecipeVersionFactory.create(recipe=RecipeFactory.create(name="Grapes"), servings=50)
    grapes = labelled("grapes", name="Grapes, fresh")
    RecipeLine.objects.create(version=version, position=1, product=grapes, quantity=25, unit="cup", note=note)
    return version.recipe


def tray(cast: Cast) -> dict[str, Any]:
    """Kofi's lunch of tomorrow."""
    checked(cast)
    plan = work_out(site=cast.ferrowick, monday=monday_of_it(), user=cast.greta)
    [lunch] = [each for each in plan.result["meals"] if each["day"] == day_of_it().isoformat()]
    [found] = [each for each in lunch["trays"] if each["child"] == cast.kofi.pk]
    return dict(found)


@pytest.fixture
def fruit(cast: Cast) -> Cast:
    """Tomorrow the only fruit holds egg, which Kofi avoids."""
    pudding = dish(
        "Apple pudding", (labelled("apples, egg", name="Apples, fresh", label={"contains": "Egg."}), 25, "cup")
    )
    ServingFactory.create(site=cast.ferrowick, recipe=pudding, date=day_of_it())
    return cast


def aged(cast: Cast, years: int | None) -> None:
    """Kofi has that age tomorrow; None: nobody knows."""
    cast.kofi.birth_date = None if years is None else timezone.localdate() - timedelta(days=366 * years)
    cast.kofi.save()


@pytest.mark.parametrize(
    ("note", "years", "offered"),
    [
        ("quartered", 3, True),
        ("halved", 3, False),  # grapes are quartered for children under four
        ("", 3, False),  # a form that is not said counts as whole
        ("whole", 8, True),
        ("quartered", None, True),
        ("", None, False),  # nobody knows the age: the strictest holds
    ],
)
def test_a_dish_on_hand_is_offered_as_it_is_cut_for_the_age(
    fruit: Cast, note: str, years: int | None, offered: bool
) -> None:
    aged(fruit, years)
    AlternativeFactory(site=fruit.ferrowick, recipe=of_grapes(note))
    found = tray(fruit)
    assert found["gets"] == (["Grapes"] if offered else [])
    assert bool(found["open"]) is not offered


def test_why_a_dish_is_not_offered_for_its_form_stands_in_words(fruit: Cast) -> None:
    aged(fruit, 3)
    AlternativeFactory(site=fruit.ferrowick, recipe=of_grapes("halved"))
    [lack] = tray(fruit)["open"]
    why = {each["dish"]: each["why"] for each in lack["barred"]}
    [(substance, outcome, said)] = why["Grapes"]
    assert (substance, outcome) == ("", "refer") and said.startswith("grapes, under 4 years: Cut")
    assert why["Apple pudding"] == [["egg", "withhold"]]


def test_planned_dishes_stay_on_the_tray_whatever_their_form(cast: Cast) -> None:
    """Their own page says how to cut them; a dish of the menu is cut for the table where it is served."""
    aged(cast, 3)
    ServingFactory.create(site=cast.ferrowick, recipe=of_grapes("whole"), date=day_of_it())
    assert "Grapes" in tray(cast)["keeps"]


@pytest.mark.parametrize(("stated", "offered"), [(5, True), (None, False), (6, False), (4, False)])
def test_who_has_a_level_of_texture_is_offered_what_states_it(fruit: Cast, stated: int | None, offered: bool) -> None:
    TextureLevelFactory(child=fruit.kofi, food_level=5)
    mash = dish("Mashed pears", (labelled("pears", name="Pears, canned"), 25, "cup"))
    version = mash.versions.get()
    RecipeVersionFactory.create(recipe=mash, servings=50, texture=stated)
    for line in version.lines.all():
        line.pk, line.version = None, mash.versions.latest("number")
        line.save()
    AlternativeFactory(site=fruit.ferrowick, recipe=mash)
    found = tray(fruit)
    assert found["gets"] == (["Mashed pears"] if offered else [])
    if not offered:
        [lack] = found["open"]
        [(_, _, said)] = next(each["why"] for each in lack["barred"] if each["dish"] == "Mashed pears")
        assert "food level 5 is set: ask licensed staff" in said
        assert said.startswith("it states no level" if stated is None else f"it is made to level {stated}")


def test_without_a_level_no_texture_is_asked_for(fruit: Cast) -> None:
    AlternativeFactory(
        site=fruit.ferrowick,
        recipe=dish("Mashed pears", (labelled("pears", name="Pears, canned"), 25, "cup")),
    )
    assert tray(fruit)["gets"] == ["Mashed pears"]


def test_the_table_of_the_cast_is_as_before(cast: Cast) -> None:
    set_the_table(cast)
    assert tray(cast)["keeps"] == ["Beef and peanut rice", "Apple", "Milk"]
