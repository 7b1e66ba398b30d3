"""The balance of each day of a week, as advice: across all meals that are planned at the site that day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from compliance.web.meals_look import Plate
from menus.mealpattern.balance import Advice, BalanceFood, balance
from menus.mealpattern.colours import colours_of
from menus.models import Meal, RecipeLine, RecipeVersion

PLANTS = ("fruit", "vegetables")
MEALS = list(Meal)

Days = Mapping[date, list[Plate]]


def advice_by_day(meals: Mapping[Meal, Days], meal: Meal) -> dict[date, list[Advice]]:
    """Return the advice for each day on which the meal is served; the day's other meals answer too. Two queries."""
    colours = _colours({plate.recipe_id for days in meals.values() for plates in days.values() for plate in plates})

    def foods(day: date, wanted: Iterable[Meal]) -> list[BalanceFood]:
        plates = (plate for each in wanted for plate in meals.get(each, {}).get(day, []))
        return [_food(plate, colours) for plate in plates]

    place = MEALS.index(meal)
    return {
        day: balance(foods(day, [meal]), later=foods(day, MEALS[place + 1 :]), earlier=foods(day, MEALS[:place]))
        for day in meals[meal]
    }


def _food(plate: Plate, colours: Mapping[int, frozenset[str]]) -> BalanceFood:
    credits = {name: float(amount) for name, amount in plate.food.credits.items()}
    plants = any(name.partition(".")[0] in PLANTS and amount for name, amount in credits.items())
    return BalanceFood(plate.name, credits, colours.get(plate.recipe_id, frozenset()) if plants else frozenset())


def _colours(recipes: set[int]) -> dict[int, frozenset[str]]:
    """The colors that the names of the recipes and of what goes into them tell of."""
    newest = RecipeVersion.objects.filter(recipe__in=recipes).order_by("recipe", "-number")
    versions: dict[int, int] = {}
    for pk, recipe in newest.values_list("pk", "recipe"):
        versions.setdefault(recipe, pk)
    names: dict[int, list[str]] = {}
    lines = RecipeLine.objects.filter(version__in=versions.values())
    for recipe, *said in lines.values_list(
        "version__recipe", "version__recipe__name", "product__name", "sub_recipe__name"
    ):
        names.setdefault(recipe, []).extend(filter(None, said))
    return {recipe: frozenset().union(*map(colours_of, said)) for recipe, said in names.items()}
