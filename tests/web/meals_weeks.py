"""Weeks for the pages on meals: written down by hand, so that every figure on a page can be foretold."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import pytest
from django.utils import timezone

from menus.mealpattern.patterns.judge import Judgement, judge
from menus.mealpattern.patterns.week import Food, Week
from menus.mealpattern.patterns.weekfile import read_week
from menus.models import Recipe, Serving, Site, SitePattern
from menus.services.weeks import Plate, SiteWeek
from menus.substances.names import comparable
from tests.factories import ServingFactory, cooked, labelled

MONDAY = date(2026, 11, 30)
DAYS = [MONDAY + timedelta(days=n) for n in range(5)]

SANDWICH: dict[str, Any] = {
    "food": "Turkey sandwich",
    "credits": {"grains": 2, "meat_alternate": 2},
    "whole_grain_rich": True,
    "nutrients": {"energy_kcal": 300, "sodium_mg": 600, "saturated_fat_g": 3},
}
PEARS: dict[str, Any] = {
    "food": "Pears",
    "credits": {"fruit": 0.5},
    "nutrients": {"energy_kcal": 60, "sodium_mg": 0, "saturated_fat_g": 0},
}
SALAD: dict[str, Any] = {
    "food": "Garden salad",
    "credits": {"vegetables.dark_green": 0.25, "vegetables.red_orange": 0.25, "vegetables.other": 0.25},
    "nutrients": {"energy_kcal": 100, "sodium_mg": 50, "saturated_fat_g": 1},
}
MILK: dict[str, Any] = {
    "food": "1% milk",
    "credits": {"milk": 1},
    "milk_fat": "1%",
    "nutrients": {"energy_kcal": 100, "sodium_mg": 100, "saturated_fat_g": 1.5},
}
MEAL = [SANDWICH, PEARS, SALAD, MILK]


def week(*meals: list[dict[str, Any]], group: str = "K-5", program: str = "nslp-lunch") -> Week:
    """Return a week of these days, from the last Monday of November 2026 on."""
    return read_week({"program": program, "group": group, "date": MONDAY.isoformat(), "days": list(meals)})


def judged(*meals: list[dict[str, Any]], **of: str) -> Judgement:
    """Return the same week judged."""
    return judge(week(*meals, **of))


@dataclass
class Kitchen:
    """What the dishes of a test credit, by name. A name that is not there credits nothing and is to be asked."""

    follows: dict[str, SitePattern]
    foods: dict[str, Food]

    def week_of(self, site: Site, monday: date, meal: str) -> SiteWeek:
        rows = Serving.objects.planned().filter(site=site, meal=meal).between(monday, monday + timedelta(days=6))
        days: dict[date, list[Plate]] = {}
        for row in rows.select_related("recipe"):
            days.setdefault(row.date, []).append(self.plate(row.pk, row.recipe, row.choice))
        return SiteWeek(site, monday, meal, self.follows.get(meal), list(days.items()))

    def with_dish(self, planned: SiteWeek, serving: int, recipe: Recipe) -> SiteWeek:
        days = [
            (
                day,
                [
                    self.plate(serving, recipe, plate.choice) if plate.serving_id == serving else plate
                    for plate in plates
                ],
            )
            for day, plates in planned.days
        ]
        return replace(planned, days=days)

    def plate(self, serving: int, recipe: Recipe, choice: str) -> Plate:
        known = self.foods.get(recipe.name)
        food = replace(known or Food(recipe.name, {}), choice=comparable(choice))
        if known is None:
            asked = [f"gravy of {recipe.name}"]
            return Plate(serving, recipe.pk, recipe.name, food, asked, [], choice=choice)
        amounts = ", ".join(f"{name} {amount}" for name, amount in food.credits.items())
        return Plate(serving, recipe.pk, recipe.name, food, [], [f"By the recipe: {amounts}."], choice=choice)


def a_kitchen(monkeypatch: pytest.MonkeyPatch, *more: dict[str, Any]) -> Kitchen:
    """Have the pages read what dishes credit from here."""
    known = week([*MEAL, *more], [], []).days[0]
    made = Kitchen({"lunch": SitePattern(program="nslp-lunch", group="K-5")}, {food.name: food for food in known})
    monkeypatch.setattr("compliance.web.meals_look.week_of", made.week_of)
    monkeypatch.setattr("compliance.web.meals_look.with_dish", made.with_dish)
    return made


def next_monday() -> date:
    today = timezone.localdate()
    return today + timedelta(days=7 - today.weekday())


def planned(site: Site, *dishes: str, days: int = 5, meal: str = "lunch") -> dict[str, Recipe]:
    """Plan the dishes on each day of the coming week, and return their recipes by name."""
    product = labelled("water", name="Water")
    recipes = {name: Recipe.objects.filter(name=name).first() or cooked(name, product) for name in dishes}
    for n in range(days):
        for recipe in recipes.values():
            ServingFactory(site=site, recipe=recipe, meal=meal, date=next_monday() + timedelta(days=n))
    return recipes


def less(meal: list[dict[str, Any]], food: dict[str, Any]) -> list[dict[str, Any]]:
    """The meal without one of its foods."""
    return [each for each in meal if each is not food]
