"""Weekly figures of nutrients, child by child: what the menu comes to, what the child's trays do.

What a dish does not state is not known, and never nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import Any

from compliance.checks.wholemeals.credits import ENERGY
from compliance.checks.wholemeals.facts import MealFacts, MealWeek, SpanFacts
from menus.mealpattern.patterns.rule import Per
from menus.mealpattern.patterns.week import Food
from menus.mealpattern.patterns.weekly import Figure
from menus.planning.meals.plan import Meals
from menus.planning.meals.table import Limit

Plain = dict[str, Any]


def limits_of(figures: Iterable[Figure], days: Sequence[MealFacts]) -> tuple[Limit, ...]:
    """Return the figures that a child's trays on these days can be held to.

    Left out is what cannot be known because a planned dish does not state it. Where the menu itself is beyond the
    figure on these days, the child's trays may be as far beyond it, and no further.
    """
    menu = [food for facts in days for food in menu_of(facts)]
    energy = sum((food.nutrients.get(ENERGY, Fraction(0)) for food in menu), Fraction(0))
    return tuple(_limits(figures, menu, energy, len(days)))


def _limits(figures: Iterable[Figure], menu: Sequence[Food], energy: Fraction, days: int) -> Iterator[Limit]:
    for figure in figures:
        scale = figure.figure * (energy if figure.rule.per is Per.ENERGY_SHARE else days)
        if figure.silent(menu) or scale <= 0:
            continue
        comes_to = sum((figure.counted(food) or Fraction(0) for food in menu), Fraction(0))
        asked = figure.most(days)
        yield Limit(figure.name, max(asked, comes_to), scale, figure.strict and comes_to < asked)


def menu_of(facts: MealFacts) -> list[Food]:
    """Return the meal planned for all; of a choice the dish that stands first."""
    taken: set[str] = set()
    foods = []
    for serving in facts.servings:
        food = facts.foods[serving.recipe_id]
        if not food.choice or food.choice not in taken:
            foods.append(food)
            taken.add(food.choice)
    return foods


def weeks_told(span: SpanFacts, found: Meals) -> list[Plain]:
    """Return for each week of a meal what every child's trays come to, figure by figure."""
    trays = {(given.meal.day, given.meal.name, child): given for given in found.given for child in given.members}
    told = []
    for week in span.weeks:
        facts = {meal.day: meal for meal in span.meals if meal.meal == week.meal}
        children: dict[int, list[tuple[MealFacts, list[Food]]]] = {}
        for day in week.days:
            for child in facts[day].classrooms:
                given = trays[day, week.meal, child]
                foods = [facts[day].foods[dish.key] for dish in given.dishes]
                children.setdefault(child, []).append((facts[day], foods))
        told.append(
            {
                "meal": week.meal,
                "monday": week.monday.isoformat(),
                "children": [
                    {"child": child, "classroom": days[-1][0].classrooms[child], "figures": _figures(week, days)}
                    for child, days in sorted(children.items())
                    if any(foods != menu_of(meal) for meal, foods in days)
                ],
            }
        )
    return [week for week in told if week["children"]]


def _figures(week: MealWeek, days: Sequence[tuple[MealFacts, list[Food]]]) -> list[Plain]:
    """Each weekly figure: what is asked, what the menu of these days comes to, and what the child's trays do."""
    menu = [food for facts, _ in days for food in menu_of(facts)]
    eaten = [food for _, foods in days for food in foods]
    rows: dict[str, Plain] = {}
    for figure in week.figures:
        of_menu, of_child = figure.amount(menu, len(days)), figure.amount(eaten, len(days))
        row = rows.setdefault(
            figure.rule.id,
            {
                "what": figure.rule.what,
                "unit": figure.rule.unit,
                "least": None,
                "most": None,
                "days": len(days),
                "menu": _plain(of_menu),
                "child": _plain(of_child),
                "silent": list(figure.silent(eaten)),
                "source": figure.rule.source,
                "strict": figure.rule.strict,
                "passed": "",
            },
        )
        row["least" if figure.is_least else "most"] = _plain(figure.figure)
        if of_child is not None and _passes(figure, of_child):
            row["passed"] = "menu too" if of_menu is not None and _passes(figure, of_menu) else "swap"
    return list(rows.values())


def _passes(figure: Figure, amount: Fraction) -> bool:
    if figure.is_least:
        return amount < figure.figure
    return amount > figure.figure or (figure.strict and amount == figure.figure)


def _plain(amount: Fraction | None) -> float | None:
    return None if amount is None else round(float(amount), 2)
