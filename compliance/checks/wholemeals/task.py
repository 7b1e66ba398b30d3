"""The facts of a week as the search takes them: children who are alike at a meal become one group."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from compliance.checks.wholemeals.credits import ENERGY
from compliance.checks.wholemeals.facts import MealFacts, WeekFacts
from menus.planning.meals.table import Dish, Group, Meal, Task

CENTS = 100

GroupAt = tuple[date, str, int]
"""A group by its day, meal and number."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the search is asked, and who the children of each group are, by id."""

    task: Task
    members: Mapping[GroupAt, tuple[int, ...]]


def asked_of(week: WeekFacts) -> Asked:
    """Return the week as a task. Nothing is left out: whoever is restricted stands in a group of every meal."""
    members: dict[GroupAt, tuple[int, ...]] = {}
    meals = tuple(_meal(facts, members) for facts in week.meals)
    return Asked(Task(meals, week.stock), members)


def _meal(facts: MealFacts, members: dict[GroupAt, tuple[int, ...]]) -> Meal:
    alike: dict[frozenset[int], list[int]] = {}
    for child in facts.classrooms:
        may = frozenset(recipe for recipe in facts.recipes if not facts.stops_of(child, recipe))
        alike.setdefault(may, []).append(child)
    needs = {need.measure: need.least for need in facts.needs if need.least > 0}
    groups = []
    for number, (may, children) in enumerate(sorted(alike.items(), key=lambda each: each[1])):
        groups.append(Group(number, len(children), may, needs))
        members[facts.day, facts.meal, number] = tuple(children)
    return Meal(facts.day, facts.meal, _dishes(facts), tuple(groups))


def _dishes(facts: MealFacts) -> tuple[Dish, ...]:
    costs = {each.recipe_id: int((each.cost or Decimal(0)) * CENTS) for each in facts.on_hand}
    return tuple(
        Dish(
            key=recipe,
            name=facts.name(recipe),
            credits={need.measure: need.of(facts.foods[recipe]) for need in facts.needs},
            planned=recipe not in costs,
            cost=costs.get(recipe, 0),
            energy=facts.foods[recipe].nutrients.get(ENERGY),
        )
        for recipe in facts.recipes
    )
