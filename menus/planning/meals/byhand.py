"""What a kitchen comes to that swaps dish by dish: the measure of what choosing for all at once is worth.

For each child in turn, each dish that is kept from it is replaced by the first dish on hand that may be given and
credits all that the dish credits of what the child needs (common practice, no source).
"""

from __future__ import annotations

from fractions import Fraction

from menus.planning.meals.plan import Given, Meals
from menus.planning.meals.table import Dish, Group, Meal, Stock, Task, kept, open_components
from menus.planning.meals.trays import Tray


def by_hand(task: Task) -> Meals:
    """Return the meals as swapping dish by dish leaves them. Stock goes to whoever comes first."""
    left = {stock: stock.portions for stock in task.stocks}
    return Meals(
        tuple(
            Given(meal, group, (member,), _swapped(meal, group, left))
            for meal in task.meals
            for group in meal.groups
            for member in group.members
        ),
        task.weeks,
    )


def _swapped(meal: Meal, group: Group, left: dict[Stock, int]) -> Tray:
    extra: list[Dish] = []
    stays = kept(meal, group)[0]
    taken = {dish.choice for dish in stays if dish.choice}
    for dish in meal.planned:
        if (
            dish.key not in group.may
            and dish.choice not in taken
            and (instead := _instead(dish, meal, group, extra, left))
        ):
            extra.append(instead)
            for stock in _taken(instead, meal, left):
                left[stock] -= 1
        if dish.choice:
            taken.add(dish.choice)  # the hand replaces the first of a choice and not each
    return Tray(stays, tuple(extra), open_components(group, (*stays, *extra)))


def _instead(dish: Dish, meal: Meal, group: Group, extra: list[Dish], left: dict[Stock, int]) -> Dish | None:
    """The first dish on hand that stands in for it; one that is on the tray already stands in for one dish alone."""
    for other in meal.on_hand:
        there = all(left[stock] > 0 for stock in _taken(other, meal, left))
        if there and other.key in group.may and other not in extra and _fills(other, dish, group):
            return other
    return None


def _taken(dish: Dish, meal: Meal, left: dict[Stock, int]) -> list[Stock]:
    """What a portion of it at that meal is taken from."""
    return [stock for stock in left if stock.dish == dish.key and stock.serves(meal)]


def _fills(other: Dish, dish: Dish, group: Group) -> bool:
    """Tell whether it credits what the dish credits, as far as the child needs it; a dish that credits nothing that
    is needed is not replaced."""
    wanted = {
        component: min(credit, group.needs[component])
        for component, credit in dish.credits.items()
        if credit and component in group.needs
    }
    return bool(wanted) and all(other.credits.get(name, Fraction(0)) >= amount for name, amount in wanted.items())
