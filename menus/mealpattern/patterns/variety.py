"""Figures that ask for different foods, or for one in place of another: kinds, subgroups, components to choose from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from menus.mealpattern.patterns.amount import ROUNDED_OFF, Amount, Spread, added
from menus.mealpattern.patterns.choices import Row, courses, for_each
from menus.mealpattern.patterns.counted import Counted, known, parts, with_less
from menus.mealpattern.patterns.measure import amount_of
from menus.mealpattern.patterns.rule import Rule
from menus.mealpattern.patterns.week import Food, Week
from menus.substances.names import comparable


def kinds(rule: Rule, week: Week) -> Iterator[Counted]:
    """Kinds that every child is served; of all that are chosen, at least one more counts for sure."""
    served = [{_kind(food, rule.measure) for food in course} for course in courses(week.foods)]
    sure = {kind for kinds in served if len(kinds) == 1 for kind in kinds} - {""}
    every = sure.union(*served) - {""}
    least = len(sure) + any(not kinds & {"", *sure} for kinds in served)
    some = len(sure) + (every != sure)
    yield Counted(Amount(Fraction(least), Fraction(len(every)), spread=_spread(least, some, len(every))))


def choose(rule: Rule, week: Week) -> Iterator[Counted]:
    """Components in their full amount; of those that only a beverage fills, one."""
    figures = parts(rule.measure)

    def held(food: Food) -> Row:
        found = [known([food], name) for name in figures]
        is_drink = food.tags.get("juice") or amount_of(food, "milk")
        return (*found, *([Fraction(0)] * len(found) if is_drink else found))

    def worth(row: Row) -> Fraction:
        least = [figure - ROUNDED_OFF for figure in figures.values()]
        full = [found >= figure for found, figure in zip(row, least, strict=False)]
        eaten = [found >= figure for found, figure in zip(row[len(least) :], least, strict=True)]
        return Fraction(sum(eaten) + min(1, sum(full) - sum(eaten)))

    for number, foods in enumerate(week.days, start=1):
        yield Counted(for_each(foods, held, held, worth), number)


def fruit_or_second_vegetable(rule: Rule, week: Week) -> Iterator[Counted]:
    """The fruit, or what the vegetables other than the largest bring beyond the vegetables' own figure."""
    component, _, figure = rule.of.partition("<")

    def worth(row: Row) -> Fraction:
        fruit, *kinds = row
        total = sum(kinds, Fraction(0))
        return max(fruit, min(total - max(kinds, default=Fraction(0)), total - Fraction(figure)))

    for number, foods in enumerate(week.days, start=1):
        # By name, and by subgroup where one food holds several.
        kinds = sorted({(comparable(food.name), subgroup) for food in foods for subgroup in food.credits})

        def held(food: Food, kinds: list[tuple[str, str]] = kinds) -> Row:
            own = {(comparable(food.name), subgroup): _only(food, subgroup) for subgroup in food.credits}
            found = (known([own[kind]], component) if kind in own else Fraction(0) for kind in kinds)
            return (known([food], rule.measure), *found)

        yield Counted(for_each(foods, held, held, worth), number)


def variety(rule: Rule, week: Week) -> Iterator[Counted]:
    """Subgroups of the week, where there is less fruit than the figure and some vegetable on two days or more."""
    name, _, figure = rule.of.partition("<")
    stand_in = added(with_less(foods, rule.measure, name, figure) for foods in week.days)
    if stand_in.largest > 1:
        served = courses(week.foods)
        of_all, of_any = (
            {key for foods in some for food in foods for key, value in food.credits.items() if value}
            for some in ([foods for foods in served if len(foods) == 1], served)
        )
        sure, offered = (sum(key.startswith(rule.measure + ".") for key in keys) for keys in (of_all, of_any))
        # A vegetable without its subgroup may be of another one, and a child may choose so that nothing is asked.
        more = rule.measure in of_any or stand_in.low <= 1
        yield Counted(Amount(Fraction(sure), None if more else Fraction(offered), spread=_spread(sure, sure, offered)))


def _only(food: Food, credit: str) -> Food:
    return replace(food, credits={credit: food.credits[credit]})


def _kind(food: Food, measure: str) -> str:
    """The name of a food that holds some of the measure; empty for any other."""
    return comparable(food.name) if known([food], measure) > 0 else ""


def _spread(least: int, large: int, most: int) -> Spread | None:
    return Spread(Fraction(least), Fraction(large)) if least != most else None
