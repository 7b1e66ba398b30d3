"""How each kind of figure is counted over a week: one function for each `Per`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

from menus.mealpattern.patterns import nutrients
from menus.mealpattern.patterns.amount import Amount, added, rounded
from menus.mealpattern.patterns.choices import Row, for_each
from menus.mealpattern.patterns.counted import Counted, known, parts, with_less
from menus.mealpattern.patterns.measure import amount_of, credited
from menus.mealpattern.patterns.rule import Per, Rule
from menus.mealpattern.patterns.variety import choose, fruit_or_second_vegetable, kinds, variety
from menus.mealpattern.patterns.week import Food, Week

GRAMS_PER_OZ = Fraction("28.35")
TENTH = Fraction(1, 10)


def count(rule: Rule, week: Week) -> tuple[Counted, ...]:
    """Return what the week has of what the rule counts. Nothing is returned where the rule finds nothing to count."""
    return tuple(COUNT[rule.per](rule, week))


def _day(rule: Rule, week: Week) -> Iterator[Counted]:
    for number, foods in enumerate(week.days, start=1):
        yield Counted(credited(foods, rule.measure), number)


def _week(rule: Rule, week: Week) -> Iterator[Counted]:
    yield Counted(credited(week.foods, rule.measure))


def _week_with_surplus(rule: Rule, week: Week) -> Iterator[Counted]:
    figures = parts(rule.of)

    def held(food: Food) -> Row:
        return (known([food], rule.measure), *(known([food], name) for name in figures))

    def worth(row: Row) -> Fraction:
        own, *others = row
        over = (held - figure for held, figure in zip(others, figures.values(), strict=True))
        return own + sum((surplus for surplus in over if surplus > 0), Fraction(0))

    yield Counted(for_each(week.foods, held, held, worth))


def _average(rule: Rule, week: Week) -> Iterator[Counted]:
    yield Counted(nutrients.average(week, rule.measure))


def _energy_share(rule: Rule, week: Week) -> Iterator[Counted]:
    if amount := nutrients.energy_share(week, rule.measure):
        yield Counted(amount)


def _share(rule: Rule, week: Week) -> Iterator[Counted]:
    """A share rises with its part and falls with its whole."""

    def surely(food: Food) -> Row:
        return known([food], rule.measure), -known([food], rule.of)

    def perhaps(food: Food) -> Row:
        return credited([food], rule.measure).high or Fraction(0), -known([food], rule.of)

    def worth(row: Row) -> Fraction:
        part, whole = row
        return 100 * part / -whole if whole else Fraction(0)

    if any(known([food], rule.of) for food in week.foods):
        yield Counted(for_each(week.foods, surely, perhaps, worth))


def _days(rule: Rule, week: Week) -> Iterator[Counted]:
    """Days with some of it; with `grains<1` in `of`, only those on which there is less grain than that."""
    name, _, figure = rule.of.partition("<")
    yield Counted(added(with_less(foods, rule.measure, name, figure) for foods in week.days))


def _food(rule: Rule, week: Week) -> Iterator[Counted]:
    """The nutrient of each food of a product kind by its size, to the tenth: labels state it no finer."""
    kind, _, size = rule.of.partition("/")
    for number, food in week.numbered():
        if food.product == kind:
            yield Counted(_per_size(food, rule.measure, size), number, food.name)


def _per_size(food: Food, nutrient: str, size: str) -> Amount:
    ounces = food.weight_g / GRAMS_PER_OZ if food.weight_g else None
    sizes = {"oz": ounces, "6oz": ounces and ounces / 6, "cup": amount_of(food, "milk") or None}
    stated, by = food.nutrients.get(nutrient), sizes[size]
    if stated is None or by is None:
        return Amount(Fraction(0), None, 0, 1)
    found = rounded(stated / by, TENTH)
    return Amount(found, found, 1, 1)


def _nothing(rule: Rule, week: Week) -> Iterator[Counted]:
    yield from ()


COUNT: dict[Per, Callable[[Rule, Week], Iterator[Counted]]] = {
    Per.DAY: _day,
    Per.WEEK: _week,
    Per.WEEK_WITH_SURPLUS: _week_with_surplus,
    Per.AVERAGE: _average,
    Per.ENERGY_SHARE: _energy_share,
    Per.SHARE: _share,
    Per.DAYS: _days,
    Per.KINDS: kinds,
    Per.CHOOSE: choose,
    Per.FRUIT_OR_SECOND_VEGETABLE: fruit_or_second_vegetable,
    Per.VARIETY: variety,
    Per.FOOD: _food,
    Per.FLOOR: _nothing,
    Per.SAID: _nothing,
}
