"""Dishes that a child takes one of: a week with choices is all the weeks that can be chosen from it.

By 7 CFR 210.10(k)(2) every line brings the components in their least amounts, and USDA's directions for its worksheet
of a K-8 lunch menu ask each main dish on offer for the minimums of the day and the week (both read); by 210.10(i)(3)(i)
nutrients are averages weighted by how much of each food is offered (read).
"""

from __future__ import annotations

from copy import deepcopy
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from menus.mealpattern.patterns.answer import check_week
from menus.mealpattern.patterns.weekfile import BadWeek
from tests.menus.mealpattern.patterns.test_properties import key, minimums, weeks
from tests.menus.mealpattern.patterns.weeks import Json

unhurried = settings(deadline=None)

LABELS = st.sampled_from(["", "main dish", "fruit"])
MILK = {"food": "1% milk", "credits": {"milk": 1}, "milk_fat": "1%"}
PEARS = {"food": "Pears", "credits": {"fruit": 0.5}}
SALAD = {"food": "Salad", "credits": {"vegetables.dark_green": 0.25, "vegetables.red_orange": 0.5}}
SANDWICH = {"food": "Sandwich", "credits": {"grains": 2, "meat_alternate": 2}, "whole_grain_rich": True}


@st.composite
def weeks_with_choices(draw: st.DrawFn) -> Json:
    """A week in which some foods are chosen among."""
    file = draw(weeks())
    for day in file["days"]:
        for food in day:
            if label := draw(LABELS):
                food["choice"] = label
    return file


def among(*foods: Json, of: str = "main dish") -> list[Json]:
    """The foods as one choice."""
    return [{**food, "choice": of} for food in foods]


def school(*days: list[Json], **more: Any) -> dict[str, Any]:
    """The answer for a school lunch of these days, grades K-5; one day stands for five."""
    week = list(days) if len(days) > 1 else [list(days[0])] * 5
    return check_week({"program": "nslp-lunch", "group": "K-5", "date": "2026-11-30", "days": week, **more})


def missed(answer: dict[str, Any]) -> dict[str, tuple[Any, ...]]:
    """What is found of the first day and of the week: how it stands, found, from what to what."""
    return {
        each["rule"].partition("/")[2]: (each["is"], each["found"], each.get("by_choice"))
        for each in [*answer["findings"], *answer["unknown"]]
        if each["day"] in (1, None)
    }


def all_chosen(file: Json) -> list[Json]:
    """Every week that a child can choose."""
    days = []
    for day in file["days"]:
        labels = {food["choice"] for food in day if "choice" in food}
        picks = product(*([food for food in day if food.get("choice") == label] for label in sorted(labels)))
        plain = [food for food in day if "choice" not in food]
        days.append([[*plain, *({**food, "choice": None} for food in pick)] for pick in picks])
    return [{**file, "days": list(week)} for week in product(*days)]


@settings(unhurried, max_examples=60)
@given(weeks_with_choices().filter(lambda file: len(all_chosen(file)) <= 60))
def test_a_week_with_choices_is_all_that_can_be_chosen(file: Json) -> None:
    """Ends are those of the weeks chosen; how many kinds there are is only bounded, and so is what rests on it."""
    found = {key(each): each for each in check_week(file)["measures"] if not each["food"]}
    chosen = [{key(each): each for each in check_week(week)["measures"]} for week in all_chosen(file)]
    for name, each in found.items():
        if each["unit"] in ("foods", "subgroups"):
            continue
        of_each = [week[name] for week in chosen if name in week]
        stands = {one["is"] for one in of_each}
        if each["is"] == "met":
            assert stands <= {"met"}
        if stands == {"met"} and len(of_each) == len(chosen):
            assert each["is"] == "met"
        if len(stands) == 1 and len(of_each) == len(chosen) and each["unit"][0] != "%":
            assert {each["is"]} == stands
        if "by_choice" in each and stands <= {"met", "short", "over"} and len(of_each) == len(chosen):
            amounts = [one["found"] or 0 for one in of_each]
            assert each["by_choice"] == [min(amounts), max(amounts)]


@unhurried
@given(weeks_with_choices(), st.data())
def test_one_more_to_choose_from_never_meets_anything(file: Json, data: st.DataObject) -> None:
    """Neither a dish beside those that are chosen among, nor one beside a dish that was served to all."""
    more = deepcopy(file)
    day = data.draw(st.sampled_from(more["days"]))
    if not day:
        return
    beside = data.draw(st.sampled_from(day))
    beside.setdefault("choice", "another")
    other = data.draw(weeks().map(lambda week: [food for foods in week["days"] for food in foods]).filter(bool))
    known = {name for name in other[0]["credits"] if name in units(file)}
    day.append({**other[0], "credits": {name: other[0]["credits"][name] for name in known}, "choice": beside["choice"]})
    before, after = (
        {key(each): each["is"] for each in check_week(week)["measures"] if not each["food"]} for week in (file, more)
    )
    assert {name for name, stands in after.items() if stands == "met"} <= {
        name for name, stands in before.items() if stands == "met"
    } | (after.keys() - before.keys())


def units(file: Json) -> set[str]:
    """The components of the week's program."""
    return set(check_week(file)["totals"]["components"])


@unhurried
@given(weeks_with_choices(), st.data())
def test_a_larger_serving_never_loses_a_minimum(file: Json, data: st.DataObject) -> None:
    """Nor does it when it is one of several."""
    larger = deepcopy(file)
    foods = [food for day in larger["days"] for food in day]
    if foods:
        food, times = data.draw(st.sampled_from(foods)), data.draw(st.sampled_from([1.125, 2, 4]))
        food["credits"] = {name: amount * times for name, amount in food["credits"].items()}
        food["nutrients"] = {name: amount * times for name, amount in food.get("nutrients", {}).items()}
    assert minimums(check_week(larger)) <= minimums(check_week(file))


@unhurried
@given(weeks(), st.data())
def test_a_choice_of_one_is_none(file: Json, data: st.DataObject) -> None:
    """A mark that no other dish of the day bears changes nothing but that it is said."""
    marked = deepcopy(file)
    for day in marked["days"]:
        for number, food in enumerate(day):
            if data.draw(st.booleans()):
                food["choice"] = f"of {number}"
    told, before = check_week(marked), check_week(file)
    told["notes"] = [note for note in told["notes"] if not note.startswith("Children choose")]
    assert told == before


def test_each_main_dish_must_bring_the_least_of_the_day() -> None:
    """Of two dishes the smaller one is short, where together they would do."""
    half = {"food": "Half a roll", "credits": {"grains": 0.5, "meat_alternate": 2}}
    together = school([half, {**half, "food": "The other half"}, PEARS, SALAD, MILK])
    apart = school([*among(half, SANDWICH), PEARS, SALAD, MILK])
    assert "grains-day" not in missed(together)
    assert missed(apart)["grains-day"] == ("short", 0.5, [0.5, 2])
    assert missed(apart)["grains-week"] == ("short", 2.5, [2.5, 10])


def test_the_week_sums_the_least_of_each_day() -> None:
    """One ounce equivalent a day meets the day and not the eight of the week, whatever else may be taken."""
    small = {"food": "Wrap", "credits": {"grains": 1, "meat_alternate": 2}}
    found = missed(school([*among(small, SANDWICH), PEARS, SALAD, MILK]))
    assert "grains-day" not in found
    assert found["grains-week"] == ("short", 5, [5, 10])
    assert "grains-week" not in missed(school([*among(SANDWICH, SANDWICH), PEARS, SALAD, MILK]))


def test_an_upper_figure_is_passed_by_the_largest() -> None:
    """Desserts for more than two ounces a week, for whoever takes the dessert each day."""
    cake = {"food": "Cake", "credits": {"grains": 1}, "dessert": True}
    found = missed(school([SANDWICH, *among(PEARS, cake, of="end"), PEARS, SALAD, MILK]))
    assert found["dessert-week"] == ("over", 5, [0, 5])


def test_a_subgroup_that_some_choices_bring_is_not_known() -> None:
    """It is offered, and whoever takes the other goes without. Where no choice brings enough it is short."""
    corn = {"food": "Corn", "credits": {"vegetables.starchy": 0.75}}
    found = missed(school([SANDWICH, PEARS, *among(SALAD, corn, of="vegetable"), MILK]))
    assert found["dark-green-week"] == ("unknown", None, [0, 1.25])
    assert found["starchy-week"] == ("unknown", None, [0, 3.75])
    assert found["beans-week"] == ("short", 0, None)


def test_averages_are_known_where_both_ends_stand_alike() -> None:
    """Energy of 550 to 650 kcal: met by either, missed by either, not known between."""

    def found(*kcal: int) -> tuple[Any, ...] | None:
        dishes = [{**SANDWICH, "nutrients": {"energy_kcal": each}} for each in kcal]
        others = [{**food, "nutrients": {"energy_kcal": 100}} for food in (PEARS, SALAD, MILK)]
        return missed(school([*among(*dishes), *others])).get("energy-week")

    assert found(260, 340) is None
    assert found(100, 200) == ("short", 500, [400, 500])
    assert found(400, 500) == ("over", 700, [700, 800])
    assert found(200, 300) == ("unknown", 500, [500, 600])


def test_what_one_choice_does_not_state_stays_unknown() -> None:
    """And counts for nothing that is known."""
    dishes = [{**SANDWICH, "nutrients": {"energy_kcal": 340}}, SANDWICH]
    answer = school([*among(*dishes), {**MILK, "nutrients": {"energy_kcal": 100}}])
    energy = answer["totals"]["nutrients"]["energy_kcal"]
    assert (energy["average"], energy["stated_average"], energy["stated"], energy["of_foods"]) == (None, 100, 10, 15)
    assert missed(answer)["energy-week"] == ("unknown", 100, None)


def test_totals_say_both_ends() -> None:
    """Least and most, by day and week."""
    grains = school([*among(SANDWICH, PEARS), MILK])["totals"]["components"]["grains"]
    assert grains == {"days": [0] * 5, "week": 0, "unit": "oz eq", "days_most": [2] * 5, "week_most": 10}


def test_an_egg_stands_in_for_the_toast_that_is_not_taken() -> None:
    """Child care breakfast: grains or a meat alternate. Either choice brings one; on every day is too often."""
    toast, egg = {"food": "Toast", "credits": {"grains": 0.5}}, {"food": "Egg", "credits": {"meat_alternate": 2}}
    day = [*among(toast, egg), PEARS, MILK]
    answer = check_week({"program": "cacfp-breakfast", "group": "3-5", "date": "2026-11-30", "days": [day] * 4})
    assert missed(answer) == {"meat-alternate-for-grains-week": ("over", 4, [0, 4])}


def test_each_choice_of_a_limited_product_is_judged() -> None:
    """A cereal that is too sweet is too sweet beside one that is not."""
    sweet, plain = (
        {"food": name, "credits": {"grains": 1}, "product": "breakfast_cereal", "weight_g": 28.35, "nutrients": held}
        for name, held in (("Sweet", {"added_sugars_g": 9}), ("Plain", {"added_sugars_g": 1}))
    )
    answer = school([SANDWICH, *among(sweet, plain), PEARS, SALAD, MILK])
    assert {each["food"] for each in answer["findings"] if each["rule"].endswith("added-sugars")} == {"Sweet"}


def test_kinds_of_fruit_that_every_child_is_served() -> None:
    """England: three different fruits. Two served and two to choose from may be two, or more: not known."""

    def found(*days: list[Json]) -> str:
        file = {"program": "england-lunch", "group": "primary", "date": "2026-11-30", "days": list(days)}
        return next(each["is"] for each in check_week(file)["measures"] if "fruit-kinds" in each["rule"])

    apple, plum, fig = ({"food": name, "credits": {"fruit": 1}} for name in ("Apple", "Plum", "Fig"))
    assert found([apple], [plum], [fig]) == "met"
    assert found([apple], [plum], among(fig, plum)) == "unknown"
    assert found([apple], among(apple, plum), among(apple, plum)) == "short"


def test_marks_are_read_without_capitals_and_a_mark_that_is_no_text_is_refused() -> None:
    """“Main dish” and “main  dish” are one choice."""
    marked = [{**SANDWICH, "choice": "Main dish"}, {**SANDWICH, "choice": "main  dish"}, MILK]
    assert school(marked)["totals"]["components"]["grains"]["week"] == 10
    with pytest.raises(BadWeek, match="“choice” is 2"):
        school([{**MILK, "choice": 2}])
