"""Hold a week against the rules of its pattern on its date."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from menus.mealpattern.patterns.amount import Amount, Stands, stands
from menus.mealpattern.patterns.counting import count
from menus.mealpattern.patterns.measure import amount_of
from menus.mealpattern.patterns.rule import Per, Rule
from menus.mealpattern.patterns.tables import rules
from menus.mealpattern.patterns.week import Food, Week


@dataclass(frozen=True, slots=True)
class Judged:
    """One figure held against what was found, on a day or (`day` is None) over the week."""

    rule: Rule
    amount: Amount
    stands: Stands
    day: int | None = None
    food: str = ""

    @property
    def short_at(self) -> Fraction | None:
        """What there is at most where it is short: of the smallest choice, if each must reach the figure."""
        return self.amount.smallest if self.rule.least_by_each else self.amount.high

    @property
    def over_at(self) -> Fraction:
        """What there is at least where it is over: of the largest choice, if none may pass the figure."""
        return self.amount.largest if self.rule.most_by_each else self.amount.low


@dataclass(frozen=True, slots=True)
class Crumb:
    """A credit that counts for nothing."""

    rule: Rule
    day: int
    food: str
    found: Fraction


@dataclass(frozen=True, slots=True)
class Judgement:
    """All that the rules say of a week."""

    week: Week  # as it was counted, without the crumbs
    judged: tuple[Judged, ...]
    crumbs: tuple[Crumb, ...]
    said: tuple[Rule, ...]  # rules that a file of this form cannot show


def judge(week: Week) -> Judgement:
    """Return every figure of the rules that hold on the date of the week, each with how the week stands to it."""
    held = rules(week.pattern, week.date, len(week.days))
    floors = [rule for rule in held if rule.per is Per.FLOOR]
    crumbs = tuple(crumb for day, food in week.numbered() for crumb in _crumbs(day, food, floors))
    counted = replace(week, days=tuple(tuple(_without_crumbs(food, floors) for food in day) for day in week.days))
    judged = tuple(each for rule in held for each in _judged(rule, counted))
    return Judgement(counted, judged, crumbs, tuple(rule for rule in held if rule.per is Per.SAID))


def _judged(rule: Rule, week: Week) -> Iterator[Judged]:
    for found in count(rule, week):
        least = None if rule.least is None else rule.least - rule.slack
        most = None if rule.most is None else rule.most + rule.slack
        outcome = stands(
            found.amount,
            least=least,
            most=most,
            strict=rule.strict,
            least_by_each=rule.least_by_each,
            most_by_each=rule.most_by_each,
        )
        yield Judged(rule, found.amount, outcome, found.day, found.food)


def _crumbs(day: int, food: Food, floors: list[Rule]) -> Iterator[Crumb]:
    for rule in floors:
        for name, amount in food.credits.items():
            if _is_crumb(food, name, rule):
                yield Crumb(rule, day, food.name, amount)


def _without_crumbs(food: Food, floors: list[Rule]) -> Food:
    kept = {
        name: amount for name, amount in food.credits.items() if not any(_is_crumb(food, name, rule) for rule in floors)
    }
    return food if len(kept) == len(food.credits) else replace(food, credits=kept)


def _is_crumb(food: Food, name: str, floor: Rule) -> bool:
    """Return whether that credit of the food counts for nothing: too small, or of a kind that never credits."""
    component, _, tag = floor.measure.partition("@")
    amount = amount_of(Food("", {name: food.credits[name]}), component)
    if floor.least is None:
        return amount > 0 and bool(food.tags.get(tag))
    return 0 < amount < floor.least - floor.slack
