"""Every way of adding dishes to trays, child by child, tried one after the other.

Written apart from the search that it checks: it shares its input values and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import chain, combinations, product

from menus.planning.meals.table import Dish, Group, Meal, Task

Best = tuple[int, ...]
"""Children without a whole meal, components left open, limits not known to be kept, percent beyond them, extra dishes,
extra portions, cost."""

Seat = tuple[Meal, Group, int]
"""A child at a meal."""

Way = tuple[tuple[Dish, ...], tuple[Dish, ...]]
"""What a child has of the menu, and what is added."""


def best(task: Task) -> Best:
    """Return the least that any way reaches. Where limits are held, no dish is added that fills nothing."""
    seats = [(meal, group, member) for meal in task.meals for group in meal.groups for member in group.members]
    ways = [
        [way for way in _ways(meal, group) if not (task.weeks and _has_idle(group, way))] for meal, group, _ in seats
    ]
    return min(_counted(task, seats, chosen) for chosen in product(*ways) if _in_stock(task, seats, chosen))


def _ways(meal: Meal, group: Group) -> list[Way]:
    """Any dishes on hand, beside the menu with one dish of each choice, or none where none may be given."""
    planned = [dish for dish in meal.dishes if dish.planned and dish.key in group.may]
    marks = {dish.choice for dish in planned} - {""}
    menus = [
        menu
        for menu in _subsets(planned)
        if all(dish in menu for dish in planned if not dish.choice)
        and all(sum(dish.choice == mark for dish in menu) == 1 for mark in marks)
    ]
    extras = _subsets([dish for dish in meal.dishes if not dish.planned and dish.key in group.may])
    return [(menu, extra) for menu in menus for extra in extras]


def _subsets(dishes: list[Dish]) -> list[tuple[Dish, ...]]:
    return list(chain.from_iterable(combinations(dishes, size) for size in range(len(dishes) + 1)))


def _has_idle(group: Group, way: Way) -> bool:
    menu, extra = way
    whole = _short(group, way)
    return any(_short(group, (menu, tuple(each for each in extra if each is not dish))) == whole for dish in extra)


def _in_stock(task: Task, seats: list[Seat], chosen: tuple[Way, ...]) -> bool:
    for stock in task.stocks:
        used = 0
        for (meal, _, _), (_, extra) in zip(seats, chosen, strict=True):
            if stock.first <= meal.day <= stock.last:
                used += sum(dish.key == stock.dish for dish in extra)
        if used > stock.portions:
            return False
    return True


def _counted(task: Task, seats: list[Seat], chosen: tuple[Way, ...]) -> Best:
    unmet = still_open = 0
    prepared = set()
    for (meal, group, _), way in zip(seats, chosen, strict=True):
        short = len(_short(group, way))
        unmet += short > 0
        still_open += short
        prepared |= {(meal.day, dish.key) for dish in way[1]}
    portions = sum(len(extra) for _, extra in chosen)
    cost = sum(dish.cost for _, extra in chosen for dish in extra)
    over = list(_over(task, seats, chosen))
    return unmet, still_open, len(over), sum(over), len(prepared), portions, cost


def _short(group: Group, way: Way) -> set[str]:
    tray = [*way[0], *way[1]]
    return {
        component
        for component, need in group.needs.items()
        if sum((dish.credits.get(component, Fraction(0)) for dish in tray), Fraction(0)) < need
    }


def _over(task: Task, seats: list[Seat], chosen: tuple[Way, ...]) -> Iterator[int]:
    """Yield by how many percent a child's week passes a limit, begun ones counting whole; 0 where nobody knows."""
    eaten: dict[tuple[str, int], list[Dish]] = {}
    for (meal, _, member), (menu, extra) in zip(seats, chosen, strict=True):
        eaten.setdefault((meal.name, member), []).extend([*menu, *extra])
    for week in task.weeks:
        for member in week.members:
            for limit in week.limits:
                amounts = [dish.counts.get(limit.name) for dish in eaten[week.meal, member]]
                known = [each for each in amounts if each is not None]
                beyond = sum(known, Fraction(0)) - limit.most
                if len(known) < len(amounts):
                    yield 0
                elif beyond > 0 or (beyond == 0 and limit.strict):
                    percent = beyond * 100 / limit.scale
                    yield percent.numerator // percent.denominator + (percent.denominator > 1 or limit.strict)
