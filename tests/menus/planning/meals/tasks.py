"""Small meals to choose for: made by chance, and one that people can read."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from random import Random

from menus.planning.meals.table import Dish, Group, Meal, Task

MONDAY = date(2026, 11, 30)
COMPONENTS = ("meat_alternate", "grains", "milk")
NEEDS = {"meat_alternate": Fraction(2), "grains": Fraction(1), "milk": Fraction(1)}


def dish(key: int, *, planned: bool = False, cost: int = 0, name: str = "", **credits: float) -> Dish:
    """A dish that credits so much."""
    return Dish(
        key, name or f"dish {key}", {each: Fraction(str(size)) for each, size in credits.items()}, planned, cost
    )


def group(key: int, children: int, *may: int, **needs: float) -> Group:
    """Children who may be given these dishes; without needs of their own they need NEEDS."""
    return Group(key, children, frozenset(may), {name: Fraction(str(each)) for name, each in needs.items()} or NEEDS)


def lunch(dishes: list[Dish], groups: list[Group], day: date = MONDAY) -> Meal:
    """One lunch."""
    return Meal(day, "lunch", tuple(dishes), tuple(groups))


def by_chance(random: Random) -> Task:
    """One or two meals, on one day or two, with so few children and dishes that every way can be tried."""
    days = random.choice([[MONDAY], [MONDAY, MONDAY], [MONDAY, MONDAY.replace(day=1, month=12)]])
    seats = [1, 1] if len(days) > 1 else random.choice([[3], [2, 1], [1, 1, 1]])
    on_hand = [_by_chance(random, key, planned=False) for key in range(10, 10 + random.choice([1, 2, 3]))]
    meals = []
    for place, day in enumerate(days):
        dishes = [_by_chance(random, key, planned=True) for key in range(random.choice([1, 2, 3]))] + on_hand
        groups = [
            Group(
                number,
                children,
                frozenset(each.key for each in dishes if random.random() < 0.6),
                {name: Fraction(random.choice([1, 2]), 2) for name in COMPONENTS[: random.choice([1, 2, 3])]},
            )
            for number, children in enumerate(seats if len(days) == 1 else [seats[place]])
        ]
        meals.append(Meal(day, f"meal {place}", tuple(dishes), tuple(groups)))
    stock = {each.key: random.choice([0, 1, 2]) for each in on_hand if random.random() < 0.3}
    return Task(tuple(meals), stock)


def _by_chance(random: Random, key: int, *, planned: bool) -> Dish:
    credits = {name: Fraction(random.choice([1, 2, 3, 4]), 4) for name in COMPONENTS if random.random() < 0.5}
    return Dish(key, f"dish {key}", credits, planned, random.choice([0, 1, 2, 5]))
