"""Recipes out of a file."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import pytest

from menus.imports.plan import ImportPlan, plan_rows
from menus.imports.recipes import RECIPES
from menus.models import Recipe, RecipeLine, RecipeVersion
from tests.factories import ProductFactory, RecipeFactory, recook
from tests.menus.imports.files import csv_file

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _beans():
    ProductFactory(code="BEANS")


def row(code: str, part: str = "BEANS", **cells: str) -> dict[str, str]:
    """One line; a part in capitals is a product, another is a recipe."""
    field = "product" if part.isupper() else "sub_recipe"
    return {
        "recipe": code,
        "name": code.title(),
        "servings": "50",
        "quantity": "2.5",
        "unit": "kg",
        field: part,
    } | cells


def plan(*rows: dict[str, str]) -> ImportPlan:
    return plan_rows(RECIPES, csv_file(RECIPES, *rows))


def lines(code: str) -> list[tuple[int, str, Decimal, str]]:
    version = RecipeVersion.objects.filter(recipe__code=code).latest("number")
    return [
        (line.position, str(line.product or line.sub_recipe), line.quantity, line.unit) for line in version.lines.all()
    ]


def said(made: ImportPlan) -> list[tuple[int, str]]:
    return [(problem.row, problem.field) for problem in made.problems]


def test_rows_of_one_recipe_become_its_lines_in_order():
    ProductFactory(code="SALT", name="Salt")
    made = plan(row("chili"), row("chili", "SALT", quantity="10", unit="g", name="", servings=""))
    assert made.summary == "recipe: 1 new; recipe version: 1 new"
    made.save()
    assert [line[0] for line in lines("chili")] == [1, 2]
    assert lines("chili")[1] == (2, "Salt", Decimal(10), "g")
    assert RecipeVersion.objects.get().servings == 50


def test_a_sub_recipe_may_stand_below_the_recipe_that_holds_it():
    plan(row("plate", "chili"), row("chili")).save()
    assert RecipeLine.objects.get(sub_recipe__code="chili").version.recipe.code == "plate"


def test_importing_again_does_nothing():
    plan(row("chili", note="drained")).save()
    again = plan(row("chili", note="drained", quantity="2.500"))
    assert (again.steps, again.summary) == ([], "recipe: 1 unchanged; recipe version: 1 unchanged")


@pytest.mark.parametrize("change", [{"quantity": "3"}, {"unit": "lb"}, {"note": "drained"}, {"servings": "60"}])
def test_a_recipe_that_differs_becomes_a_new_version(change):
    plan(row("chili")).save()
    made = plan(row("chili", **change))
    assert made.summary == "recipe: 1 unchanged; recipe version: 1 changed"
    made.save()
    assert RecipeVersion.objects.count() == 2


def test_a_new_name_alone_makes_no_new_version():
    plan(row("chili")).save()
    plan(row("chili", name="Bean chili")).save()
    assert (Recipe.objects.get().name, RecipeVersion.objects.count()) == ("Bean chili", 1)


@pytest.mark.parametrize(
    ("cells", "field", "words"),
    [
        ({"recipe": "bean chili"}, "recipe", "“bean chili” is no short name. Use letters"),
        ({"name": ""}, "name", "The cell is empty"),
        ({"servings": "0"}, "servings", "“0” is not a whole number from 1"),
        ({"servings": "many"}, "servings", "in digits alone"),
        ({"product": "PEAS"}, "product", "No product has the code “PEAS”. Import the product first"),
        ({"product": "", "sub_recipe": "sauce"}, "sub_recipe", "No recipe is called “sauce”"),
        ({"product": ""}, "product", "Neither product nor sub_recipe is filled in. Fill in exactly one"),
        ({"sub_recipe": "soup"}, "product", "Both product and sub_recipe are filled in."),
        ({"quantity": "0"}, "quantity", "not an amount above 0"),
        ({"quantity": "1,5"}, "quantity", "Write it with a point"),
        ({"quantity": "2 kg"}, "quantity", "put the unit into its own column"),
        ({"quantity": "0.0001"}, "quantity", "at most three decimals"),
        ({"quantity": "NaN"}, "quantity", "not an amount"),
        ({"unit": ""}, "unit", "The cell is empty"),
        ({"unit": "klio"}, "unit", "“klio” is not a unit known here. Is “kg” meant?"),
    ],
)
def test_a_bad_cell_is_told_with_row_field_what_and_mend(cells, field, words):
    made = plan(row("soup"), row("chili", **cells))
    assert said(made) == [(3, field)]
    assert words in str(made.problems[0])


def test_two_names_for_one_recipe_are_told():
    assert said(plan(row("chili"), row("chili", name="Stew", servings="40"))) == [(3, "name"), (3, "servings")]


def test_a_recipe_that_holds_itself_is_refused_with_the_path():
    made = plan(row("plate", "chili"), row("chili", "sauce"), row("sauce", "plate"))
    (problem,) = made.problems
    assert problem.field == "sub_recipe"
    path = problem.what.removeprefix("The recipe would hold itself: ").rstrip(".").split(" → ")
    assert path[0] == path[-1]
    assert set(path) == {"Plate", "Chili", "Sauce"}
    follows = {"Plate": "Chili", "Chili": "Sauce", "Sauce": "Plate"}
    assert all(follows[holder] == held for holder, held in pairwise(path))
    assert {2: "Plate", 3: "Chili", 4: "Sauce"}[problem.row] == path[0]


def test_a_circle_through_a_recorded_recipe_is_refused():
    sauce = RecipeFactory(code="sauce", name="Sauce")
    chili = RecipeFactory(code="chili", name="Chili")
    recook(sauce, [chili])
    made = plan(row("chili", "sauce"))
    assert [str(problem) for problem in made.problems] == [
        "Row 2, sub_recipe: The recipe would hold itself: Chili → Sauce → Chili. Take one of these out of the other."
    ]


def test_a_recipe_straight_in_itself_is_refused():
    assert "Chili → Chili" in plan(row("chili", "chili")).problems[0].what


def test_every_circle_is_listed():
    made = plan(row("a", "b"), row("b", "a"), row("c", "d"), row("d", "c"), row("e"))
    assert len(made.problems) == 2


def test_two_recipes_may_trade_places():
    """Sauce in chili becomes chili in sauce: no half-written state may be taken for a circle."""
    plan(row("chili", "sauce"), row("sauce")).save()
    made = plan(row("sauce", "chili"), row("chili"))
    made.save()
    assert [line[1] for line in lines("sauce")] == ["Chili"]
    assert [line[1] for line in lines("chili")] != ["Sauce"]


def test_the_number_of_queries_does_not_grow_with_the_rows(django_assert_num_queries):
    for size in (2, 20):
        with django_assert_num_queries(3):  # product codes, recipe names, current versions (none yet)
            plan(*(row(f"r-{n}") for n in range(size)))
