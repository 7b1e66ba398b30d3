"""What products hold out of a file: panels of labels, foods of the table, and what is wrong with a row."""

from __future__ import annotations

from decimal import Decimal

import pytest

from menus.imports.nutrition import NUTRITION
from menus.imports.plan import ImportPlan, plan_rows
from menus.models import Product, ProductNutrition
from tests.factories import ProductFactory
from tests.menus.imports.files import csv_file

pytestmark = pytest.mark.django_db

PANEL = {"code": "B-1", "basis_g": "56", "piece_g": "56", "energy_kcal": "150", "sodium_mg": "230"}
TABLE = {"code": "B-1", "ndb_no": "09003", "piece_g": "180", "edible": "0.91", "added_sugars_g": "0"}


@pytest.fixture(autouse=True)
def buns() -> Product:
    return ProductFactory.create(code="B-1", name="Buns")


def row(said: dict[str, str]) -> dict[str, str]:
    return dict.fromkeys(NUTRITION.header, "") | said


def plan(*rows: dict[str, str]) -> ImportPlan:
    return plan_rows(NUTRITION, csv_file(NUTRITION, *map(row, rows)))


def test_a_panel_is_saved_and_an_empty_cell_is_not_stated() -> None:
    """Nothing is filled in with a zero."""
    made = plan(PANEL)
    assert made.summary == "nutrition: 1 new"
    made.save()
    kept = ProductNutrition.objects.get()
    assert (kept.source, kept.basis_g, kept.piece_g, kept.energy_kcal) == ("label", 56, 56, 150)
    assert kept.saturated_fat_g is None and kept.added_sugars_g is None
    assert kept.edible == 1


def test_a_food_of_the_table_is_saved_with_its_own_figures() -> None:
    """Apples with skin, 100 g; added sugars are the row's."""
    plan(TABLE).save()
    kept = ProductNutrition.objects.get()
    assert (kept.source, kept.ndb_no, kept.basis_g, kept.energy_kcal) == ("sr28", "09003", 100, 52)
    assert (kept.total_sugars_g, kept.added_sugars_g) == (Decimal("10.39"), 0)


@pytest.mark.parametrize("said", [PANEL, TABLE])
def test_importing_again_does_nothing_and_another_figure_is_a_newer_version(said: dict[str, str]) -> None:
    """The older one stays on record."""
    plan(said).save()
    assert plan(said).summary == "nutrition: 1 unchanged"
    plan(said | {"piece_g": "60"}).save()
    assert list(ProductNutrition.objects.order_by("pk").values_list("piece_g", flat=True))[-1] == 60
    assert ProductNutrition.objects.count() == 2


@pytest.mark.parametrize(
    ("said", "field", "what"),
    [
        ({"code": "B-9"}, "code", "No product on record"),
        ({"code": ""}, "code", "empty"),
        ({"basis_g": ""}, "basis_g", "for how many grams"),
        ({"basis_g": "0"}, "basis_g", "for how many grams"),
        ({"energy_kcal": "", "sodium_mg": ""}, "energy_kcal", "states nothing"),
        ({"energy_kcal": "-1"}, "energy_kcal", "is not a number"),
        ({"sodium_mg": "230 mg"}, "sodium_mg", "is not a number"),
        ({"sodium_mg": "NaN"}, "sodium_mg", "is not a number"),
        ({"edible": "1.2"}, "edible", "is no share"),
        ({"ndb_no": "99999", "energy_kcal": "", "sodium_mg": ""}, "ndb_no", "not in the table"),
        ({"ndb_no": "09003"}, "energy_kcal", "a figure of its own"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_saved(said: dict[str, str], field: str, what: str) -> None:
    """With the column and how to mend it."""
    made = plan(PANEL | said)
    (problem,) = [each for each in made.problems if each.field == field]
    assert what in problem.what and problem.mend
    assert not ProductNutrition.objects.exists()


def test_two_rows_for_one_product_are_refused() -> None:
    """Which of them counts nobody could tell."""
    made = plan(PANEL, PANEL)
    assert {each.field for each in made.problems} == {"code"}
