"""How each kind of figure is counted over a week: one function for each `Per`."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from menus.mealpattern.patterns import nutrients
from menus.mealpattern.patterns.amount import ROUNDED_OFF, Amount, exactly, rounded
from menus.mealpattern.patterns.measure import amount_of, credited
from menus.mealpattern.patterns.rule import Per, Rule
from menus.mealpattern.patterns.week import Food, Week

GRAMS_PER_OZ = Fraction("28.35")
TENTH = Fraction(1, 10)


@dataclass(frozen=True, slots=True)
class Counted:
    """An amount found, and where: on a day, or over the week where `day` is None."""

    amount: Amount
    day: int | None = None
    food: str = ""


def count(rule: Rule, week: Week) -> tuple[Counted, ...]:
    """Return what the week has of what the rule counts. Nothing is returned where the rule finds nothing to count."""
    return tuple(COUNT[rule.per](rule, week))


def parts(of: str) -> dict[str, Fraction]:
    """Return `milk:1;grains:0.5` as amounts by component."""
    return {name: Fraction(figure) for name, _, figure in (part.partition(":") for part in of.split(";"))}


def _day(rule: Rule, week: Week) -> Iterator[Counted]:
    for number, foods in enumerate(week.days, start=1):
        yield Counted(credited(foods, rule.measure), number)


def _week(rule: Rule, week: Week) -> Iterator[Counted]:
    yield Counted(credited(week.foods, rule.measure))


def _week_with_surplus(rule: Rule, week: Week) -> Iterator[Counted]:
    surplus = (max(Fraction(0), _known(week.foods, name) - figure) for name, figure in parts(rule.of).items())
    yield Counted(exactly(_known(week.foods, rule.measure) + sum(surplus)))


def _average(rule: Rule, week: Week) -> Iterator[Counted]:
    yield Counted(nutrients.average(week, rule.measure))


def _energy_share(rule: Rule, week: Week) -> Iterator[Counted]:
    if amount := nutrients.energy_share(week, rule.measure):
        yield Counted(amount)


def _share(rule: Rule, week: Week) -> Iterator[Counted]:
    if amount := nutrients.share(credited(week.foods, rule.measure), credited(week.foods, rule.of)):
        yield Counted(amount)


def _days(rule: Rule, week: Week) -> Iterator[Counted]:
    """Days with some of it; with `grains<1` in `of`, only those on which there is less grain than that."""
    name, _, figure = rule.of.partition("<")
    with_it = [foods for foods in week.days if _known(foods, rule.measure) > 0]
    yield Counted(exactly(sum(not name or _less(foods, name, figure) for foods in with_it)))


def _kinds(rule: Rule, week: Week) -> Iterator[Counted]:
    yield Counted(exactly(len({_plain(food.name) for food in week.foods if _known([food], rule.measure) > 0})))


def _choose(rule: Rule, week: Week) -> Iterator[Counted]:
    """Components in their full amount; of those that only a beverage fills, one."""
    for number, foods in enumerate(week.days, start=1):
        solid = [food for food in foods if not (food.tags.get("juice") or amount_of(food, "milk"))]
        least = {name: figure - ROUNDED_OFF for name, figure in parts(rule.measure).items()}
        full = {name for name, figure in least.items() if _known(foods, name) >= figure}
        eaten = {name for name in full if _known(solid, name) >= least[name]}
        yield Counted(exactly(len(eaten) + min(1, len(full - eaten))), number)


def _fruit_or_second_vegetable(rule: Rule, week: Week) -> Iterator[Counted]:
    """The fruit, or what the vegetables other than the largest bring beyond the vegetables' own figure."""
    component, _, figure = rule.of.partition("<")
    for number, foods in enumerate(week.days, start=1):
        kinds: dict[tuple[str, str], Fraction] = {}  # by name, and by subgroup where one food holds several
        for food in foods:
            for subgroup in food.credits:
                kind = _plain(food.name), subgroup
                kinds[kind] = kinds.get(kind, Fraction(0)) + _known([_only(food, subgroup)], component)
        total = sum(kinds.values(), Fraction(0))
        second = min(total - max(kinds.values(), default=Fraction(0)), total - Fraction(figure))
        yield Counted(exactly(max(_known(foods, rule.measure), second)), number)


def _variety(rule: Rule, week: Week) -> Iterator[Counted]:
    """Subgroups of the week, where there is less fruit than the figure and some vegetable on two days or more."""
    name, _, figure = rule.of.partition("<")
    stand_in = [day for day in week.days if _less(day, name, figure) and _known(day, rule.measure) > 0]
    if len(stand_in) > 1:
        of_any = {key for food in week.foods for key, value in food.credits.items() if value}
        subgroups = sum(key.startswith(rule.measure + ".") for key in of_any)
        unnamed = rule.measure in of_any  # a vegetable without its subgroup may be of another one
        yield Counted(Amount(Fraction(subgroups), None if unnamed else Fraction(subgroups)))


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


def _known(foods: Iterable[Food], measure: str) -> Fraction:
    return credited(foods, measure).low


def _only(food: Food, credit: str) -> Food:
    return replace(food, credits={credit: food.credits[credit]})


def _less(foods: Iterable[Food], measure: str, figure: str) -> bool:
    return _known(foods, measure) < Fraction(figure) - ROUNDED_OFF


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


COUNT: dict[Per, Callable[[Rule, Week], Iterator[Counted]]] = {
    Per.DAY: _day,
    Per.WEEK: _week,
    Per.WEEK_WITH_SURPLUS: _week_with_surplus,
    Per.AVERAGE: _average,
    Per.ENERGY_SHARE: _energy_share,
    Per.SHARE: _share,
    Per.DAYS: _days,
    Per.KINDS: _kinds,
    Per.CHOOSE: _choose,
    Per.FRUIT_OR_SECOND_VEGETABLE: _fruit_or_second_vegetable,
    Per.VARIETY: _variety,
    Per.FOOD: _food,
    Per.FLOOR: _nothing,
    Per.SAID: _nothing,
}
