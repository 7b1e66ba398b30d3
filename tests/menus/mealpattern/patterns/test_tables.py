"""The data files hold together: every row can be read, names what there is, and no two rows hold at once."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from itertools import combinations

import pytest

from menus.mealpattern.patterns.counting import COUNT
from menus.mealpattern.patterns.rule import Per, Rule
from menus.mealpattern.patterns.tables import Pattern, patterns, rows, rules, scaled, units

FILES = sorted({pattern.file for pattern in patterns().values()})
NUTRIENT_RULES = (Per.AVERAGE, Per.ENERGY_SHARE, Per.FOOD)


def name(pattern: Pattern) -> str:
    return f"{pattern.program} {pattern.group}"


def apart_in_time(one: dict[str, str], other: dict[str, str]) -> bool:
    first, second = sorted((one, other), key=lambda row: row["from"])
    return bool(first["to"]) and first["to"] < second["from"]


def apart_in_length(one: dict[str, str], other: dict[str, str]) -> bool:
    lengths = [set(row["days"].split(";")) for row in (one, other)]
    return bool(one["days"] and other["days"]) and not lengths[0] & lengths[1]


@pytest.mark.parametrize("file", FILES)
def test_no_two_rows_of_a_rule_hold_at_once(file: str) -> None:
    """For one group, the dates or the lengths of week of any two rows are apart."""
    for one, other in combinations(rows(f"{file}.csv"), 2):
        if one["rule"] == other["rule"] and set(one["groups"].split(";")) & set(other["groups"].split(";")):
            assert apart_in_time(one, other) or apart_in_length(one, other), one["rule"]


@pytest.mark.parametrize("pattern", patterns().values(), ids=name)
def test_every_rule_can_be_read_and_names_its_source(pattern: Pattern) -> None:
    """At every length of week, before and after the changes of the rules."""
    for days in range(pattern.least_days, pattern.most_days + 1):
        for day in (pattern.held_from, date(2026, 11, 30), date(2027, 7, 1)):
            held = rules(pattern, day, days)
            assert held
            for rule in held:
                assert rule.source and rule.verified in ("read", "memory") and rule.per in COUNT
                assert all(component in units(pattern.scheme) for component in components(rule, pattern)), rule.id
                assert rule.per in (Per.SAID, Per.FLOOR) or rule.least is not None or rule.most is not None
                assert rule.per is not Per.SAID or rule.note


def components(rule: Rule, pattern: Pattern) -> set[str]:
    """Components that a rule counts; a group of them, as `solids`, stands for its members."""
    if rule.per in (*NUTRIENT_RULES, Per.SAID):
        return set()
    parted = rule.measure.replace("|", "+").replace(";", "+").split("+")
    named = {part.rpartition("*")[2].partition("@")[0].partition(":")[0] for part in parted}
    groups = {component.partition(".")[0] for component in units(pattern.scheme)}
    return {each for each in named if each not in groups}


@pytest.mark.parametrize(
    ("figure", "unit", "days", "expected"),
    [
        ("8", "oz eq", 4, "6.5"),  # 6.4
        ("8", "oz eq", 6, "9.5"),  # 9.6
        ("9", "oz eq", 4, "7"),  # 7.2
        ("2.5", "cup", 4, "2"),
        ("3.75", "cup", 6, "4.5"),
        ("10", "oz eq", 3, "6"),
        ("9", "oz eq", 7, "12.5"),  # 12.6
    ],
)
def test_scaling(figure: str, unit: str, days: int, expected: str) -> None:
    """By days over five, to 0.5 oz eq and 0.25 cup (California CDE, short and long weeks)."""
    assert scaled(Fraction(figure), unit, days) == Fraction(expected)


@pytest.mark.parametrize("group", ["K-5", "6-8", "9-12"])
@pytest.mark.parametrize("days", [3, 4, 5, 6, 7])
def test_the_figures_of_lunch_fit_each_other(group: str, days: int) -> None:
    """The subgroups are no more than the vegetables of the week, and the days no more than the week."""
    held = {
        rule.id.partition("/")[2]: rule for rule in rules(patterns()["nslp-lunch", group], date(2026, 11, 30), days)
    }
    subgroups = ("dark-green-week", "red-orange-week", "beans-week", "starchy-week", "other-week")
    assert sum(held[each].least or 0 for each in subgroups) <= (held["vegetables-week"].least or 0)
    for component in ("fruit", "vegetables", "grains", "meat-alternate", "milk"):
        daily, weekly = held[f"{component}-day"].least or 0, held[f"{component}-week"].least or 0
        assert daily * days <= weekly


def test_a_menu_for_two_groups_asks_for_what_each_asks() -> None:
    """No figure of K-8 is milder than that of K-5 or of 6-8."""
    held = {group: rules(patterns()["nslp-lunch", group], date(2026, 11, 30), 5) for group in ("K-8", "K-5", "6-8")}
    for group in ("K-5", "6-8"):
        for both, one in zip(held["K-8"], held[group], strict=True):
            assert both.id == one.id
            assert both.least is None or (one.least is not None and both.least >= one.least)
            assert both.most is None or (one.most is not None and both.most <= one.most)
