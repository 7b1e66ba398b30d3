"""What a search came to as plain values that are kept: dishes and portions, children by number, and why."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from compliance.checks.wholemeals.facts import MealFacts, Stop, WeekFacts
from compliance.checks.wholemeals.task import Asked
from menus.planning.meals.lack import Barred, lacks
from menus.planning.meals.plan import Given, Meals

Plain = dict[str, Any]


def told(week: WeekFacts, asked: Asked, found: Meals, by_hand: Meals) -> Plain:
    """Return the result of a plan."""
    return {
        "levels": [[each.aim, each.value, each.bound, each.proven] for each in found.levels],
        "by_hand": list(by_hand.tally),
        "meals": [_meal(facts, asked, found) for facts in week.meals],
    }


def _meal(facts: MealFacts, asked: Asked, found: Meals) -> Plain:
    given = [each for each in found.given if (each.meal.day, each.meal.name) == (facts.day, facts.meal)]
    trays = [tray for each in _one_by_one(facts, asked, given) for tray in each]
    return {
        "day": facts.day.isoformat(),
        "meal": facts.meal,
        "program": facts.program,
        "children": facts.children,
        "unchecked": [facts.name(recipe) for recipe in facts.unchecked],
        "needs": [_need(need) for need in facts.needs],
        "asked": [[facts.name(recipe), list(what)] for recipe, what in facts.asked.items()],
        "planned": [_planned(facts, recipe) for recipe in (each.recipe_id for each in facts.servings)],
        "extra": _extra(found, facts),
        "trays": sorted(trays, key=lambda tray: int(tray["child"])),
    }


def _need(need: Any) -> Plain:
    return {
        "what": need.what,
        "least": float(need.asked if need.asked is not None else need.offered),
        "offered": float(need.offered),
        "unit": need.unit,
        "short": need.falls_short,
        "source": need.source,
    }


def _planned(facts: MealFacts, recipe: int) -> Plain:
    kept_away = sum(bool(facts.stops_of(child, recipe)) for child in facts.classrooms)
    return {"recipe": recipe, "name": facts.name(recipe), "portions": facts.children - kept_away, "away": kept_away}


def _extra(found: Meals, facts: MealFacts) -> list[Plain]:
    here = (facts.day, facts.meal)
    wanted = {key: count for (*at, key), count in found.portions.items() if tuple(at) == here}
    by_recipe = {each.recipe_id: each for each in facts.on_hand}
    rows = [
        {"recipe": key, "name": facts.name(key), "portions": count, "note": by_recipe[key].note}
        for key, count in wanted.items()
    ]
    return sorted(rows, key=lambda row: (-row["portions"], row["name"]))


def _one_by_one(facts: MealFacts, asked: Asked, given: list[Given]) -> Iterator[list[Plain]]:
    """Deal the trays of each group to its children, in the order of their numbers."""
    waiting = {key: list(children) for key, children in asked.members.items()}
    for each in given:
        members = waiting[facts.day, facts.meal, each.group.key]
        yield [_tray(facts, asked, each, members.pop(0)) for _ in range(each.children)]


def _tray(facts: MealFacts, asked: Asked, given: Given, child: int) -> Plain:
    planned = [each.recipe_id for each in facts.servings]
    return {
        "child": child,
        "classroom": facts.classrooms[child],
        "keeps": [facts.name(recipe) for recipe in planned if recipe in given.group.may],
        "gets": [dish.name for dish in given.tray.extra],
        "away": [
            {"dish": facts.name(recipe), "why": [_stop(stop) for stop in stops]}
            for recipe in planned
            if (stops := facts.stops_of(child, recipe))
        ],
        "energy": _energy(given),
        "open": [
            {"what": _said(facts, lack.component), "barred": [_barred(facts, child, each) for each in lack.barred]}
            for lack in lacks([given], asked.task.stock)
        ],
    }


def _stop(stop: Stop) -> list[str]:
    return [stop.substance, stop.outcome.code]


def _barred(facts: MealFacts, child: int, barred: Barred) -> Plain:
    stops = facts.stops_of(child, barred.dish.key)
    return {"dish": barred.dish.name, "bar": barred.bar.value, "why": [_stop(stop) for stop in stops]}


def _said(facts: MealFacts, measure: str) -> str:
    return next(need.what for need in facts.needs if need.measure == measure)


def _energy(given: Given) -> float | None:
    """By how many kilocalories the tray differs from the meal planned for all; None where some dish states none."""
    dishes = (*given.meal.planned, *given.tray.extra)
    if any(dish.energy is None for dish in dishes):
        return None
    return float(sum(dish.energy or 0 for dish in given.dishes) - sum(dish.energy or 0 for dish in given.meal.planned))
