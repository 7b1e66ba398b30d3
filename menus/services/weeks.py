"""The week of a meal at a site as its pattern takes it: dishes by day with credits, questions and nutrients.

Every dish on the plan of a day counts as part of one child's meal, but for dishes that are one choice of something: of
these a child takes one, and the week is judged for all that may be taken.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from typing import Any

from menus.mealpattern.crediting.weekkeys import Beans, reading_said, readings, week_credits
from menus.mealpattern.patterns.answer import answer
from menus.mealpattern.patterns.week import Food, Week
from menus.models import Recipe, Serving, Site, SitePattern
from menus.models.cycle import SIX_DAYS
from menus.services.dishes import Dish, dishes
from menus.substances.names import comparable

US = "us"
NO_TABLE = "The tables of credits here are those of the US programs; nothing is credited for another country's."
NO_VERSION = "Nothing is on record of what goes into it."


class NotJudged(ValueError):
    """The week cannot be held against a pattern; the message says why and what would mend it."""


@dataclass(frozen=True, slots=True)
class Plate:
    """A dish on the plan of a day as one child is served it."""

    serving_id: int
    recipe_id: int
    name: str
    food: Food
    ask: list[str]  # ingredients that credit nothing until somebody answers
    arithmetic: list[str]
    covered: Mapping[str, Fraction | None] = field(default_factory=dict)  # by nutrient: share of the weight
    stated: Mapping[str, Fraction] = field(default_factory=dict)  # what that share comes to
    missing: tuple[str, ...] = ()  # lines that state nothing or have no weight
    beans: Beans | None = None  # how its beans, peas and lentils were read
    choice: str = ""  # what it is one choice of, as the plan has it


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a dish stands on a day."""

    serving_id: int
    recipe_id: int
    choice: str


@dataclass(frozen=True, slots=True)
class SiteWeek:
    """The days of a week on which the meal is planned, in order."""

    site: Site
    monday: date
    meal: str
    pattern: SitePattern | None
    days: list[tuple[date, list[Plate]]]
    kept: Mapping[int, Dish] = field(default_factory=dict, repr=False)  # by recipe: what the plates were made from


def week_of(site: Site, monday: date, meal: str) -> SiteWeek:
    """Return the week as it is planned, recipes as they stand now. Six queries, two more for each depth of parts."""
    planned = Serving.objects.planned().filter(site=site, meal=meal).between(monday, monday + SIX_DAYS)
    servings = list(planned.select_related("recipe").order_by("date", "pk"))
    pattern = SitePattern.objects.holding(site, meal, monday)
    kept = dishes({serving.recipe_id: serving.recipe for serving in servings}.values())
    by_day: dict[date, list[Spot]] = {}
    for serving in servings:
        by_day.setdefault(serving.date, []).append(Spot(serving.pk, serving.recipe_id, serving.choice))
    days = [(day, _plates(spots, kept, pattern)) for day, spots in by_day.items()]
    return SiteWeek(site, monday, meal, pattern, days, kept)


def with_dish(week: SiteWeek, serving_id: int, recipe: Recipe) -> SiteWeek:
    """Return the same week with another dish in the place of one serving. Nothing is written.

    Raises KeyError for a serving that the week does not hold.
    """
    if not any(plate.serving_id == serving_id for _, plates in week.days for plate in plates):
        raise KeyError(serving_id)
    kept = {**week.kept, **dishes([recipe])}
    days = [
        (day, _exchanged(plates, serving_id, recipe.pk, kept, week.pattern))
        if any(plate.serving_id == serving_id for plate in plates)
        else (day, plates)
        for day, plates in week.days
    ]
    return replace(week, days=days, kept=kept)


def pattern_week(week: SiteWeek) -> Week:
    """Return the week as the pattern's rules take it; the rules of its Monday hold. Raises NotJudged."""
    if week.pattern is None:
        raise NotJudged(
            f"It is not said which program and age group the {week.meal} of {week.site} follows. Set its pattern first."
        )
    pattern = week.pattern.pattern
    if week.monday < pattern.held_from:
        raise NotJudged(f"The rules of {pattern.program} are held from {pattern.held_from} on; this week is older.")
    if not pattern.least_days <= len(week.days) <= pattern.most_days:
        raise NotJudged(
            f"{len(week.days)} days are on the plan, and {pattern.program} is judged over {pattern.least_days} to "
            f"{pattern.most_days} days. Days with fewer meals are put to the week before or after."
        )
    return Week(pattern, week.monday, tuple(tuple(plate.food for plate in plates) for _, plates in week.days))


def judged(week: SiteWeek) -> dict[str, Any]:
    """Return what `check_week` prints for the week. Raises NotJudged where there is nothing to hold it against."""
    return answer(pattern_week(week))


def judged_week(site: Site, monday: date, meal: str) -> dict[str, Any]:
    """Return what `check_week` prints for the planned week of a meal. Raises NotJudged."""
    return judged(week_of(site, monday, meal))


def plates_of(servings: Iterable[Serving], kept: Mapping[int, Dish], pattern: SitePattern | None) -> list[Plate]:
    """Return the dishes of one meal of a day as one child is served them; `kept` has the dish of each recipe."""
    return _plates([Spot(each.pk, each.recipe_id, each.choice) for each in servings], kept, pattern)


def _exchanged(
    plates: Sequence[Plate], serving_id: int, recipe_id: int, kept: Mapping[int, Dish], pattern: SitePattern | None
) -> list[Plate]:
    """A day again: another dish may change how the beans of its neighbors are read."""
    spots = [
        Spot(each.serving_id, recipe_id if each.serving_id == serving_id else each.recipe_id, each.choice)
        for each in plates
    ]
    return _plates(spots, kept, pattern)


def _plates(spots: Sequence[Spot], kept: Mapping[int, Dish], pattern: SitePattern | None) -> list[Plate]:
    credited = pattern is None or pattern.pattern.scheme == US
    beans = _beans(spots, kept) if credited else {}
    plates = []
    for spot in spots:
        plate = _plate(spot, kept[spot.recipe_id], beans.get(spot.serving_id), credited)
        if plate.beans:
            plate.arithmetic.append(reading_said(plate.name, plate.beans))
        plates.append(plate)
    return plates


def _beans(spots: Sequence[Spot], kept: Mapping[int, Dish]) -> dict[int, Beans]:
    """How the beans of each dish are read: beside what may stand on one tray with it, not what it is chosen over."""
    found: dict[int, Beans] = {}
    for spot in spots:
        mark = comparable(spot.choice)
        beside = [each for each in spots if each == spot or not mark or comparable(each.choice) != mark]
        meal = {each.serving_id: dish.crediting for each in beside if (dish := kept[each.recipe_id]).crediting}
        if read := readings(meal).get(spot.serving_id):
            found[spot.serving_id] = read
    return found


def _plate(spot: Spot, dish: Dish, beans: Beans | None, credited: bool) -> Plate:
    found = dish.crediting
    credits = week_credits(found, beans or Beans.ALTERNATE) if found and credited else {}
    food = Food(
        name=dish.name,
        credits=credits,
        nutrients=dish.held.totals,
        tags=_tags(dish, credits),
        product=dish.special.product,
        weight_g=dish.held.grams,
        milk_fat=dish.special.milk_fat,
        choice=comparable(spot.choice),
    )
    return Plate(
        serving_id=spot.serving_id,
        recipe_id=dish.recipe_id,
        name=dish.name,
        food=food,
        ask=list(found.ask) if found else [NO_VERSION],
        arithmetic=_arithmetic(dish, credited),
        covered=dish.held.covered,
        stated=dish.held.amounts,
        missing=dish.held.missing,
        beans=beans,
        choice=spot.choice,
    )


def _tags(dish: Dish, credits: Mapping[str, Fraction]) -> dict[str, bool]:
    tags = {"dessert": dish.dessert} if credits.get("grains") else {}
    if credits.get("grains") and dish.whole_grain_rich is not None:
        tags["whole_grain_rich"] = dish.whole_grain_rich
    if dish.special.juice:
        tags["juice"] = True
    if dish.special.flavored is not None:
        tags["flavored"] = dish.special.flavored
    return tags


def _arithmetic(dish: Dish, credited: bool) -> list[str]:
    if dish.crediting is None:
        return []
    return [*dish.crediting.arithmetic, *dish.grains_said] if credited else [NO_TABLE]
