"""Small meals to choose for: made by chance, and one that people can read."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from random import Random

from menus.planning.meals.table import Dish, Group, Limit, Meal, Stock, Task, Week

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
    return Task(tuple(meals), in_all(stock))


def in_all(portions: dict[int, int]) -> tuple[Stock, ...]:
    """So many portions of each dish for all the meals, whenever they are."""
    return tuple(Stock(dish, count, date.min, date.max) for dish, count in portions.items())


def _by_chance(random: Random, key: int, *, planned: bool) -> Dish:
    credits = {name: Fraction(random.choice([1, 2, 3, 4]), 4) for name in COMPONENTS if random.random() < 0.5}
    choice = "main" if planned and random.random() < 0.3 else ""
    return Dish(key, f"dish {key}", credits, planned, random.choice([0, 1, 2, 5]), choice=choice)


def a_week_by_chance(random: Random) -> Task:
    """Two days or three of one lunch, with two children who are held to limits, alike or not."""
    days = [MONDAY.replace(day=1, month=12) + timedelta(days=each) for each in range(random.choice([2, 2, 3]))]
    names = COMPONENTS[: random.choice([1, 2])]
    limits = ("salt", "fat")[: random.choice([1, 2])]
    on_hand = [_counting(random, key, limits, planned=False) for key in range(10, 10 + random.choice([2, 3]))]
    alike = random.random() < 0.5
    meals = []
    for day in days:
        dishes = [_counting(random, key, limits, planned=True) for key in range(random.choice([1, 2]))] + on_hand
        seats = [(1, 2)] if alike else [(1,), (2,)]
        groups = [
            Group(
                number,
                len(members),
                frozenset(each.key for each in dishes if random.random() < (0.8 if not each.planned else 0.5)),
                {name: Fraction(random.choice([1, 2]), 2) for name in names},
                members,
            )
            for number, members in enumerate(seats)
        ]
        meals.append(Meal(day, "lunch", tuple(dishes), tuple(groups)))
    weeks = [
        Week(
            "lunch",
            tuple(days),
            members,
            tuple(
                Limit(name, Fraction(random.randint(-2, 3 * len(days))), Fraction(4), random.random() < 0.3)
                for name in limits
            ),
        )
        for members in ([(1, 2)] if alike else [(1,), (2,)])
    ]
    dated = (
        Stock(each.key, random.choice([0, 1, 2]), days[0], random.choice(days))
        for each in on_hand
        if random.random() < 0.4
    )
    return Task(tuple(meals), tuple(dated), tuple(weeks))


def _counting(random: Random, key: int, limits: tuple[str, ...], *, planned: bool) -> Dish:
    """A dish that states what is counted, as most do."""
    counts = {name: Fraction(random.randint(-1, 4)) for name in limits if random.random() < 0.9}
    return replace(_by_chance(random, key, planned=planned), counts=counts)
