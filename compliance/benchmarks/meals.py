"""What a whole meal for each restricted child costs to find: weeks of a school, beside swapping dish by dish.

The school, its dishes and who avoids what are invented, by a fixed seed; the choice is the service's own, without a
database. Shares are planning figures of the benchmark and say nothing of any school.
"""

from __future__ import annotations

import platform
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from random import Random
from time import perf_counter
from typing import Any

from menus.models.cycle import SIX_DAYS
from menus.planning.meals.byhand import by_hand
from menus.planning.meals.plan import AIMS, Meals
from menus.planning.meals.search import choose
from menus.planning.meals.table import Dish, Group, Limit, Meal, Stock, Task, Week

SEED = 7
RESTRICTED = Fraction(8, 100)
SECONDS = 5
"""For each week: so long somebody waits for it at most."""
MONDAY = date(2026, 11, 30)
DAYS = 5

AVOIDED = {"milk": 22, "peanut": 20, "egg": 12, "wheat": 12, "soy": 8, "fish": 8, "sesame": 6, "meat": 12}
"""So many of a hundred restricted children avoid it; two in five avoid a second of these too."""

NEEDS: dict[str, dict[str, int | Fraction]] = {
    "lunch": {"meat_alternate": 1, "grains": 1, "vegetables": Fraction(3, 4), "fruit": Fraction(1, 2), "milk": 1},
    "breakfast": {"grains": 1, "fruit": Fraction(1, 2), "milk": 1},
}
"""The daily figures of 7 CFR 210.10(c) for K-5 (read); breakfast after 220.8(c), with half a cup of fruit."""

PLANNED = {
    "lunch": (
        (("meat_alternate", "grains"), ("milk", "egg", "wheat", "soy", "fish", "meat", "peanut", "sesame"), 3),
        (("vegetables",), ("milk", "soy", "egg", "sesame"), 1),
        (("fruit",), (), 0),
        (("milk",), ("milk",), 1),
    ),
    "breakfast": (
        (("grains",), ("wheat", "milk", "egg", "soy"), 2),
        (("fruit",), (), 0),
        (("milk",), ("milk",), 1),
    ),
}
"""By meal its dishes: what each fills in full, and of which foods it holds how many by chance."""

ON_HAND = (
    (("milk",), ("soy",)),
    (("milk",), ()),
    (("meat_alternate",), ("soy",)),
    (("meat_alternate",), ("egg",)),
    (("meat_alternate",), ("meat",)),
    (("meat_alternate",), ("sesame",)),
    (("grains",), ("wheat",)),
    (("grains",), ()),
    (("grains",), ("milk", "egg")),
    (("meat_alternate", "grains"), ("meat",)),
    (("meat_alternate", "grains"), ("peanut",)),
    (("meat_alternate", "grains"), ("egg", "milk")),
    (("vegetables",), ()),
    (("vegetables",), ("soy",)),
)
"""The dishes on hand: what each fills, and what it holds. Some that hold nothing are dear: see `_on_hand`."""


HOLDS = {
    "meat_alternate": ((120, 230), (150, 520), (1, 5)),
    "grains": ((90, 170), (60, 260), (0, 2)),
    "vegetables": ((40, 90), (40, 200), (0, 1)),
    "fruit": ((50, 80), (0, 10), (0, 0)),
    "milk": ((90, 120), (90, 130), (1, 2)),
}
"""By component from how much to how much a portion holds: kilocalories, mg of sodium, grams of saturated fat."""

LIMITS = {"energy, least": 550, "energy, most": 650, "sodium": 1110, "saturated fat": 0}
"""Of a lunch of K-5, on the average of the week, as on the Monday (210.10(f), read); saturated fat less than a tenth of
the energy. Breakfast is held to none."""


def meals(children: int, weeks: int = 1, *, limits: bool = False) -> dict[str, Any]:
    """Return the figures of weeks of a school of so many children, both ways, and what the one takes of the other.

    With `limits`, lunches are held to what the week's menu keeps of the limits for its nutrients.
    """
    task = school_week(children, weeks, limits=limits)
    begun = perf_counter()
    found = choose(task, SECONDS * weeks)
    searched = perf_counter() - begun
    begun = perf_counter()
    swapped = by_hand(task)
    by_swapping = perf_counter() - begun
    return {
        "machine": {"python": platform.python_version()},
        "children": children,
        "weeks": weeks,
        "limits": limits,
        "restricted": sum(group.children for group in task.meals[0].groups),
        "meals": len(task.meals),
        "groups_a_meal": max(len(meal.groups) for meal in task.meals),
        "least_work": _figures(found)
        | {"seconds": round(searched, 3), "proven": found.proven, "at_least": [level.bound for level in found.levels]},
        "dish_by_dish": _figures(swapped) | {"seconds": round(by_swapping, 3)},
        "ratio": _ratios(found, swapped),
    }


def school_week(children: int, weeks: int = 1, *, limits: bool = False) -> Task:
    """Return the meals of weeks of the school: the same for the same number of children."""
    random = Random(SEED)
    avoid = [_avoided(random) for _ in range(max(1, round(children * RESTRICTED)))]
    on_hand = list(_on_hand())
    mondays = [MONDAY + timedelta(weeks=number) for number in range(weeks)]
    days = [monday + timedelta(days=number) for monday in mondays for number in range(DAYS)]
    planned = tuple(_meal(random, day, name, on_hand, avoid) for day in days for name in NEEDS)
    stocks = tuple(Stock(100, children // 25, monday, monday + SIX_DAYS) for monday in mondays)
    if not limits:
        return Task(planned, stocks)
    planned = _with_nutrients(planned)
    return Task(planned, stocks, tuple(week for monday in mondays for week in _weeks(monday, planned)))


def _weeks(monday: date, planned: Iterable[Meal]) -> Iterable[Week]:
    """The lunches of a week, children who are alike on all its days together."""
    lunches = [meal for meal in planned if meal.name == "lunch" and monday <= meal.day < monday + timedelta(days=7)]
    alike: dict[tuple[int, ...], list[int]] = {}
    groups = [{member: group.key for group in meal.groups for member in group.members} for meal in lunches]
    for member in sorted(groups[0]):
        alike.setdefault(tuple(group[member] for group in groups), []).append(member)
    limits = tuple(_limit(name, figure, lunches) for name, figure in LIMITS.items())
    return [Week("lunch", tuple(meal.day for meal in lunches), tuple(kind), limits) for kind in alike.values()]


def _limit(name: str, figure: int, lunches: list[Meal]) -> Limit:
    """The figure over the days, or what the menu of all comes to, where that is beyond it."""
    asked = Fraction(-figure if name == "energy, least" else figure) * len(lunches)
    menu = sum((dish.counts[name] for meal in lunches for dish in meal.planned), Fraction(0))
    scale = Fraction(10 * 600 if name == "saturated fat" else figure) * len(lunches)
    return Limit(name, max(asked, menu), scale, name == "saturated fat" and menu < asked)


def _with_nutrients(meals: Iterable[Meal]) -> tuple[Meal, ...]:
    """The same meals with what their dishes hold: a dish on hand the same in each."""
    random = Random(SEED)
    on_hand = {dish.key: _holding(random, dish) for dish, _ in _on_hand()}
    return tuple(
        replace(meal, dishes=tuple(on_hand.get(dish.key) or _holding(random, dish) for dish in meal.dishes))
        for meal in meals
    )


def _holding(random: Random, dish: Dish) -> Dish:
    """The same dish with what a portion of it holds, as each weekly limit counts it."""
    held = [[random.randint(*reach) for reach in HOLDS[component]] for component in dish.credits]
    energy, sodium, fat = (Fraction(sum(each)) for each in zip(*held, strict=True))
    counts = {"energy, least": -energy, "energy, most": energy, "sodium": sodium}
    return replace(dish, counts=counts | {"saturated fat": 900 * fat - 10 * energy})


def _avoided(random: Random) -> frozenset[str]:
    foods, weights = list(AVOIDED), list(AVOIDED.values())
    first = random.choices(foods, weights)[0]
    second = random.choices(foods, weights)[0] if random.random() < 0.4 else first
    return frozenset({first, second})


def _on_hand() -> Iterable[tuple[Dish, frozenset[str]]]:
    for number, (fills, holds) in enumerate(ON_HAND, start=100):
        credits = {component: Fraction(1) for component in fills}
        yield Dish(number, f"on hand {number}", credits, planned=False, cost=60 if holds else 120), frozenset(holds)


def _meal(
    random: Random, day: date, name: str, on_hand: list[tuple[Dish, frozenset[str]]], avoid: list[frozenset[str]]
) -> Meal:
    dishes = [*_planned(random, name), *on_hand]
    alike: dict[frozenset[int], list[int]] = {}
    for child, foods in enumerate(avoid):
        may = frozenset(dish.key for dish, holds in dishes if not holds & foods)
        alike.setdefault(may, []).append(child)
    needs = {component: Fraction(amount) for component, amount in NEEDS[name].items()}
    groups = [Group(number, len(who), may, needs, tuple(who)) for number, (may, who) in enumerate(alike.items())]
    return Meal(day, name, tuple(dish for dish, _ in dishes), tuple(groups))


def _planned(random: Random, name: str) -> Iterable[tuple[Dish, frozenset[str]]]:
    for number, (fills, may_hold, count) in enumerate(PLANNED[name]):
        credits = {component: Fraction(NEEDS[name][component]) for component in fills}
        yield Dish(number, f"planned {number}", credits, planned=True), frozenset(random.sample(may_hold, count))


def _figures(found: Meals) -> dict[str, int]:
    return dict(zip((aim.replace(" ", "_") for aim in AIMS), found.tally, strict=True))


def _ratios(found: Meals, swapped: Meals) -> dict[str, float | None]:
    """What the choice takes for one of the other way; None where the other takes nothing."""
    names = (aim.replace(" ", "_") for aim in AIMS)
    pairs = zip(names, found.tally, swapped.tally, strict=True)
    return {name: round(here / there, 3) if there else None for name, here, there in pairs}
