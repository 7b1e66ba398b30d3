"""What a whole meal for each restricted child costs to find: a week of a school, beside swapping dish by dish.

The school, its dishes and who avoids what are invented, by a fixed seed; the choice is the service's own, without a
database. Shares are planning figures of the benchmark and say nothing of any school.
"""

from __future__ import annotations

import platform
from collections.abc import Iterable
from datetime import date, timedelta
from fractions import Fraction
from random import Random
from time import perf_counter
from typing import Any

from menus.planning.meals.byhand import by_hand
from menus.planning.meals.plan import AIMS, Meals
from menus.planning.meals.search import choose
from menus.planning.meals.table import Dish, Group, Meal, Task

SEED = 7
RESTRICTED = Fraction(8, 100)
SECONDS = 60
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


def meals(children: int) -> dict[str, Any]:
    """Return the figures of a week of a school of so many children, both ways, and what the one takes of the other."""
    task = school_week(children)
    begun = perf_counter()
    found = choose(task, SECONDS)
    searched = perf_counter() - begun
    begun = perf_counter()
    swapped = by_hand(task)
    by_swapping = perf_counter() - begun
    return {
        "machine": {"python": platform.python_version()},
        "children": children,
        "restricted": sum(group.children for group in task.meals[0].groups),
        "meals": len(task.meals),
        "groups_a_meal": max(len(meal.groups) for meal in task.meals),
        "least_work": _figures(found) | {"seconds": round(searched, 3), "proven": found.proven},
        "dish_by_dish": _figures(swapped) | {"seconds": round(by_swapping, 3)},
        "ratio": _ratios(found, swapped),
    }


def school_week(children: int) -> Task:
    """Return the meals of a week of the school: the same for the same number of children."""
    random = Random(SEED)
    avoid = [_avoided(random) for _ in range(max(1, round(children * RESTRICTED)))]
    on_hand = list(_on_hand())
    days = [MONDAY + timedelta(days=number) for number in range(DAYS)]
    return Task(
        tuple(_meal(random, day, name, on_hand, avoid) for day in days for name in NEEDS), {100: children // 25}
    )


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
    alike: dict[frozenset[int], int] = {}
    for foods in avoid:
        may = frozenset(dish.key for dish, holds in dishes if not holds & foods)
        alike[may] = alike.get(may, 0) + 1
    needs = {component: Fraction(amount) for component, amount in NEEDS[name].items()}
    groups = [Group(number, count, may, needs) for number, (may, count) in enumerate(alike.items())]
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
