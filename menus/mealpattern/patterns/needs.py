"""What a child's tray must hold so that it is as whole as the meal planned for all, component by component."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from menus.mealpattern.patterns.amount import ROUNDED_OFF
from menus.mealpattern.patterns.counted import parts
from menus.mealpattern.patterns.measure import credited
from menus.mealpattern.patterns.rule import Force, Per, Rule
from menus.mealpattern.patterns.tables import NORMAL_WEEK, Pattern, rules, units
from menus.mealpattern.patterns.week import Food

OFFERED = "as the meal planned offers it"


@dataclass(frozen=True, slots=True)
class Need:
    """One component of a meal. A tray needs `least` of it: what the rule asks, and no more than the meal offers."""

    measure: str  # as the column of that name counts it: a component, or several added up
    what: str  # as the rule says it
    least: Fraction
    offered: Fraction  # what the planned meal brings
    asked: Fraction | None  # what the rule asks; None: no rule asks for it, the meal offers it
    unit: str
    source: str
    falls_short: bool = False  # the meal planned for all holds less than the rule asks

    def of(self, food: Food) -> Fraction:
        """Return what one portion of a food brings to it."""
        return credited([food], self.measure).low


def needs(pattern: Pattern | None, day: date, planned: Iterable[Food]) -> tuple[Need, ...]:
    """Return what a tray of that meal needs.

    By the daily figures of the pattern, on that day; a meal that offers less than a figure is whole for nobody, and a
    tray is asked for what the meal offers: where children choose, what every choice brings. A snack needs the
    components that the planned snack holds in full. Without a pattern, or where its daily figures say nothing, a tray
    needs each component in the amount offered.
    """
    foods = tuple(planned)
    unit_of = units(pattern.scheme if pattern else "us")
    found = [need for rule in _daily(pattern, day) for need in _of(rule, foods, unit_of)] if pattern else []
    once = {need.measure: need for need in sorted(found, key=lambda need: need.least)}
    return tuple(once.values()) or tuple(_offered(foods, unit_of))


def _daily(pattern: Pattern, day: date) -> Iterator[Rule]:
    wanted = (Per.DAY, Per.CHOOSE, Per.FRUIT_OR_SECOND_VEGETABLE)
    asked = (rule for rule in rules(pattern, day, NORMAL_WEEK) if rule.force is Force.RULE and rule.per in wanted)
    return (rule for rule in asked if rule.least is not None)


def _of(rule: Rule, foods: tuple[Food, ...], unit_of: Mapping[str, str]) -> Iterator[Need]:
    assert rule.least is not None  # `_daily` leaves out the others
    if rule.per is Per.CHOOSE:
        for component, figure in parts(rule.measure).items():
            if credited(foods, component).low >= figure - ROUNDED_OFF:
                yield _need(rule, component, figure, foods, what=component.replace("_", " "), unit=unit_of[component])
    elif rule.per is Per.FRUIT_OR_SECOND_VEGETABLE and not credited(foods, rule.measure).low:
        component, _, enough = rule.of.partition("<")
        both = Fraction(enough) + rule.least
        yield _need(rule, component, both, foods, what="vegetables, a second one in place of fruit")
    else:
        yield _need(rule, _side(rule.measure, foods), rule.least, foods)


def _side(measure: str, foods: tuple[Food, ...]) -> str:
    """Of components that stand in for each other, that which the planned meal goes by: portions of both do not add."""
    return max(measure.split("|"), key=lambda side: credited(foods, side).low)


def _need(
    rule: Rule, measure: str, asked: Fraction, foods: tuple[Food, ...], *, what: str = "", unit: str = ""
) -> Need:
    offered = credited(foods, measure).low
    enough = asked - ROUNDED_OFF
    return Need(
        measure,
        what or rule.what,
        min(enough, offered),
        offered,
        asked,
        unit or rule.unit,
        rule.source,
        falls_short=offered < enough,
    )


def _offered(foods: tuple[Food, ...], unit_of: Mapping[str, str]) -> Iterator[Need]:
    for component in dict.fromkeys(name.partition(".")[0] for food in foods for name in food.credits):
        offered = credited(foods, component).low
        if offered:
            said = component.replace("_", " ")
            yield Need(component, said, offered, offered, None, unit_of.get(component, ""), OFFERED)
