"""What a serving credits: rules one by one, properties, and input that is wrong."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from menus.mealpattern.crediting.foods import foods
from menus.mealpattern.crediting.jsonl import answer, read_lines
from menus.mealpattern.crediting.recipe import BadRecipe


def told(*ingredients: tuple[str, str], servings: int = 1, serving_size: str = "", title: str = "") -> dict[str, Any]:
    """The answer for ingredients of a name and a measure; a weight may stand in its place."""
    return answer(
        {
            "title": title,
            "servings": servings,
            "serving_size": serving_size,
            "ingredients": [{"name": name, "measure": measure} for name, measure in ingredients],
        }
    )


def credits(*ingredients: tuple[str, str], **rest: Any) -> dict[str, float]:
    found: dict[str, float] = told(*ingredients, **rest)["credits"]
    return found


@pytest.mark.parametrize(
    ("name", "measure", "key", "amount"),
    [
        ("fresh spinach, chopped", "1 cup", "dark_green_cup", 0.5),
        ("spinach, cooked", "1 cup", "dark_green_cup", 1),
        ("iceberg lettuce, shredded", "1 cup", "other_veg_cup", 0.5),
        ("broccoli, raw", "1 cup", "dark_green_cup", 1),
        ("raisins", "1/4 cup", "fruit_cup", 0.5),
        ("dried cranberries", "1/4 cup", "fruit_cup", 0.5),
        ("apples, dried", "1/4 cup", "fruit_cup", 0.5),
        ("apples, canned", "1/2 cup", "fruit_cup", 0.5),
        ("tomato paste", "2 Tbsp", "red_orange_cup", 0.5),
        ("tomato puree", "1/4 cup", "red_orange_cup", 0.5),
        ("tomato sauce", "1/4 cup", "red_orange_cup", 0.25),
        ("black beans, canned, drained", "1/2 cup", "legume_cup", 0.5),
        ("black beans, canned, drained", "1/2 cup", "meat_alternate_oz_eq", 2),
        ("peanut butter", "2 Tbsp", "meat_alternate_oz_eq", 1),
        ("sunflower seed butter", "1.1 oz", "meat_alternate_oz_eq", 1),
        ("tofu, firm", "1/4 cup", "meat_alternate_oz_eq", 1),
        ("tofu, firm", "2.2 oz", "meat_alternate_oz_eq", 1),
        ("tempeh", "1 oz", "meat_alternate_oz_eq", 1),
        ("yogurt, plain", "4 oz", "meat_alternate_oz_eq", 1),
        ("yogurt, plain", "1/2 cup", "meat_alternate_oz_eq", 1),
        ("cheddar cheese", "1 oz", "meat_alternate_oz_eq", 1),
        ("cottage cheese", "1/4 cup", "meat_alternate_oz_eq", 1),
        ("ricotta cheese", "2 oz", "meat_alternate_oz_eq", 1),
        ("egg, large", "1 each", "meat_alternate_oz_eq", 2),
        ("almonds", "1 oz", "meat_alternate_oz_eq", 1),
        ("chickpea pasta, cooked", "1/2 cup", "legume_cup", 0.5),
        ("chicken, cooked, diced", "1 oz", "meat_oz_eq", 1),
        ("saltine crackers", "22 g", "grains_oz_eq", 1),
        ("pancakes", "34 g", "grains_oz_eq", 1),
        ("muffins", "55 g", "grains_oz_eq", 1),
        ("whole-wheat flour", "16 g", "grains_oz_eq", 1),
        ("brown rice, dry", "28 g", "grains_oz_eq", 1),
        ("brown rice, cooked", "1/2 cup", "grains_oz_eq", 1),
        ("corn flakes", "1 cup", "grains_oz_eq", 1),
        ("tortillas, 8 inch (1.5 oz each)", "2 each", "grains_oz_eq", 3),
        ("biscuit, WGR, 2 oz eq", "1", "grains_oz_eq", 2),
        ("sausage patty, fully cooked (3/4 oz eq each)", "1", "meat_oz_eq", 0.75),
        ("chicken nuggets (3 oz = 2 oz eq)", "3 oz", "meat_oz_eq", 2),
    ],
)
def test_each_rule(name: str, measure: str, key: str, amount: float) -> None:
    """One published rule each: 7 CFR 210.10, Exhibit A, and the state pages that the data rows name."""
    assert credits((name, measure))[key] == amount


@pytest.mark.parametrize(
    ("name", "measure"),
    [
        ("water", "1 gal"),
        ("orange juice", "1 cup"),
        ("low-fat milk", "1 cup"),
        ("potato chips", "1 cup"),
        ("egg whites", "1 cup"),
        ("frozen yogurt", "1 cup"),
        ("coconut milk", "1 cup"),
        ("chicken broth", "1 qt"),
        ("almonds, optional", "1 lb"),
        ("yogurt or mayonnaise", "1 cup"),
        ("broccoli, raw", "1/9 cup"),
        ("cheddar cheese", "0.2 oz"),
    ],
)
def test_credits_nothing_and_asks_nothing(name: str, measure: str) -> None:
    """What never credits, what may be left out, and what is below the smallest amount."""
    found = told((name, measure))
    assert found["credits"] == {} and found["ask"] == []


@pytest.mark.parametrize(
    ("name", "measure"),
    [
        ("dragonfruit", "1 cup"),
        ("beef crumbles", "7 lb"),
        ("fajita chicken strips, cooked", "8 lb"),
        ("taco shells", "200 shells"),
        ("whole wheat pita", "25 each"),
        ("carrots", "to taste"),
        ("carrots", ""),
        ("carrots", "2 bunches"),
        ("chickpea pasta, dry", "1 lb"),
        ("sun-dried tomatoes", "1 cup"),
        ("eggs, medium", "10 eggs"),
        ("apples or carrots", "1 cup"),
        ("chicken, diced", "5 lb"),
        ("chicken thighs", "5 lb"),
        ("string cheese (at least 1 oz each)", "10 each"),
    ],
)
def test_asked_and_never_guessed(name: str, measure: str) -> None:
    """Named in `ask`, credited nowhere, with the reason in the arithmetic."""
    found = told((name, measure))
    assert found["ask"] == [name] and found["credits"] == {}
    assert any(sentence.startswith(f"{name}: not credited, ask: ") for sentence in found["arithmetic"])


def test_juice_and_milk_count_in_a_smoothie() -> None:
    """Inside other food they do not; a smoothie is the exception (Food Buying Guide, vegetables and fruits)."""
    found = credits(("orange juice", "1/2 cup"), ("low-fat milk", "1 cup"), title="Strawberry Smoothie")
    assert found == {"fruit_cup": 0.5, "milk_cup": 1.0}


def test_beans_count_once() -> None:
    """As meat alternate the vegetable total leaves them out; as vegetable the meat alternate does."""
    found = told(("kidney beans, cooked", "1/2 cup"), ("carrots, cooked", "1/4 cup"))
    assert found["credits"]["meat_alternate_oz_eq"] == 2 and found["credits"]["vegetable_cup"] == 0.25
    other = found["credits_if_legume_counted_as_vegetable"]
    assert "meat_alternate_oz_eq" not in other and other["vegetable_cup"] == 0.75


def test_legume_pasta_is_a_meat_alternate_only_beside_another() -> None:
    """FNS memo SP 26-2019: 1/2 cup cooked is 2 oz eq with tofu, cheese or meat, and none without."""
    pasta = ("chickpea pasta, cooked", "1/2 cup")
    alone = told(pasta)
    assert "meat_alternate_oz_eq" not in alone["credits"] and alone["credits"]["legume_cup"] == 0.5
    assert alone["credits_if_legume_counted_as_vegetable"]["vegetable_cup"] == 0.5
    assert credits(pasta, ("cheddar cheese", "1 oz"))["meat_alternate_oz_eq"] == 3.0


def test_small_amounts_of_one_component_add_up_before_rounding() -> None:
    """Three times 0.1 cup is 1/4 cup; rounded one by one it would be nothing."""
    assert credits(("carrots", "0.1 cup"), ("tomatoes", "0.1 cup"), ("pumpkin", "0.1 cup"))["red_orange_cup"] == 0.25


def test_the_smaller_of_weight_and_measure_counts() -> None:
    """A gallon of raw cubes from a pound is not a gallon when it is served."""
    row = {"servings": 1, "ingredients": [{"name": "zucchini, cubed", "weight": "1 lb", "measure": "1 gal"}]}
    assert answer(row)["credits"]["other_veg_cup"] == 2.0


@pytest.mark.parametrize(
    ("serving_size", "amount"),
    [
        ("3/4 cup stir-fry over 1/2 cup brown rice", 1.0),
        ("3/4 cup stir-fry over 1 cup brown rice", 2.0),
        ("1 bowl", 3.0),
    ],
)
def test_a_portion_of_rice_limits_its_credit(serving_size: str, amount: float) -> None:
    """What stays in the pan is not served."""
    assert credits(("brown rice, dry", "84 g"), serving_size=serving_size)["grains_oz_eq"] == amount


@pytest.mark.parametrize(
    ("serving_size", "amount"),
    [("1/2 cup", 0.5), ("½ cup fruit, 1 muffin", 0.5), ("1 plate", 1.0), ("1/2 cup (No. 8)", 0.5)],
)
def test_the_volume_served_limits_fruit(serving_size: str, amount: float) -> None:
    """Half a cup holds no more than half a cup."""
    assert credits(("peaches, sliced", "1 cup"), serving_size=serving_size)["fruit_cup"] == amount


def test_two_kinds_of_rice_share_one_portion() -> None:
    """The portion limits them together, in any order, not each for itself."""
    lines = [("brown rice, dry", "56 g"), ("wild rice, dry", "56 g")]
    for order in (lines, lines[::-1]):
        assert credits(*order, serving_size="1/2 cup rice")["grains_oz_eq"] == 1.0


def test_all_vegetables_share_the_volume_served() -> None:
    """Two vegetables of half a cup each do not make a cup in a serving of half a cup."""
    found = credits(("corn", "1/2 cup"), ("carrots", "1/2 cup"), serving_size="1/2 cup")
    assert found["vegetable_cup"] == found["starchy_cup"] == found["red_orange_cup"] == 0.5


def test_what_is_concentrated_may_credit_more_than_its_volume() -> None:
    """Tomato paste and raisins: by the whole food that went into them."""
    found = credits(("tomato paste", "1/2 cup"), ("raisins", "1/2 cup"), serving_size="1 cup")
    assert found["red_orange_cup"] == 2.0 and found["fruit_cup"] == 1.0


# Properties

unhurried = settings(deadline=None)  # the first example reads the tables
UNITS = st.sampled_from(["lb", "oz", "cups", "qt", "Tbsp", "No. 10 cans", "each", "g"])
NAMES = st.sampled_from(sorted(" ".join(phrase) for food in foods() for phrase in food.words))
FORMS = st.sampled_from(["", ", cooked", ", canned, drained", ", frozen", ", dry", ", raw, chopped"])
LINES = st.lists(st.tuples(NAMES, FORMS, st.integers(1, 500), UNITS), min_size=1, max_size=5)
SIZES = st.sampled_from(["", "1 cup", "1/2 cup rice, 2/3 cup sauce", "1 sandwich", "1/2 cup fruit"])
Lines = list[tuple[str, str, int, str]]


def of(lines: Lines, servings: int = 7, times: int = 1, serving_size: str = "") -> dict[str, Any]:
    return told(
        *((name + form, f"{amount * times} {unit}") for name, form, amount, unit in lines),
        servings=servings * times,
        serving_size=serving_size,
    )


@unhurried
@given(LINES, st.data(), SIZES)
def test_more_of_an_ingredient_never_credits_less(lines: Lines, data: st.DataObject, serving_size: str) -> None:
    """No key falls, in either answer."""
    place = data.draw(st.integers(0, len(lines) - 1))
    name, form, amount, unit = lines[place]
    more = [*lines[:place], (name, form, amount + data.draw(st.integers(1, 300)), unit), *lines[place + 1 :]]
    for answer_key in ("credits", "credits_if_legume_counted_as_vegetable"):
        before, after = (of(each, serving_size=serving_size).get(answer_key, {}) for each in (lines, more))
        assert all(after.get(key, 0) >= amount for key, amount in before.items())


@unhurried
@given(LINES, st.randoms(use_true_random=False), SIZES)
def test_the_order_of_ingredients_never_matters(lines: Lines, random: Any, serving_size: str) -> None:
    """Credits are the same; the same things are asked."""
    shuffled = random.sample(lines, len(lines))
    one, other = of(lines, serving_size=serving_size), of(shuffled, serving_size=serving_size)
    assert one["credits"] == other["credits"] and sorted(one["ask"]) == sorted(other["ask"])


@unhurried
@given(LINES, st.integers(2, 5), SIZES)
def test_a_larger_batch_for_as_many_more_changes_nothing(lines: Lines, times: int, serving_size: str) -> None:
    """Twice of everything for twice the servings credits the same."""
    one, other = of(lines, serving_size=serving_size), of(lines, times=times, serving_size=serving_size)
    assert one["credits"] == other["credits"] and one["ask"] == other["ask"]


@unhurried
@given(LINES)
def test_credits_are_whole_steps_and_the_total_holds_its_parts(lines: Lines) -> None:
    """1/8 cup, 1/4 oz eq; meat and alternate together are no less than either."""
    found = of(lines)["credits"]
    assert all(amount > 0 and amount * (8 if key.endswith("_cup") else 4) % 1 == 0 for key, amount in found.items())
    whole = found.get("meat_meat_alternate_oz_eq", 0)
    assert whole >= found.get("meat_oz_eq", 0) + found.get("meat_alternate_oz_eq", 0)


# Wrong input


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ([], "not an object"),
        ({}, "'ingredients' is missing"),
        ({"servings": 1, "ingredients": []}, "nothing to credit"),
        ({"servings": 0, "ingredients": [{"name": "rice"}]}, "whole number above zero"),
        ({"servings": "50", "ingredients": [{"name": "rice"}]}, "whole number above zero"),
        ({"servings": True, "ingredients": [{"name": "rice"}]}, "whole number above zero"),
        ({"servings": 2.5, "ingredients": [{"name": "rice"}]}, "whole number above zero"),
        ({"servings": 1, "ingredients": ["rice"]}, "ingredient 1 is not an object"),
        ({"servings": 1, "ingredients": [{"name": "rice"}, {"weight": "1 lb"}]}, "ingredient 2 has no 'name'"),
        ({"servings": 1, "ingredients": [{"name": "rice", "weight": 5}]}, "'weight' of ingredient 1 must be text"),
        ({"servings": 1, "ingredients": [{"name": "r" * 2000}]}, "shorten it"),
    ],
)
def test_a_bad_recipe_says_what_why_and_how_to_mend(row: Any, words: str) -> None:
    """A sentence with a remedy after the semicolon or the comma; nothing is worked out in part."""
    with pytest.raises(BadRecipe, match=words):
        answer(row)


def test_bad_lines_are_answered_in_their_place_and_the_others_too() -> None:
    """The number of the line and its id stay with the error."""
    good = b'{"id": "a", "servings": 1, "ingredients": [{"name": "rice, cooked", "measure": "1/2 cup"}]}'
    lines = [good, b"not json", b'{"id": "c", "servings": 0, "ingredients": [{"name": "x"}]}', b"\xff", good]
    answers = list(read_lines([*lines, b'{"id": NaN}', b"[" * 100_000]))
    rows = [json.loads(each.line) for each in answers]
    assert [each.is_good for each in answers] == [True, False, False, False, True, False, False]
    assert rows[0]["credits"] == rows[4]["credits"] == {"grains_oz_eq": 1.0}
    assert rows[2]["id"] == "c" and rows[2]["error"].startswith("Line 3: 'servings'")
    assert "UTF-8" in rows[3]["error"] and "'id' must be text" in rows[5]["error"]


JSON = st.recursive(
    st.none() | st.booleans() | st.floats(allow_nan=False) | st.integers() | st.text(max_size=30),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)
TEXT = st.text(max_size=60) | st.from_regex(r"[0-9 /.,()#-]{0,12}(cups?|lb|oz eq|No\. 10 cans?)?", fullmatch=True)


@unhurried
@given(st.fixed_dictionaries({"id": JSON, "servings": JSON, "ingredients": JSON, "title": JSON}) | JSON)
def test_any_json_is_answered(row: Any) -> None:
    """One line of valid JSON for one line of JSON, whatever it holds."""
    (found,) = read_lines([json.dumps(row).encode()])
    assert json.loads(found.line)


@unhurried
@given(st.lists(st.tuples(TEXT, TEXT, TEXT), min_size=1, max_size=4), TEXT, st.integers(1, 10**6))
def test_any_words_are_answered(lines: list[tuple[str, str, str]], serving_size: str, servings: int) -> None:
    """Hostile names and quantities credit, ask or are refused; they never raise anything else."""
    ingredients = [{"name": f"x{name}", "weight": weight, "measure": measure} for name, weight, measure in lines]
    found = answer({"servings": servings, "serving_size": serving_size, "ingredients": ingredients})
    assert len(found["arithmetic"]) >= len(lines)
