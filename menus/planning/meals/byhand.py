"""What a kitchen comes to that swaps dish by dish: the measure of what choosing for all at once is worth.

For each child in turn, each dish that is kept from it is replaced by the first dish on hand that may be given and
credits all that the dish credits of what the child needs (common practice, no source).
"""

from __future__ import annotations

from fractions import Fraction

from menus.planning.meals.plan import Given, Meals
from menus.planning.meals.table import Dish, Group, Meal, Task, kept, open_components
from menus.planning.meals.trays import Tray


def by_hand(task: Task) -> Meals:
    """Return the meals as swapping dish by dish leaves them. Stock goes to whoever comes first."""
    left = dict(task.stock)
    return Meals(
        tuple(
            Given(meal, group, 1, _swapped(meal, group, left))
            for meal in task.meals
            for group in meal.groups
            for _ in range(group.children)
        )
    )


def _swapped(meal: Meal, group: Group, left: dict[int, int]) -> Tray:
    extra: list[Dish] = []
    for dish in meal.planned:
        if dish.key not in group.may and (instead := _instead(dish, meal, group, extra, left)):
            extra.append(instead)
            if instead.key in left:
                left[instead.key] -= 1
    return Tray(tuple(extra), open_components(group, (*kept(meal, group), *extra)))


def _instead(dish: Dish, meal: Meal, group: Group, extra: list[Dish], left: dict[int, int]) -> Dish | None:
    """The first dish on hand that stands in for it; one that is on the tray already stands in for one dish alone."""
    for other in meal.on_hand:
        if other.key in group.may and other not in extra and left.get(other.key, 1) > 0 and _fills(other, dish, group):
            return other
    return None


def _fills(other: Dish, dish: Dish, group: Group) -> bool:
    """Tell whether it credits what the dish credits, as far as the child needs it; a dish that credits nothing that
    is needed is not replaced."""
    wanted = {
        component: min(credit, group.needs[component])
        for component, credit in dish.credits.items()
        if credit and component in group.needs
    }
    return bool(wanted) and all(other.credits.get(name, Fraction(0)) >= amount for name, amount in wanted.items())
