"""What a search came to as plain values that are kept: dishes and portions, children by number, and why."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from compliance.checks.wholemeals.credits import ENERGY
from compliance.checks.wholemeals.facts import MealFacts, SpanFacts, Stop
from compliance.checks.wholemeals.figures import menu_of, weeks_told
from menus.planning.meals.lack import Barred, lacks
from menus.planning.meals.plan import Given, Meals
from menus.planning.meals.table import Stock

Plain = dict[str, Any]


def told(span: SpanFacts, found: Meals, by_hand: Meals) -> Plain:
    """Return the result of a search over some days."""
    return {
        "levels": [[each.aim, each.value, each.bound, each.proven] for each in found.levels],
        "tally": list(found.tally),
        "by_hand": list(by_hand.tally),
        "meals": [_meal(facts, span.stocks, found) for facts in span.meals],
        "weeks": weeks_told(span, found),
    }


def _meal(facts: MealFacts, stocks: Iterable[Stock], found: Meals) -> Plain:
    given = [each for each in found.given if (each.meal.day, each.meal.name) == (facts.day, facts.meal)]
    trays = [_tray(facts, stocks, each, child) for each in given for child in each.members]
    return {
        "day": facts.day.isoformat(),
        "meal": facts.meal,
        "program": facts.program,
        "children": facts.children,
        "unchecked": [facts.name(recipe) for recipe in facts.unchecked],
        "outlook": facts.is_outlook,
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
        {
            "recipe": key,
            "name": facts.name(key),
            "portions": count,
            "note": by_recipe[key].note,
            "cost": None if (cost := by_recipe[key].cost) is None else float(cost * count),
        }
        for key, count in wanted.items()
    ]
    return sorted(rows, key=lambda row: (-row["portions"], row["name"]))


def _tray(facts: MealFacts, stocks: Iterable[Stock], given: Given, child: int) -> Plain:
    planned = [each.recipe_id for each in facts.servings]
    return {
        "child": child,
        "classroom": facts.classrooms[child],
        "keeps": [dish.name for dish in given.tray.kept],
        "gets": [dish.name for dish in given.tray.extra],
        "away": [
            {"dish": facts.name(recipe), "why": [_stop(stop) for stop in stops]}
            for recipe in planned
            if (stops := facts.stops_of(child, recipe))
        ],
        "energy": _energy(facts, given),
        "open": [
            {"what": _said(facts, lack.component), "barred": [_barred(facts, child, each) for each in lack.barred]}
            for lack in lacks([given], stocks)
        ],
    }


def _stop(stop: Stop) -> list[str]:
    return [stop.substance, stop.outcome.code, *([stop.said] if stop.said else [])]


def _barred(facts: MealFacts, child: int, barred: Barred) -> Plain:
    stops = facts.stops_of(child, barred.dish.key)
    return {"dish": barred.dish.name, "bar": barred.bar.value, "why": [_stop(stop) for stop in stops]}


def _said(facts: MealFacts, measure: str) -> str:
    return next(need.what for need in facts.needs if need.measure == measure)


def _energy(facts: MealFacts, given: Given) -> float | None:
    """By how many kilocalories the tray differs from the meal planned for all; None where some dish states none."""
    menu = [food.nutrients.get(ENERGY) for food in menu_of(facts)]
    tray = [dish.energy for dish in given.dishes]
    if None in menu or None in tray:
        return None
    return float(sum(each or 0 for each in tray) - sum(each or 0 for each in menu))
