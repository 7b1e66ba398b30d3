"""Child care meals and infants: what must be found, and what must not.

Figures: 7 CFR 226.20(c) as restated in 210.10(o)-(q) and 220.8(o)-(p); tests/external/test_meal_patterns.py.
"""

from __future__ import annotations

import pytest

from menus.mealpattern.patterns.answer import check_week
from tests.menus.mealpattern.patterns.weeks import Json, broken, meals, plain, unknown, warned

LUNCH = [
    plain("milk", milk=0.75),
    plain("turkey", meat_alternate=1.5),
    plain("carrots", vegetables__red_orange=0.25),
    plain("pear", fruit=0.25),
    plain("bread", grains=0.5),
]


@pytest.mark.parametrize("program", ["cacfp-lunch", "cacfp-supper", "nslp-lunch"])
def test_a_whole_lunch_for_three_to_five(program: str) -> None:
    """The same table serves child care lunch and supper and the preschool meal of a school (210.10(p))."""
    assert broken(meals(program, "3-5", LUNCH)) == []


@pytest.mark.parametrize(
    ("group", "found"),
    [("1-2", []), ("6-12", ["milk-day", "meat-alternate-day", "vegetables-day", "grains-day"])],
)
def test_the_same_plate_for_other_ages(group: str, found: list[str]) -> None:
    assert [rule for rule, _ in broken(meals("cacfp-lunch", group, LUNCH, days=1))] == found


@pytest.mark.parametrize(
    ("vegetables", "found"),
    [
        ([("carrots", 0.25), ("peas", 0.25)], []),
        ([("carrots", 0.5)], ["fruit-day"]),  # two different ones are needed
        ([("carrots", 0.25), ("Carrots", 0.25)], ["fruit-day"]),
        ([("carrots", 0.25), ("peas", 0.125)], ["fruit-day"]),
    ],
)
def test_a_second_vegetable_may_replace_the_fruit(vegetables: list[tuple[str, float]], found: list[str]) -> None:
    """Lunch, the whole of the fruit (210.10(p)(2) note 5)."""
    foods = [LUNCH[0], LUNCH[1], LUNCH[4], *(plain(name, vegetables__other=cups) for name, cups in vegetables)]
    assert [rule for rule, _ in broken(meals("cacfp-lunch", "3-5", foods, days=1))] == found


def test_two_vegetables_meet_both_figures() -> None:
    """Ages 6 to 12: half a cup of vegetables and a quarter in place of the fruit make three quarters."""
    foods = [plain("milk", milk=1), plain("turkey", meat_alternate=2), plain("bread", grains=1)]
    for peas, found in ((0.25, [("fruit-day", "day 1")]), (0.5, [])):
        vegetables = [plain("carrots", vegetables__red_orange=0.25), plain("peas", vegetables__starchy=peas)]
        assert broken(meals("cacfp-lunch", "6-12", [*foods, *vegetables], days=1)) == found


def test_one_dish_of_two_vegetables_holds_two() -> None:
    """A dish that credits two subgroups is two vegetables; one that credits none by name is one."""
    foods = [LUNCH[0], LUNCH[1], LUNCH[4]]
    two = plain("peas and carrots", vegetables__starchy=0.25, vegetables__red_orange=0.25)
    assert broken(meals("cacfp-lunch", "3-5", [*foods, two])) == []
    assert broken(meals("cacfp-lunch", "3-5", [*foods, plain("mix", vegetables=0.5)], days=1)) == [
        ("fruit-day", "day 1")
    ]


def breakfast(*rest: Json) -> list[Json]:
    return [plain("milk", milk=0.75), plain("berries", fruit=0.25), plain("tomato", vegetables__red_orange=0.25), *rest]


@pytest.mark.parametrize(("days", "found"), [(3, []), (4, ["meat-alternate-for-grains-week"])])
def test_meat_alternates_replace_the_grains_three_times_a_week(days: int, found: list[str]) -> None:
    """Breakfast, the entire grain, 1 oz eq for 1 oz eq (220.8(o)(2) note 4). Beside a grain they replace nothing."""
    file = meals("cacfp-breakfast", "3-5", breakfast(plain("toast", grains=0.5), plain("egg", meat_alternate=0.5)))
    for day in file["days"][:days]:
        del day[3]
    assert [rule for rule, _ in broken(file)] == found


@pytest.mark.parametrize(("group", "juice"), [("3-5", 0.5), ("6-12", 0.75)])
def test_snack(group: str, juice: float) -> None:
    """Two of five, one beverage at most."""
    crackers, milk = plain("crackers", grains=1), plain("milk", milk=1)
    drink = plain("grape juice", fruit=juice)
    assert broken(meals("cacfp-snack", group, [crackers, drink])) == []
    assert len(broken(meals("cacfp-snack", group, [milk, drink]))) == 5


@pytest.mark.parametrize(("date", "sugars", "found"), [
    ("2025-09-30", {"total_sugars_g": 6}, []),
    ("2025-09-30", {"total_sugars_g": 7}, ["cereal-sugars"]),
    ("2025-10-01", {"total_sugars_g": 9, "added_sugars_g": 6}, []),
    ("2025-10-01", {"total_sugars_g": 9, "added_sugars_g": 7}, ["cereal-sugars"]),
])  # fmt: skip
def test_cereal_sugars_by_date(date: str, sugars: dict[str, float], found: list[str]) -> None:
    """6 g a dry ounce: of total sugars until 30 September 2025, of added sugars from then on."""
    cereal = plain("cereal", grains=1) | {"product": "breakfast_cereal", "weight_g": 28.35, "nutrients": sugars}
    assert [rule for rule, _ in broken(meals("cacfp-breakfast", "3-5", breakfast(cereal), days=1, date=date))] == found


@pytest.mark.parametrize(("sugars", "found"), [(8, []), (9, ["yogurt-sugars"])])
def test_yogurt(sugars: float, found: list[str]) -> None:
    """12 g of added sugars in 6 oz: 8 g in 4 oz are just that."""
    yogurt = plain("yogurt", meat_alternate=1) | {"product": "yogurt", "weight_g": 113.4}
    yogurt |= {"nutrients": {"added_sugars_g": sugars}}
    assert [rule for rule, _ in broken(meals("cacfp-breakfast", "3-5", breakfast(yogurt), days=1))] == found


def test_a_cereal_that_states_other_sugars_is_unknown() -> None:
    """Total sugars do not answer for added ones."""
    cereal = plain("cereal", grains=1) | {"product": "breakfast_cereal", "weight_g": 28.35}
    cereal |= {"nutrients": {"total_sugars_g": 9}}
    file = meals("cacfp-breakfast", "3-5", breakfast(cereal), days=1)
    assert (broken(file), unknown(file)) == ([], ["cereal-sugars"])


def test_desserts_credit_nothing() -> None:
    """210.10(p)(2) note 6: one may be served, beside a grain that counts; in its place the grain is short."""
    cookie = plain("cookie", grains=0.5) | {"dessert": True}
    beside, instead = (meals("cacfp-lunch", "3-5", [*foods, cookie], days=1) for foods in (LUNCH, LUNCH[:4]))
    assert (broken(beside), warned(beside)) == ([], [("dessert-credit", "day 1")])
    assert broken(instead) == [("grains-day", "day 1")]
    assert "credit nothing" in check_week(beside)["warnings"][0]["says"]


@pytest.mark.parametrize(
    ("group", "fat", "flavored", "date", "found"),
    [
        ("3-5", "whole", False, "2026-06-07", 1),
        ("3-5", "whole", False, "2026-06-08", 0),
        ("3-5", "fat_free", True, "2026-06-08", 1),
        ("6-12", "fat_free", True, "2026-06-08", 0),
        ("1-2", "whole", False, "2026-06-07", 0),
        ("1-2", "reduced_fat", False, "2026-06-07", 1),
    ],
)
def test_milk_by_age_and_date(group: str, fat: str, flavored: bool, date: str, found: int) -> None:
    """226.20(a)(1) and the rule of May 2026, in force from 8 June 2026."""
    milk = plain("milk", milk=1) | {"milk_fat": fat, "flavored": flavored}
    rules = [rule for rule, _ in broken(meals("cacfp-lunch", group, [milk], days=1, date=date))]
    assert rules.count("milk-type") == found


def test_a_flavored_product_is_flavored_milk() -> None:
    """Said by its kind of product alone."""
    milk = plain("milk", milk=1) | {"product": "flavored_milk"}
    rules = [rule for rule, _ in broken(meals("cacfp-lunch", "3-5", [milk], days=1))]
    assert "milk-type" in rules


@pytest.mark.parametrize(
    ("group", "foods", "found", "warnings"),
    [
        ("infant-0-5", [plain("formula", formula=4)], [], []),
        ("infant-0-5", [plain("formula", formula=3)], ["formula-day"], []),
        ("infant-6-11", [plain("breast milk", formula=6), plain("peas", solids__vegetables_fruit=2)], [], []),
        ("infant-6-11", [plain("breast milk", formula=4)], ["formula-day"], []),
        ("infant-6-11", [plain("formula", formula=6), plain("apple juice", juice=2)], ["juice-week"], []),
        ("infant-6-11", [plain("formula", formula=6), plain("milk", milk=2)], ["cows-milk-week"], []),
        ("infant-0-5", [plain("formula", formula=4), plain("cereal", solids__cereal=0.5)], [], ["solids-week"]),
    ],
)
def test_infants(group: str, foods: list[Json], found: list[str], warnings: list[str]) -> None:
    """Breast milk or formula; juice and cow's milk credit nothing; solids follow readiness, so they only warn."""
    file = meals("cacfp-lunch", group, foods, days=1)
    assert ([rule for rule, _ in broken(file)], [rule for rule, _ in warned(file)]) == (found, warnings)


def test_what_one_meal_cannot_show_is_said() -> None:
    """Juice once a day and a whole grain-rich food a day hold over all meals: the answer names them as not judged."""
    names = {each["rule"] for each in check_week(meals("cacfp-lunch", "3-5", LUNCH))["not_judged"]}
    assert {"cacfp-lunch/juice-day", "cacfp-lunch/whole-grain-rich-day"} <= names
