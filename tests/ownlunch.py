"""A lunch of the cast for which somebody needs something else: tomorrow at Ferrowick, and what is on hand beside it.

Planned: beef and peanut rice, an apple, milk. Mateo (peanut) and Saoirse (meat) may not have the rice, Anneke (milk)
may not have the milk. On hand: a sunflower rice bowl and a fortified soy drink.
"""

from __future__ import annotations

from datetime import date, timedelta

from django.utils import timezone

from compliance.checks.run import check_site
from compliance.models import Run
from menus.models import Alternative, Product, Recipe, RecipeLine, Site
from tests.cast import Cast
from tests.factories import (
    AlternativeFactory,
    RecipeFactory,
    RecipeVersionFactory,
    ServingFactory,
    labelled,
)

SERVINGS = 50


def day_of_it() -> date:
    """The day of the lunch."""
    return timezone.localdate() + timedelta(days=1)


def monday_of_it() -> date:
    """The Monday of its week, which may be the next one."""
    return day_of_it() - timedelta(days=day_of_it().weekday())


def dish(name: str, *parts: tuple[Product, float, str]) -> Recipe:
    """A recipe for fifty with so much of each product."""
    version = RecipeVersionFactory.create(recipe=RecipeFactory.create(name=name), servings=SERVINGS)
    for position, (product, quantity, unit) in enumerate(parts, start=1):
        RecipeLine.objects.create(version=version, position=position, product=product, quantity=quantity, unit=unit)
    return version.recipe


def set_the_table(cast: Cast) -> dict[str, Recipe]:
    """Plan the lunch and return its dishes and those that could be on hand, by a short name."""
    rice = labelled("long grain brown rice", name="Rice, long grain, brown")
    beef = labelled("beef", name="Beef, ground, 85% lean")
    peanut = labelled("roasted peanuts, salt", name="Peanut butter, smooth", label={"contains": "Peanuts."})
    sunflower = labelled("roasted sunflower seeds, salt", name="Sunflower seed spread")
    milk = labelled("low-fat milk, vitamin D3", name="Milk, low-fat 1%", label={"contains": "Milk."})
    soy = labelled("water, soybeans, calcium carbonate", name="Soy drink, fortified", label={"contains": "Soy."})
    dishes = {
        "main": dish("Beef and peanut rice", (beef, 6.25, "lb"), (rice, 6.25, "lb"), (peanut, 0.5, "lb")),
        "apple": dish("Apple", (labelled("apples", name="Apples, fresh"), 25, "cup")),
        "milk": dish("Milk", (milk, 50, "cup")),
        "bowl": dish("Sunflower rice bowl", (sunflower, 6.25, "lb"), (rice, 6.25, "lb")),
        "soy": dish("Soy drink", (soy, 50, "cup")),
        "sandwich": dish("Peanut and rice cake", (peanut, 6.25, "lb"), (rice, 6.25, "lb")),
    }
    for name in ("main", "apple", "milk"):
        ServingFactory.create(site=cast.ferrowick, recipe=dishes[name], date=day_of_it())
    return dishes


def on_hand(site: Site, dishes: dict[str, Recipe]) -> list[Alternative]:
    """Put the bowl and the soy drink on hand."""
    return [
        AlternativeFactory.create(site=site, recipe=dishes["bowl"], note="Freezer, lowest shelf"),
        AlternativeFactory.create(site=site, recipe=dishes["soy"], milk_cups=1),
    ]


def checked(cast: Cast) -> None:
    """Have the day checked."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
