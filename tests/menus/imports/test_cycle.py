"""A cycle menu out of a file."""

from __future__ import annotations

from datetime import date, timedelta
from io import BytesIO

import pytest

from menus.imports.cycle import CYCLE
from menus.imports.plan import ImportPlan, plan_rows
from menus.models import CycleEntry, CycleMenu, Serving, Site
from menus.services.servings import plan_servings
from tests.factories import RecipeFactory, SiteFactory, this_monday
from tests.menus.imports.files import csv_file

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 10, 12)


@pytest.fixture
def site() -> Site:
    RecipeFactory(code="chili")
    RecipeFactory(code="soup")
    return SiteFactory(code="elm")


def row(
    week: str = "1", weekday: str = "monday", meal: str = "lunch", recipe: str = "chili", choice: str = ""
) -> dict[str, str]:
    return {"week": week, "weekday": weekday, "meal": meal, "recipe": recipe, "choice": choice}


def plan(site: Site, *rows: dict[str, str], starts_on: date = MONDAY, ends_on: date | None = None) -> ImportPlan:
    return plan_rows(CYCLE, csv_file(CYCLE, *rows), site=site, menu="Autumn", starts_on=starts_on, ends_on=ends_on)


def said(made: ImportPlan) -> list[tuple[int, str]]:
    return [(problem.row, problem.field) for problem in made.problems]


def test_a_menu_is_saved_with_its_dishes(site):
    made = plan(site, row(), row("2", "Friday", "Snack", "soup"))
    assert made.summary == "cycle menu: 1 new; dish of the cycle: 2 new"
    made.save()
    menu = CycleMenu.objects.get()
    assert (menu.site, menu.name, menu.weeks, menu.starts_on, menu.ends_on) == (site, "Autumn", 2, MONDAY, None)
    dishes = CycleEntry.objects.values_list("week", "weekday", "meal", "recipe__code")
    assert list(dishes) == [(1, 0, "lunch", "chili"), (2, 4, "snack", "soup")]


def test_importing_again_does_nothing(site):
    plan(site, row(), row("2")).save()
    again = plan(site, row(), row("2"))
    assert (again.steps, again.summary) == ([], "cycle menu: 1 unchanged; dish of the cycle: 2 unchanged")


def test_a_dish_that_leaves_the_file_leaves_the_menu_and_the_coming_days(site):
    """What was served stays on record."""
    monday = this_monday() + timedelta(days=7)
    plan(site, row(), row(recipe="soup"), starts_on=monday).save()
    plan_servings(site=site, first=monday, last=monday)
    made = plan(site, row(recipe="soup"), starts_on=monday)
    assert [step.detail for step in made.steps] == ["week 1, Monday, lunch: chili"]
    made.save()
    plan_servings(site=site, first=monday, last=monday)
    assert list(Serving.objects.planned().values_list("recipe__code", flat=True)) == ["soup"]
    assert Serving.objects.filter(recipe__code="chili", withdrawn_at__isnull=False).count() == 1


def test_a_longer_menu_is_a_changed_menu(site):
    plan(site, row()).save()
    plan(site, row(), row("4")).save()
    assert CycleMenu.objects.get().weeks == 4


def test_a_week_without_a_dish_is_pointed_out(site):
    assert [note.what for note in plan(site, row(), row("3")).notes] == [
        "Week 2 has no dish, so nothing is served in it."
    ]


@pytest.mark.parametrize(
    ("cells", "field", "words"),
    [
        ({"week": "0"}, "week", "not a whole number from 1 to 26"),
        ({"week": "27"}, "week", "not a whole number from 1 to 26"),
        ({"weekday": "monady"}, "weekday", "Is “monday” meant?"),
        ({"weekday": ""}, "weekday", "The cell is empty"),
        ({"meal": "dinner"}, "meal", "Write one of: breakfast, lunch, snack, supper"),
        ({"meal": ""}, "meal", "The cell is empty"),
        ({"recipe": ""}, "recipe", "The cell is empty"),
        ({"recipe": "stew"}, "recipe", "No recipe is called “stew”. Import the recipe first"),
    ],
)
def test_a_bad_cell_is_told_with_row_field_what_and_mend(site, cells, field, words):
    made = plan(site, row(), row("2") | cells)
    assert said(made) == [(3, field)]
    assert words in str(made.problems[0])


def test_dishes_offered_instead_of_each_other_are_marked(site):
    """A choice is part of the dish of the cycle; another word changes it, and none takes the mark away."""
    plan(site, row(choice="main dish"), row(recipe="soup", choice="main  dish")).save()
    assert list(CycleEntry.objects.values_list("recipe__code", "choice")) == [
        ("chili", "main dish"),
        ("soup", "main dish"),
    ]
    again = plan(site, row(choice="main dish"), row(recipe="soup"))
    assert [step.detail for step in again.steps] == ["week 1, Monday, lunch: soup (no choice)"]
    assert again.summary == "cycle menu: 1 unchanged; dish of the cycle: 1 changed, 1 unchanged"
    again.save()
    assert CycleEntry.objects.get(recipe__code="soup").choice == ""


def test_a_choice_of_one_dish_is_pointed_out(site):
    """A slip in the word makes two choices of one."""
    made = plan(site, row(choice="main dish"), row(recipe="soup", choice="main dishes"))
    assert [(note.row, note.field) for note in made.notes] == [(2, "choice"), (3, "choice")]
    assert "No other dish of this meal is one choice of “main dish”" in made.notes[0].what
    assert plan(site, row(choice="main dish"), row(recipe="soup", choice="Main Dish")).notes == []


def test_a_file_without_the_column_is_read_as_before(site):
    """Nothing in it is a choice."""
    file = BytesIO(b"week,weekday,meal,recipe\n1,monday,lunch,chili\n")
    made = plan_rows(CYCLE, file, site=site, menu="Autumn", starts_on=MONDAY, ends_on=None)
    assert made.problems == []
    made.save()
    assert CycleEntry.objects.get().choice == ""


def test_a_mark_that_is_too_long_is_told(site):
    assert said(plan(site, row(choice="x" * 31))) == [(2, "choice")]


def test_a_dish_twice_at_one_meal_is_told_on_both_rows(site):
    assert said(plan(site, row(), row(weekday="MONDAY"))) == [(2, "recipe"), (3, "recipe")]


def test_what_stands_beside_the_file_is_checked_too(site):
    made = plan(site, row(), starts_on=MONDAY + timedelta(days=1), ends_on=MONDAY)
    assert said(made) == [(0, "ends_on"), (0, "starts_on")]
    assert "2026-10-13 is no Monday. Give the Monday" in str(made.problems[1])
