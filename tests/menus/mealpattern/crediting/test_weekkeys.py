"""A credited recipe in a week: its keys, the two readings of beans, whole grains, desserts, drinks."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from menus.mealpattern.crediting.drinks import special
from menus.mealpattern.crediting.grains import is_dessert, whole_grain_rich, whole_share
from menus.mealpattern.crediting.recipe import Ingredient, Recipe
from menus.mealpattern.crediting.totals import Crediting, credit
from menus.mealpattern.crediting.weekkeys import Beans, readings, week_credits

POOL = (
    ("black beans, canned, drained", "cup"),
    ("cheddar cheese", "oz"),
    ("brown rice, dry", "lb"),
    ("broccoli, cooked", "cup"),
    ("tomato sauce", "cup"),
    ("corn, frozen", "cup"),
    ("apples, canned", "cup"),
    ("ground beef, raw", "lb"),
)
LINES = st.lists(st.tuples(st.sampled_from(POOL), st.integers(0, 40)), min_size=1, max_size=5)


def dish(*lines: tuple[str, str], servings: int = 1, title: str = "", drinks: bool = True) -> Crediting:
    ingredients = tuple(Ingredient(name, measure=measure) for name, measure in lines)
    return credit(Recipe(servings, ingredients, title=title), drinks=drinks)


CHILI = dish(("black beans, canned, drained", "1/2 cup"), ("tomato sauce", "1/4 cup"))
BURRITO = dish(("black beans, canned, drained", "1/2 cup"), ("cheddar cheese", "1 oz"))
BEEF = dish(("ground beef, cooked", "2 oz"))
EGGY_BREAD = dish(("egg", "1/4 each"), ("flour, enriched", "1 oz"))


def test_beans_as_meat_alternate() -> None:
    """Their ounces stand apart, so that the week's subgroup of beans can count them."""
    assert week_credits(BURRITO, Beans.ALTERNATE) == {"meat_alternate": 1, "meat_alternate.beans_peas_lentils": 2}


def test_beans_as_vegetable() -> None:
    """Once, and never both ways."""
    assert week_credits(BURRITO, Beans.VEGETABLE) == {
        "meat_alternate": 1,
        "vegetables.beans_peas_lentils": Fraction(1, 2),
    }
    both = set(week_credits(CHILI, Beans.ALTERNATE)) & set(week_credits(CHILI, Beans.VEGETABLE))
    assert both == {"vegetables.red_orange"}


def test_the_only_dish_with_a_meat_alternate_counts_its_beans_as_that() -> None:
    """A chili alone; a burrito with cheese; a chili beside bread with a little egg in it."""
    assert readings({1: CHILI}) == {1: Beans.ALTERNATE}
    assert readings({1: BURRITO}) == {1: Beans.ALTERNATE}
    assert readings({1: CHILI, 2: EGGY_BREAD}) == {1: Beans.ALTERNATE}


def test_beside_a_meat_beans_are_a_vegetable() -> None:
    """As much of it as the beans would bring is enough."""
    assert readings({1: CHILI, 2: BEEF}) == {1: Beans.VEGETABLE}
    assert readings({1: BEEF}) == {}


def test_of_two_dishes_of_beans_one_is_the_meat_alternate() -> None:
    """The one with more of them; of two alike the first."""
    less = dish(("black beans, canned, drained", "1/4 cup"))
    assert readings({1: less, 2: CHILI}) == {1: Beans.VEGETABLE, 2: Beans.ALTERNATE}
    assert readings({1: CHILI, 2: CHILI}) == {1: Beans.ALTERNATE, 2: Beans.VEGETABLE}


@pytest.mark.parametrize("reading", Beans)
@given(lines=LINES, place=st.integers(0, 4), more=st.integers(0, 20))
@settings(deadline=None)
def test_a_larger_serving_never_loses_a_credit(
    reading: Beans, lines: list[tuple[tuple[str, str], int]], place: int, more: int
) -> None:
    """More of one ingredient, the same reading of beans: no component comes to less."""
    place %= len(lines)
    larger = [(food, amount + (more if at == place else 0)) for at, (food, amount) in enumerate(lines)]
    before, after = (_totals(each, reading) for each in (lines, larger))
    assert all(after.get(component, 0) >= amount for component, amount in before.items())


def _totals(lines: list[tuple[tuple[str, str], int]], reading: Beans) -> dict[str, Fraction]:
    """By component: which part of the meats is beans may shift by the quarter that is rounded down."""
    found = dish(*((name, f"{amount} {unit}") for (name, unit), amount in lines), servings=10)
    sums: dict[str, Fraction] = {}
    for key, amount in week_credits(found, reading).items():
        component = "meat_alternate" if key.startswith("meat_alternate") else key
        sums[component] = sums.get(component, Fraction(0)) + amount
    return sums


@pytest.mark.parametrize(
    ("lines", "rich"),
    [
        ([("brown rice, dry", "2 oz")], True),
        ([("rice, dry", "2 oz")], None),  # neither whole nor named as refined
        ([("white rice, dry", "2 oz")], False),
        ([("whole wheat flour", "1 lb"), ("enriched flour", "1 lb")], True),  # half and half is enough (7 CFR 210.2)
        ([("whole wheat flour", "1 lb"), ("enriched flour", "2 lb")], False),
        ([("bread, whole grain, sliced", "28 g")], True),
        ([("bread, sliced", "28 g")], None),
        ([("hamburger bun, whole grain", "1 oz"), ("enriched flour", "2 oz")], False),  # at most 1 of 4.5 oz eq
        ([("broccoli", "1 cup")], None),
    ],
)
def test_whole_grain_rich(lines: list[tuple[str, str]], rich: bool | None) -> None:
    """At least half of the grain whole; what a name does not say stays unknown."""
    found, said = whole_grain_rich(dish(*lines, servings=1).lines)
    assert found is rich
    assert bool(said) is any(line.component == "grains" for line in dish(*lines).lines)


def test_names_of_refined_bran_are_no_whole_grain() -> None:
    """Oat fiber and oat rings are not rolled oats."""
    assert whole_share("rolled oats").least == 1
    assert whole_share("cereal, oat rings").least == 0
    assert whole_share("pasta with oat fiber").least == 0
    assert whole_share("granola bar, rolled oats and honey").least == 0  # what else is in it, nobody says


@pytest.mark.parametrize(
    ("title", "name", "dessert"),
    [
        ("Sunflower cookie", "flour, enriched", True),
        ("Snack", "granola bar, oat and honey", True),
        ("Apple crumble", "rolled oats", True),
        ("Lentil pie with potato topping", "brown rice, dry", False),
        ("Shepherd pie", "flour", False),
        ("Pancakes with syrup", "pancake", False),
        ("Rice cakes", "rice cake", False),
        ("Banana bread", "flour", False),
    ],
)
def test_grain_based_desserts(title: str, name: str, dessert: bool) -> None:
    """By the dish's title or a grain in it; quick breads, pancakes and rice cakes are none."""
    assert is_dessert(title, dish((name, "1 oz")).lines) is dessert


@pytest.mark.parametrize(
    ("name", "fat", "flavored"),
    [
        ("Milk, low-fat 1%, half pint", "low_fat", False),
        ("Milk, whole, gallon", "whole", False),
        ("Milk, fat free, chocolate, half pint", "fat_free", True),
        ("Milk, 2%, half pint", "reduced_fat", False),
        ("Milk, half pint", None, False),
    ],
)
def test_milk_by_its_name(name: str, fat: str | None, flavored: bool) -> None:
    """A milk that is the drink of a meal; without a word for its fat that stays unsaid."""
    found = dish((name, "1 each" if "half" in name else "1 cup"))
    assert found.credits == {"milk_cup": 1}
    assert (special(found.lines).milk_fat, special(found.lines).flavored) == (fat, flavored)


def test_milk_and_juice_credit_alone_only_as_drinks() -> None:
    """Inside a dish, and in a recipe that is no drink, they do not."""
    assert dish(("milk, 1%", "1 cup"), drinks=False).credits == {}
    assert dish(("milk, 1%", "1 cup"), ("flour", "1 oz")).credits.get("milk_cup") is None
    juice = dish(("orange juice, 4 oz", "1 each"))
    assert juice.credits == {"fruit_cup": Fraction(1, 2)}
    assert special(juice.lines).juice


def test_products_with_limits_of_their_own() -> None:
    """Only where the dish is that product and nothing else: the weight of the serving is then the product's."""
    assert special(dish(("yogurt, plain", "4 oz")).lines).product == "yogurt"
    assert special(dish(("cereal, corn flakes", "1 oz")).lines).product == "breakfast_cereal"
    assert special(dish(("yogurt, plain", "4 oz"), ("strawberries", "1/4 cup")).lines).product is None
