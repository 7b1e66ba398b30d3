"""What holds for every week: larger servings lose no minimum, order never matters, what is not said finds nothing."""

from __future__ import annotations

from copy import deepcopy
from itertools import pairwise
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from menus.mealpattern.patterns.answer import check_week
from menus.mealpattern.patterns.tables import component_names, patterns
from tests.menus.mealpattern.patterns.weeks import Json

unhurried = settings(deadline=None)  # a busy machine is no fault of the rules

EIGHTHS = st.integers(0, 24).map(lambda eighths: eighths / 8)
NUTRIENTS = ("energy_kcal", "saturated_fat_g", "sodium_mg", "added_sugars_g")
PATTERNS = sorted(patterns())


@st.composite
def weeks(draw: st.DrawFn) -> Json:
    """A week of any pattern, with foods that credit one or two components and state some nutrients."""
    program, group = draw(st.sampled_from(PATTERNS))
    pattern = patterns()[program, group]
    component = st.sampled_from(sorted(set(component_names(pattern.scheme).values())))
    food = st.fixed_dictionaries(
        {"food": st.sampled_from("abc"), "credits": st.dictionaries(component, EIGHTHS, max_size=2)},
        optional={
            "nutrients": st.dictionaries(st.sampled_from(NUTRIENTS), st.integers(0, 400), max_size=4),
            "whole_grain_rich": st.booleans(),
            "juice": st.booleans(),
            "dessert": st.booleans(),
        },
    )
    length = draw(st.integers(pattern.least_days, pattern.most_days))
    days = draw(st.lists(st.lists(food, max_size=4), min_size=length, max_size=length))
    return {
        "program": program,
        "group": group,
        "date": draw(st.sampled_from(["2026-11-30", "2027-09-06"])),
        "days": days,
    }


def minimums(answer: dict[str, Any]) -> set[tuple[str, str]]:
    """Amounts that are short. A share is no amount: more of one grain leaves a smaller share to another.

    Nor is the number of subgroups asked for where vegetables stand in for fruit: a vegetable that was too little to
    count at all, made larger, is one that stands in.
    """
    return {
        (each["rule"], each["when"])
        for each in answer["findings"]
        if each["is"] == "short" and each["unit"] not in ("% of oz eq", "subgroups")
    }


@unhurried
@given(weeks(), st.data())
def test_a_larger_serving_never_loses_a_minimum(file: Json, data: st.DataObject) -> None:
    """All that a food credits and states, times one to four."""
    larger = deepcopy(file)
    foods = [food for day in larger["days"] for food in day]
    if foods:
        food, times = data.draw(st.sampled_from(foods)), data.draw(st.sampled_from([1.125, 1.5, 2, 4]))
        food["credits"] = {name: amount * times for name, amount in food["credits"].items()}
        food["nutrients"] = {name: amount * times for name, amount in food.get("nutrients", {}).items()}
    assert minimums(check_week(larger)) <= minimums(check_week(file))


@unhurried
@given(weeks(), st.data())
def test_the_order_of_foods_never_matters(file: Json, data: st.DataObject) -> None:
    """The whole answer stays, but for the order of what nutrients were named in."""
    shuffled = deepcopy(file)
    shuffled["days"] = [data.draw(st.permutations(day)) for day in file["days"]]
    before, after = check_week(file), check_week(shuffled)
    for answer in (before, after):
        answer["warnings"].sort(key=str)
    assert after == before


@unhurried
@given(weeks(), st.data())
def test_a_nutrient_taken_away_finds_nothing_new(file: Json, data: st.DataObject) -> None:
    """Not to state something makes no new finding of a rule and meets no rule: it can only become unknown."""
    silent = deepcopy(file)
    for day in silent["days"]:
        for food in day:
            if data.draw(st.booleans()):
                food.pop("nutrients", None)
    told, untold = ({key(each): each["is"] for each in check_week(each)["measures"]} for each in (file, silent))
    changed = {(told.get(name), found) for name, found in untold.items() if told.get(name) != found}
    assert {found for _, found in changed} <= {"unknown"}


def key(measure: dict[str, Any]) -> tuple[str, str]:
    return measure["rule"], measure["when"]


@unhurried
@given(weeks())
def test_dates_only_choose_the_rules(file: Json) -> None:
    """Between two changes of the rules the date changes nothing."""
    answers = [check_week(file | {"date": date}) for date in ("2026-09-01", "2026-11-30", "2027-06-30")]
    for one, other in pairwise(answers):
        assert (one["findings"], one["measures"]) == (other["findings"], other["measures"])
