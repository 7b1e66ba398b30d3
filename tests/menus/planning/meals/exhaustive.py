"""Every way of adding dishes to trays, child by child, tried one after the other.

Written apart from the search that it checks: it shares its input values and nothing else.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import chain, combinations, product

from menus.planning.meals.table import Dish, Group, Meal, Task

Best = tuple[int, int, int, int, int]
"""Children without a whole meal, components left open, extra dishes, extra portions, cost."""


def best(task: Task) -> Best:
    """Return the least that any way reaches."""
    seats = [(meal, group) for meal in task.meals for group in meal.groups for _ in range(group.children)]
    ways = [_subsets([dish for dish in meal.on_hand if dish.key in group.may]) for meal, group in seats]
    reached = [_counted(seats, chosen) for chosen in product(*ways) if _in_stock(task, chosen)]
    return min(reached)


def _subsets(dishes: list[Dish]) -> list[tuple[Dish, ...]]:
    return list(chain.from_iterable(combinations(dishes, size) for size in range(len(dishes) + 1)))


def _in_stock(task: Task, chosen: tuple[tuple[Dish, ...], ...]) -> bool:
    used = [dish.key for extra in chosen for dish in extra]
    return all(used.count(key) <= portions for key, portions in task.stock.items())


def _counted(seats: list[tuple[Meal, Group]], chosen: tuple[tuple[Dish, ...], ...]) -> Best:
    unmet = still_open = 0
    prepared = set()
    for (meal, group), extra in zip(seats, chosen, strict=True):
        tray = [dish for dish in meal.dishes if dish.planned and dish.key in group.may] + list(extra)
        short = 0
        for component, need in group.needs.items():
            if sum((dish.credits.get(component, Fraction(0)) for dish in tray), Fraction(0)) < need:
                short += 1
        unmet += short > 0
        still_open += short
        prepared |= {(meal.day, dish.key) for dish in extra}
    portions = sum(len(extra) for extra in chosen)
    return unmet, still_open, len(prepared), portions, sum(dish.cost for extra in chosen for dish in extra)
