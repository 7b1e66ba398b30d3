"""What an ingredient's name means, and what it must not be taken for."""

from __future__ import annotations

import pytest

from menus.mealpattern.crediting.foods import Food, foods
from menus.mealpattern.crediting.naming import read
from menus.mealpattern.crediting.tables import rows
from menus.mealpattern.crediting.ways import all_ways, citation, ways


def said(name: str) -> str:
    """The food, with what keeps it from crediting: "-" never credits, "maker" asks for a label."""
    return " or ".join(_one(food) for food in read(name).foods)


def _one(food: Food) -> str:
    return f"maker {food.id}" if food.by_maker else food.id if food.component else f"- {food.id}"


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("fresh red bell peppers, diced", "red_peppers"),
        ("peppers, bell, green, diced", "peppers"),
        ("ground black or white pepper", "- salt_and_spices"),
        ("red pepper flakes", "- salt_and_spices"),
        ("beans, pinto, dry", "pinto_beans"),
        ("canned low-sodium refried pinto beans, fat-free", "refried_beans"),
        ("green beans, frozen", "green_beans"),
        ("canned chickpeas (garbanzo beans), drained", "chickpeas"),
        ("vanilla yogurt", "yogurt"),
        ("strawberry yogurt", "yogurt"),
        ("frozen yogurt", "- dairy_not_creditable"),
        ("cream cheese", "- dairy_not_creditable"),
        ("nonfat dry milk", "- dairy_not_creditable"),
        ("coconut milk", "- dairy_not_creditable"),
        ("chicken stock", "- stocks"),
        ("red wine vinegar", "- condiments"),
        ("peanut oil", "- fats"),
        ("peanut butter", "nut_butters"),
        ("butternut squash", "winter_squash"),
        ("sweet potatoes", "sweet_potatoes"),
        ("potato chips", "- not_a_vegetable"),
        ("potatoes, nugget shaped", "potato_products"),
        ("chicken nuggets", "maker made_meats"),
        ("frozen, cooked fajita chicken strips, thawed", "maker made_meats"),
        ("smoked turkey breast, 1/4 in pieces", "maker turkey"),
        ("chicken tenders, raw", "maker made_meats"),
        ("chicken salad", "maker made_dishes"),
        ("cream of chicken soup", "maker made_dishes"),
        ("macaroni and cheese", "maker made_dishes"),
        ("muffin, chocolate chip", "muffins"),
        ("hot dog bun", "buns"),
        ("egg roll", "maker made_dishes"),
        ("egg whites", "- egg_parts"),
        ("eggplant", "eggplant"),
        ("egg noodles", "egg_noodles"),
        ("rice vinegar", "- condiments"),
        ("corn tortillas", "flat_breads"),
        ("cornstarch", "- leavening"),
        ("tomatoes, diced, canned, in juice", "tomatoes"),
        ("low fat plain yogurt or low fat mayonnaise", "yogurt or - condiments"),
        ("salt-free chili lime or taco seasoning", "- salt_and_spices"),
        ("black beans (or kidney beans)", "black_beans"),
        ("beef crumbles, plant-based", "maker made_meats"),
        ("vegan cheese", "maker cheese"),
        ("feta cheese crumbles", "cheese"),
        ("breaded cheese sticks", "maker cheese"),
        ("pollock, breaded, raw", "maker fish_fillets"),
        ("beans", ""),
        ("dragonfruit", ""),
        ("", ""),
    ],
)
def test_name(name: str, expected: str) -> None:
    """Both kinds: names that mean a food, and names that hold its words and mean another thing or none."""
    assert said(name) == expected


def test_no_phrase_means_two_foods() -> None:
    """The same words, in any order, stand in one row only."""
    seen: dict[frozenset[str], str] = {}
    for food in foods():
        for phrase in food.words:
            assert seen.setdefault(frozenset(phrase), food.id) == food.id, phrase


def test_every_phrase_finds_its_own_row() -> None:
    """No row hides a phrase of another: a name that is the phrase alone means its food."""
    for food in foods():
        for phrase in food.words:
            assert [found.id for found in read(" ".join(phrase)).foods] == [food.id], phrase


@pytest.mark.parametrize("table", ["foods.csv", "not_credited.csv", "by_maker.csv", "ways.csv"])
def test_every_row_names_a_known_source_and_whether_it_was_read(table: str) -> None:
    """A figure from memory says so; a source without a title is a slip."""
    for row in rows(table):
        assert citation(row["source"]), row
        assert row["verified"] in {"read", "memory"}, row
        assert row["verified"] == "memory" or row["source"] not in {"FBG", "SR", "PRACTICE"}, row


def test_every_food_has_a_way_and_every_way_a_food() -> None:
    """A food that credits can be credited by some quantity; no way is left over."""
    crediting = [food for food in foods() if food.component and not food.by_maker]
    assert all(any(way.credits for way in ways(food)) for food in crediting)
    known = {food.id for food in crediting} | {f"any {food.component}" for food in crediting}
    assert {way.food for way in all_ways()} <= known
    assert all(way.unit == "none" or way.rate > 0 for way in all_ways())
