"""What a portion of each dish brings: as the week of the site reads it, and of dishes on hand as they stand alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from menus.mealpattern.crediting.weekkeys import Beans, week_credits
from menus.mealpattern.patterns.week import Food
from menus.models import Alternative, Site
from menus.services.dishes import Dish, dishes
from menus.services.weeks import week_of

ENERGY = "energy_kcal"
NOTHING_KNOWN = "what goes into it"


@dataclass(frozen=True, slots=True)
class Brings:
    """A dish as a week takes it, and what of it credits nothing until somebody answers."""

    food: Food
    asked: tuple[str, ...]


def planned_brings(site: Site, monday: date, meal: str) -> dict[int, Brings]:
    """Return what the dishes planned for that meal of the week bring, by serving."""
    return {
        plate.serving_id: Brings(plate.food, tuple(plate.ask))
        for _, plates in week_of(site, monday, meal).days
        for plate in plates
    }


def brings(on_hand: Sequence[Alternative]) -> dict[int, Brings]:
    """Return what dishes on hand bring, by recipe. Beans count as meat alternate: they stand in for a main dish."""
    known = dishes([each.recipe for each in on_hand])
    return {each.recipe_id: _brings(known[each.recipe_id], each) for each in on_hand}


def _brings(dish: Dish, entry: Alternative) -> Brings:
    credits = week_credits(dish.crediting, Beans.ALTERNATE) if dish.crediting else {}
    asked = tuple(dish.crediting.ask) if dish.crediting else (NOTHING_KNOWN,)
    if entry.milk_cups is not None:
        credits["milk"] = Fraction(entry.milk_cups)
        asked = ()
    return Brings(Food(dish.name, credits, dish.held.totals), asked)
