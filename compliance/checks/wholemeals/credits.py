"""What a portion of each dish brings: as the week of the site reads it, and of dishes on hand as they stand alone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from menus.mealpattern.crediting.weekkeys import Beans, week_credits
from menus.mealpattern.patterns.week import Food
from menus.models import Alternative, Serving, SitePattern
from menus.services.dishes import Dish, dishes
from menus.services.weeks import plates_of

ENERGY = "energy_kcal"
NOTHING_KNOWN = "what goes into it"


@dataclass(frozen=True, slots=True)
class Brings:
    """A dish as a week takes it, and what of it credits nothing until somebody answers."""

    food: Food
    asked: tuple[str, ...]


def planned_brings(
    servings: Iterable[Serving], known: Mapping[int, Dish], pattern: SitePattern | None
) -> dict[int, Brings]:
    """Return what the dishes of one meal of a day bring, by recipe. `known` has the dish of each; the pattern is that
    of the week."""
    plates = plates_of(servings, known, pattern)
    return {plate.recipe_id: Brings(plate.food, tuple(plate.ask)) for plate in plates}


def brings(on_hand: Sequence[Alternative]) -> dict[int, Brings]:
    """Return what dishes on hand bring, by entry. Beans count as meat alternate: they stand in for a main dish."""
    known = dishes({each.recipe_id: each.recipe for each in on_hand}.values())
    return {each.pk: _brings(known[each.recipe_id], each) for each in on_hand}


def _brings(dish: Dish, entry: Alternative) -> Brings:
    credits = week_credits(dish.crediting, Beans.ALTERNATE) if dish.crediting else {}
    asked = tuple(dish.crediting.ask) if dish.crediting else (NOTHING_KNOWN,)
    if entry.milk_cups is not None:
        credits["milk"] = Fraction(entry.milk_cups)
        asked = ()
    return Brings(Food(dish.name, credits, dish.held.totals), asked)
