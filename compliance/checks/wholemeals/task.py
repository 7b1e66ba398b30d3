"""The facts of some days as the search takes them: children who are alike at a meal become one group."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from compliance.checks.wholemeals.credits import ENERGY
from compliance.checks.wholemeals.facts import MealFacts, MealWeek, SpanFacts
from compliance.checks.wholemeals.figures import limits_of
from menus.mealpattern.patterns.weekly import Figure
from menus.planning.meals.table import Dish, Group, Meal, Task, Week

CENTS = 100


def task_of(span: SpanFacts) -> Task:
    """Return the days as a task; each child goes by its id.

    Nothing is left out: whoever is restricted stands in a group of every meal. Children who are alike on each day of
    a week are held to its limits together.
    """
    figures = {(week.meal, day): week.figures for week in span.weeks for day in week.days}
    meals = tuple(_meal(facts, figures.get((facts.meal, facts.day), ())) for facts in span.meals)
    groups = {(meal.day, meal.name): meal.groups for meal in meals}
    weeks = tuple(
        found for week in span.weeks for found in _weeks(week, span, {day: groups[day, week.meal] for day in week.days})
    )
    return Task(meals, span.stocks, weeks)


def _meal(facts: MealFacts, figures: tuple[Figure, ...]) -> Meal:
    alike: dict[frozenset[int], list[int]] = {}
    for child in facts.classrooms:
        may = frozenset(recipe for recipe in facts.recipes if not facts.stops_of(child, recipe))
        alike.setdefault(may, []).append(child)
    needs = {need.measure: need.least for need in facts.needs if need.least > 0}
    groups = tuple(
        Group(number, len(children), may, needs, tuple(children))
        for number, (may, children) in enumerate(sorted(alike.items(), key=lambda each: each[1]))
    )
    return Meal(facts.day, facts.meal, _dishes(facts, figures), groups)


def _dishes(facts: MealFacts, figures: tuple[Figure, ...]) -> tuple[Dish, ...]:
    costs = {each.recipe_id: int((each.cost or Decimal(0)) * CENTS) for each in facts.on_hand}
    return tuple(
        Dish(
            key=recipe,
            name=facts.name(recipe),
            credits={need.measure: need.of(facts.foods[recipe]) for need in facts.needs},
            planned=recipe not in costs,
            cost=costs.get(recipe, 0),
            energy=facts.foods[recipe].nutrients.get(ENERGY),
            counts={
                figure.name: amount for figure in figures if (amount := figure.counted(facts.foods[recipe])) is not None
            },
            choice=facts.foods[recipe].choice if recipe not in costs else "",
        )
        for recipe in facts.recipes
    )


def _weeks(week: MealWeek, span: SpanFacts, groups: dict[date, tuple[Group, ...]]) -> Iterator[Week]:
    """Children who stand in the same groups on the same days, with the limits that can be held for them."""
    seats: dict[int, list[tuple[date, int]]] = {}
    for day, there in groups.items():
        for group in there:
            for child in group.members:
                seats.setdefault(child, []).append((day, group.key))
    alike: dict[tuple[tuple[date, int], ...], list[int]] = {}
    for child, places in seats.items():
        alike.setdefault(tuple(places), []).append(child)
    facts = {meal.day: meal for meal in span.meals if meal.meal == week.meal}
    for stood_at, children in alike.items():
        days = tuple(day for day in week.days if day in dict(stood_at))
        limits = limits_of(week.figures, [facts[day] for day in days])
        if limits:
            yield Week(week.meal, days, tuple(children), limits)
