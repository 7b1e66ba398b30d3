"""What a label means for a child, asked twice: by the teacher about a treat, by the kitchen about a dish.

The cases stand in labels.csv with the basis of each. Outcomes are those of the design: what the table of scenarios
calls a conflict is `withhold`; a review or something unknown is `refer`, save where the design holds it for possible.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.utils import timezone

from compliance.checks.treatfood import Said, check_said
from compliance.models import Referral
from menus.models import Label
from menus.services.labels import record_label
from tests.factories import ProductFactory
from tests.scenarios.stage import Stage, at_treat, dish_of, labelled_as, rows

pytestmark = pytest.mark.django_db

CASES = rows("labels.csv")
IDS = [f"{case['id']}-{case['avoids']}-{case['strictness']}-{case['ingredients'][:30]}" for case in CASES]


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_teacher_asks(case: dict[str, str]) -> None:
    """The child of the case is listed at its outcome, and a child without restrictions never is."""
    stage = Stage.set()
    child, other = stage.child(case["avoids"], strictness=case["strictness"]), stage.child()
    answer = stage.treat(labelled_as(case).labels.get())
    assert at_treat(answer, child) == case["outcome"], case["why"]
    assert at_treat(answer, other) == "none-found"
    assert answer["children"] == 2


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_kitchen_asks(case: dict[str, str]) -> None:
    """The same label in a dish of the day gives the same outcome as an exception, and a `refer` is put on the list."""
    stage = Stage.set()
    child, _ = stage.child(case["avoids"], strictness=case["strictness"]), stage.child()
    stage.serve(dish_of(labelled_as(case)))
    stage.check()
    assert stage.at_dish(child, "Dish") == case["outcome"], case["why"]
    assert {pk for pk, *_ in stage.met()} <= {child.pk}
    assert Referral.objects.waiting().filter(child=child).exists() is (case["outcome"] == "refer")


def test_s03_cupcakes_without_a_label() -> None:
    """S03. Basis: CDC guidelines for schools, 2013. Nothing known: every restricted child is referred, nobody else."""
    stage = Stage.set()
    restricted = [stage.child(substance) for substance in ("peanut", "pork", "kiwi")]
    free = stage.child()
    answer = stage.treat(None, food="Cupcakes", home_made=True)
    assert {at_treat(answer, child) for child in restricted} == {"refer"}
    assert at_treat(answer, free) == "none-found"
    assert answer["none_found"] == 1


def test_s04_list_typed_by_a_parent() -> None:
    """S04. Basis: common practice, no source. A list from a home clears nobody, and what it names is withheld."""
    stage = Stage.set()
    peanut, egg = stage.child("peanut"), stage.child("egg")
    said = Said(text="flour, sugar, butter, eggs", name="Birthday cake", home_made=True)
    answer = check_said(
        user=stage.teacher, classroom=stage.classroom, served_at=timezone.now() + timedelta(hours=1), said=said
    ).result
    assert at_treat(answer, peanut) == "refer"
    assert at_treat(answer, egg) == "withhold"


def test_s15_no_drink_for_all_is_assumed() -> None:
    """S15. Basis: design. Milk and soy in one class: each drink for each child; a third has none found for both."""
    stage = Stage.set()
    milk, soy = stage.child("milk"), stage.child("soy")
    drinks = {"soy drink": "water, soybeans", "milk": "lowfat milk", "rice drink": "water, rice, sunflower oil"}
    found = {}
    for name, ingredients in drinks.items():
        answer = stage.treat(label_of(ingredients), food=name)
        found[name] = (at_treat(answer, milk), at_treat(answer, soy))
    assert found == {
        "soy drink": ("none-found", "withhold"),
        "milk": ("withhold", "none-found"),
        "rice drink": ("none-found", "none-found"),
    }


def test_s68_label_not_read_for_a_year() -> None:
    """S68. Basis: FAME manual, food allergy management in education (read); the 365 days are a setting.

    A product with an old label is referred though its words hold nothing; read again, none found.
    """
    stage = Stage.set()
    child = stage.child("peanut")
    product = label_of("rice, salt", seen_on=stage.today - timedelta(days=366)).product
    stage.serve(dish_of(product))
    stage.check()
    assert stage.at_dish(child, "Dish") == "refer"
    record_label(product=product, ingredients="rice, salt", seen_on=stage.today)
    stage.check()
    assert stage.at_dish(child, "Dish") == "none-found"


def label_of(ingredients: str, seen_on: date | None = None) -> Label:
    return record_label(product=ProductFactory(), ingredients=ingredients, seen_on=seen_on or timezone.localdate())
