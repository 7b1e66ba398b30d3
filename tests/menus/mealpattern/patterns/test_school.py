"""School lunch, breakfast and snack: what must be found in a week, and what must not.

Figures: 7 CFR 210.10 and 220.8; tests/external/test_meal_patterns.py holds each with its paragraph.
"""

from __future__ import annotations

from typing import Any

import pytest

from menus.mealpattern.patterns.answer import check_week
from tests.menus.mealpattern.patterns.weeks import (
    VEGETABLES,
    Json,
    broken,
    food,
    lunch,
    meals,
    plain,
    unknown,
    warned,
    week,
)

RICH = {"whole_grain_rich": True}
VEGETABLES_SHORT, RED_SHORT = ("vegetables-week", "week"), ("red-orange-week", "week")


def test_a_whole_week_has_nothing_to_find() -> None:
    """Nothing is short, nothing is unknown, and no planning figure is passed."""
    answer = check_week(week())
    assert (answer["findings"], answer["warnings"], answer["unknown"], answer["notes"]) == ([], [], [], [])
    assert {measure["is"] for measure in answer["measures"]} == {"met"}


@pytest.mark.parametrize(
    ("number", "spoilt", "found"),
    [
        (0, {"credits": {"fruit": 0.25}}, [("fruit-day", "day 2"), ("fruit-week", "week")]),
        (0, {"credits": {"fruit": 0.49}}, [("fruit-day", "day 2"), ("fruit-week", "week")]),
        (1, {"credits": {"milk": 0.75}}, [("milk-day", "day 2"), ("milk-week", "week")]),
        (2, {"credits": {"grains": 0.75}}, [("grains-day", "day 2"), ("grains-week", "week")]),
        (3, {"credits": {"meat_alternate": 0.5}}, [("meat-alternate-day", "day 2")]),
        (4, {"credits": {"vegetables.red_orange": 0.5}}, [("vegetables-day", "day 2"), VEGETABLES_SHORT, RED_SHORT]),
        (4, {"credits": {"vegetables.starchy": 0.75}}, [("red-orange-week", "week")]),
        (1, {"milk_fat": "whole"}, []),
        (2, {"whole_grain_rich": False}, []),
    ],
)
def test_one_food_spoilt(number: int, spoilt: Json, found: list[tuple[str, str]]) -> None:
    """One change to one food of the second day is found where it matters, and nowhere else."""
    spoilt_week = week()
    spoilt_week["days"][1][number] |= spoilt
    assert broken(spoilt_week) == found


def test_a_finding_says_it_all() -> None:
    """Rule, day, amount found, amount needed, unit and source."""
    spoilt = week()
    spoilt["days"][3][0]["credits"] = {"fruit": 0.25}
    finding = check_week(spoilt)["findings"][0]
    assert finding["says"] == "Day 4, fruit: 0.25 cup. The rule: at least 0.5 cup."
    assert (finding["rule"], finding["day"], finding["when"]) == ("nslp-lunch/fruit-day", 4, "day 4")
    assert (finding["is"], finding["found"], finding["needed"], finding["unit"]) == ("short", 0.25, 0.5, "cup")
    assert finding["source"].startswith("7 CFR 210.10(c) Table 1") and finding["verified"] == "read"


def test_findings_stand_in_the_order_of_the_days() -> None:
    """The days first, whatever the rule, then the week."""
    spoilt = week()
    spoilt["days"][4][0]["credits"] = spoilt["days"][1][1]["credits"] = {}
    assert [when for _, when in broken(spoilt)] == ["day 2", "day 5", "week", "week"]


def test_other_vegetables_may_come_from_what_other_subgroups_have_beyond() -> None:
    """Dark green beyond its half cup stands in for other vegetables; starchy never does (210.10(c) Table 1)."""
    for stand_in, found in (("dark_green", []), ("starchy", [("other-week", "week")])):
        changed = week()
        changed["days"][2][4]["credits"] = {"vegetables.beans_peas_lentils": 0.5, "vegetables.starchy": 0.25}
        changed["days"][4][4]["credits"] = {f"vegetables.{stand_in}": 0.75}
        assert broken(changed) == found


def test_what_a_subgroup_lacks_is_not_taken_from_another() -> None:
    """No dark green at all leaves the half cup of other vegetables what it is."""
    changed = week()
    changed["days"][0][4]["credits"] = {"vegetables.starchy": 0.75}
    changed["days"][2][4]["credits"] = {"vegetables.beans_peas_lentils": 0.5, "vegetables.starchy": 0.25}
    changed["days"][4][4]["credits"] = {"vegetables.other": 0.5, "vegetables.starchy": 0.25}
    assert broken(changed) == [("dark-green-week", "week")]


def test_thirds_written_in_decimals_are_thirds() -> None:
    """Three times 0.333 is a cup, and 9.004 oz eq are no more than 9; three times 0.33 is 0.99 and is short."""
    for third, found in ((0.333, []), (0.33, [("fruit-day", "day 1"), ("fruit-week", "week")])):
        foods = [plain(name, fruit=third) for name in ("apple", "pear", "plum")]
        file = meals("sbp-breakfast", "K-5", breakfast())
        file["days"][0][0:1] = foods
        assert broken(file) == found
    assert warned(week(days=[lunch(subgroup, 1.8008) for subgroup in VEGETABLES])) == []
    assert warned(week(days=[lunch(subgroup, 1.802) for subgroup in VEGETABLES])) == [("grains-week-upper", "week")]


def test_beans_as_meat_alternate_count_to_their_subgroup_and_to_nothing_else_of_vegetables() -> None:
    """210.10(c)(2)(ii)(C): 2 oz eq are half a cup of the weekly subgroup; the vegetable totals do not see them."""
    changed = week()
    changed["days"][2][4]["credits"] = {"vegetables.starchy": 0.75}
    assert broken(changed) == [("beans-week", "week")]
    changed["days"][2][3]["credits"] = {"meat_alternate.beans_peas_lentils": 2}
    assert broken(changed) == []
    changed["days"][2][4]["credits"] = {}
    assert broken(changed) == [("vegetables-day", "day 3"), ("vegetables-week", "week")]


@pytest.mark.parametrize(
    ("grains", "found", "warnings"),
    [(1.5, [("grains-week", "week")], []), (1.6, [], []), (1.8, [], []), (2, [], [("grains-week-upper", "week")])],
)
def test_upper_figures_only_warn(grains: float, found: list[Any], warnings: list[Any]) -> None:
    """8 to 9 oz eq a week: below is a finding, above a warning, as the law has no maximum any more."""
    changed = week(days=[lunch(subgroup, grains) for subgroup in VEGETABLES])
    assert (broken(changed), warned(changed)) == (found, warnings)


@pytest.mark.parametrize(
    ("nutrient", "value", "found"),
    [
        ("energy_kcal", 29.9, ["energy-week"]),  # 549.9
        ("energy_kcal", 30, []),  # 550
        ("energy_kcal", 130, []),  # 650
        ("energy_kcal", 130.1, ["energy-week"]),
        ("sodium_mg", 280, []),  # 1110
        ("sodium_mg", 280.1, ["sodium-week"]),
    ],
)
def test_weekly_averages(nutrient: str, value: float, found: list[str]) -> None:
    """550 to 650 kcal and at most 1,110 mg, the figures themselves allowed (210.10(f))."""
    changed = week()
    for day in changed["days"]:
        day[0]["nutrients"] |= {nutrient: value}
    assert [rule for rule, _ in broken(changed)] == found


@pytest.mark.parametrize(("fat", "found"), [(4.44, []), (4.45, [("saturated-fat-week", "week")])])
def test_ten_percent_of_the_energy_is_too_much(fat: float, found: list[Any]) -> None:
    """Strictly less than 10 %: 6.44 g of fat at 9 kcal are 57.96 of 580 kcal, 6.45 g are 58.05 (210.10(f)(2))."""
    changed = week(date="2026-01-13")
    for day in changed["days"]:
        day[3]["nutrients"]["saturated_fat_g"] = fat
    assert broken(changed) == found


def test_fat_of_milk_is_left_out_at_lunch_from_its_date_on() -> None:
    """P.L. 119-69, from 2026-01-14: the same week with whole milk, a day earlier and on the day."""
    changed = week()
    for day in changed["days"]:
        day[1]["nutrients"]["saturated_fat_g"] = 4.6
    assert broken(changed | {"date": "2026-01-13"}) == [("saturated-fat-week", "week")]
    assert broken(changed | {"date": "2026-01-14"}) == []


def test_only_milk_itself_is_left_out() -> None:
    """A smoothie that credits milk and fruit is no fluid milk: its fat counts on."""
    changed = week(date="2026-01-14")
    for day in changed["days"]:
        day[1]["nutrients"]["saturated_fat_g"] = 6
    assert broken(changed) == []
    for day in changed["days"]:
        day[1]["credits"] = {"milk": 1, "fruit": 0.5}
    assert broken(changed) == [("saturated-fat-week", "week")]


@pytest.mark.parametrize(("date", "found"), [("2027-06-30", []), ("2027-07-01", ["sodium-week", "added-sugars-week"])])
def test_the_rules_of_the_date(date: str, found: list[str]) -> None:
    """From 1 July 2027 lunch has 935 mg of sodium in K-5, and added sugars a weekly limit of their own."""
    changed = week(date=date)
    for day in changed["days"]:
        day[0]["nutrients"] |= {"sodium_mg": 200, "added_sugars_g": 15}
    assert sorted(rule for rule, _ in broken(changed)) == sorted(found)


def test_milk_types_by_date() -> None:
    """Whole milk at lunch: not before 14 January 2026. At breakfast: from 8 June 2026."""
    changed = week(date="2026-01-13")
    changed["days"][0][1]["milk_fat"] = "whole"
    (finding,) = check_week(changed)["findings"]
    assert (finding["rule"], finding["day"], finding["found"]) == ("nslp-lunch/milk-type", 1, "whole")
    assert broken(changed | {"date": "2026-01-14"}) == []


def test_milk_that_does_not_say_its_fat_is_not_judged_and_that_is_said() -> None:
    """The form of the file lets it be left out; the answer then says so once."""
    changed = week()
    del changed["days"][2][1]["milk_fat"]
    answer = check_week(changed)
    assert answer["findings"] == []
    assert "milk of day 3 does not say" in next(
        each["says"] for each in answer["not_judged"] if each["rule"] == "nslp-lunch/milk-type"
    )


def test_whole_grain_rich_share() -> None:
    """80 % by ounce equivalents; what nobody says of a grain may be so, and is neither counted nor held against it."""
    changed = week()
    changed["days"][0][2]["whole_grain_rich"] = False  # four of five
    assert broken(changed) == []
    del changed["days"][1][2]["whole_grain_rich"]  # three of five, or four
    assert (broken(changed), unknown(changed)) == ([], ["whole-grain-rich-week"])
    changed["days"][1][2]["whole_grain_rich"] = False
    assert broken(changed) == [("whole-grain-rich-week", "week")]


@pytest.mark.parametrize(
    ("name", "flag", "found"),
    [
        ("apple juice, 100%", None, ["fruit-juice-week"]),
        ("pear halves in juice", None, []),
        ("apple juice, 100%", False, []),
        ("smoothie", True, ["fruit-juice-week"]),
    ],
)
def test_juice_is_at_most_half_of_the_fruit(name: str, flag: bool | None, found: list[str]) -> None:
    """Three of five days: 60 %. A name that says juice is one, unless the file says no."""
    changed = week()
    for day in changed["days"][:3]:
        day[0] |= {"food": name, "juice": flag}
    assert [rule for rule, _ in broken(changed)] == found


def test_desserts() -> None:
    """At most two ounce equivalents of grain-based dessert a week (210.10(c)(2)(iii)(C))."""
    changed = week()
    changed["days"][0][2]["dessert"] = True
    assert broken(changed) == []
    changed["days"][1][2]["dessert"] = True
    assert broken(changed) == [("dessert-week", "week")]


def test_added_sugars_of_products() -> None:
    """12 g in 6 oz of yogurt and 10 g in a cup of flavored milk, from 1 July 2025 on; without a weight nobody knows."""
    changed = week()
    for sugars, found in ((10, []), (11, [("flavored-milk-added-sugars", "day 1")])):
        changed["days"][0][1] |= {"product": "flavored_milk"}
        changed["days"][0][1]["nutrients"]["added_sugars_g"] = sugars
        assert broken(changed) == found
    changed = week()
    changed["days"][0].append(food("yogurt", {}, 100, 0, 0, product="yogurt", weight_g=170.1))
    changed["days"][0][-1]["nutrients"]["added_sugars_g"] = 12
    assert broken(changed) == []
    changed["days"][0][-1]["nutrients"]["added_sugars_g"] = 13
    assert broken(changed) == [("yogurt-added-sugars", "day 1")]
    assert broken(changed | {"date": "2025-06-30"}) == []
    del changed["days"][0][-1]["weight_g"]
    assert (broken(changed), unknown(changed)) == ([], ["yogurt-added-sugars"])


def test_crumbs_do_not_count() -> None:
    """Less than an eighth of a cup in one food credits nothing, and the answer says that it was left out."""
    changed = week()
    changed["days"][0][0]["credits"] = {"fruit": 0.44}
    changed["days"][0].append(food("raisin", {"fruit": 0.06}, 0, 0, 0))
    assert broken(changed) == [("fruit-day", "day 1"), ("fruit-week", "week")]
    assert warned(changed) == [("fruit-floor", "day 1")]
    changed["days"][0][-1]["credits"] = {"fruit": 0.12}  # an eighth, written short
    assert (broken(changed), warned(changed)) == ([], [])


@pytest.mark.parametrize("days", [3, 4, 5, 6, 7])
def test_weeks_of_three_to_seven_days(days: int) -> None:
    """The daily amounts make up a week of any length; the subgroups of a short one take larger servings."""
    subgroups = [*VEGETABLES, "other", "other"][:days]
    changed = week(days=[lunch(subgroup) for subgroup in subgroups])
    if days < 5:
        changed["days"][0].append(plain("more", vegetables__starchy=0.5, vegetables__other=0.5))
        changed["days"][0][-1]["nutrients"] = dict.fromkeys(changed["days"][0][0]["nutrients"], 0)
    assert broken(changed) == []
    assert check_week(changed)["days"] == days


def test_a_scaled_figure_says_that_it_is_one() -> None:
    """Four days: 4/5 of 2.5 cups. No table for four days was read, so the finding and a note say computed."""
    changed = week(days=[lunch("other") for _ in range(4)])
    for day in changed["days"]:
        day[0]["credits"] = {"fruit": 0.25}
    answer = check_week(changed)
    finding = next(each for each in answer["findings"] if each["rule"] == "nslp-lunch/fruit-week")
    assert (finding["needed"], finding["computed"]) == (2.0, True)
    assert any("computed" in note for note in answer["notes"])


def test_a_date_long_after_the_rules_were_read_is_noted() -> None:
    """A year later there may be newer ones."""
    assert check_week(week(date="2027-11-25"))["notes"] == []
    assert "look for newer ones" in check_week(week(date="2027-11-26"))["notes"][0]


def test_one_menu_for_two_groups_meets_both() -> None:
    """K-8: 600 to 650 kcal, the sodium of K-5, the 9 oz eq of grades 6 to 8 (210.10(c)(1))."""
    changed = week(group="K-8")
    assert broken(changed) == [("energy-week", "week")]
    for day in changed["days"]:
        day[0]["nutrients"]["energy_kcal"] = 90
        day[3]["credits"] = {"meat_alternate": 1.75}
    assert broken(changed) == [("meat-alternate-week", "week")]
    measures = {each["rule"]: each for each in check_week(changed)["measures"]}
    assert (measures["nslp-lunch/energy-week"]["at_least"], measures["nslp-lunch/energy-week"]["at_most"]) == (600, 650)
    assert measures["nslp-lunch/sodium-week"]["at_most"] == 1110


def breakfast() -> list[Json]:
    return [
        plain("banana", fruit=1),
        plain("milk", milk=1),
        plain("oatmeal", grains=1) | RICH,
        plain("egg", meat_alternate=0.5),
    ]


def test_breakfast_takes_grains_and_meat_alternates_as_one() -> None:
    """7 oz eq a week of both together in K-5, at least 1 a day (220.8(c) Table 1)."""
    assert broken(meals("sbp-breakfast", "K-5", breakfast())) == []
    assert broken(meals("sbp-breakfast", "6-8", breakfast())) == [("grains-meat-alternate-week", "week")]


def test_vegetables_may_stand_in_for_fruit_at_breakfast() -> None:
    """One day any vegetable; two days or more ask for two subgroups in the week (220.8(c)(2)(i))."""
    file = meals("sbp-breakfast", "K-5", breakfast())
    file["days"][0][0] = plain("hash browns", vegetables__starchy=1)
    assert broken(file) == []
    file["days"][1][0] = plain("hash browns", vegetables__starchy=1)
    assert broken(file) == [("vegetables-for-fruit-week", "week")]
    file["days"][1][0] = plain("peppers", vegetables__red_orange=1)
    assert broken(file) == []
    file["days"][1][0] = plain("vegetables", vegetables=1)  # of which subgroup, nobody knows
    assert broken(file) == []
    assert "vegetables-for-fruit-week" in unknown(file)


@pytest.mark.parametrize(
    ("foods", "found"),
    [
        ([plain("milk", milk=1), plain("crackers", grains=1) | RICH], 0),
        ([plain("milk", milk=1), plain("apple juice", fruit=0.75)], 1),  # two beverages
        ([plain("apple juice", fruit=0.75), plain("cheese", meat_alternate=1)], 0),
        ([plain("milk", milk=1), plain("crackers", grains=0.75) | RICH], 1),
    ],
)
def test_school_snack(foods: list[Json], found: int) -> None:
    """Two of five components in their full amount, one beverage at most (210.10(o)(2))."""
    rules = [rule for rule, _ in broken(meals("nslp-snack", "K-12", foods, days=1))]
    assert rules.count("two-components-day") == found


def test_missing_nutrients_are_missing() -> None:
    """What a part of the week states can pass a limit or reach a minimum; short of that, nobody knows."""
    changed = week()
    del changed["days"][0][3]["nutrients"]
    # 544 kcal of at least 550 from what is stated: whether the week is short, nobody knows.
    assert unknown(changed) == ["energy-week", "saturated-fat-week", "sodium-week"]
    total = check_week(changed)["totals"]["nutrients"]["sodium_mg"]
    assert (total["average"], total["stated_average"], total["stated"], total["of_foods"]) == (None, 770, 24, 25)
    changed["days"][1][3]["nutrients"]["sodium_mg"] = 5000
    assert broken(changed) == [("sodium-week", "week")]
