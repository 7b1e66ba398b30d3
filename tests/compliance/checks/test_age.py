"""Choking notices for the children who are there: on the day, at the table, from the recipe and the label."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from dateutil.relativedelta import relativedelta
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from compliance.checks.age import births_at, food_notices, serving_notices
from compliance.checks.treat import check_treat
from compliance.models import TreatCheck
from menus.labels.lexicon import Lexicon
from menus.models import Label, Product, Recipe, Serving
from tests.cast import Cast
from tests.factories import (
    ChildFactory,
    EnrolmentFactory,
    RecipeLineFactory,
    RecipeVersionFactory,
    ServingFactory,
    cooked,
    labelled,
)

TODAY = date(2026, 11, 25)
TODDLER = [TODAY - relativedelta(years=2)]


def noted(name: str, *parts: tuple[Product, str]) -> Recipe:
    """A recipe whose lines state a form."""
    recipe = cooked(name)
    version = RecipeVersionFactory(recipe=recipe)
    for product, note in parts:
        RecipeLineFactory(version=version, product=product, note=note)
    return recipe


def advice(cast: Cast, recipe: Recipe, births: list[date | None]) -> list[tuple[str, str]]:
    serving: Serving = ServingFactory(site=cast.tansy_gate, recipe=recipe)
    notices = serving_notices([serving], births, TODAY, cast.tansy_gate)[serving.pk]
    return [(notice.food, notice.advice) for notice in notices]


def treat(cast: Cast, food: str, label: Label | None = None, **more: Any) -> list[dict[str, Any]]:
    now = timezone.now()
    check = check_treat(
        user=cast.dmitri,
        classroom=cast.minnows,
        served_at=more.pop("served_at", now),
        source=TreatCheck.Source.PASTED,
        food=food,
        label=label,
    )
    found: list[dict[str, Any]] = check.result["by_age"]
    return found


def minnow(cast: Cast, birth: date | None) -> None:
    EnrolmentFactory(child=ChildFactory(birth_date=birth), classroom=cast.minnows)


def test_recipe_line_states_the_form(cast: Cast) -> None:
    """The cook writes it once, on the line, and the notice is gone."""
    grapes = labelled("grapes", name="Grapes, red")
    assert advice(cast, noted("Fruit salad", (grapes, "")), TODDLER) == [("grapes", "ask")]
    assert advice(cast, noted("Fruit salad", (grapes, "quartered lengthwise")), TODDLER) == []


def test_parts_within_parts(cast: Cast) -> None:
    """A hazard in a recipe inside a recipe counts; what soup makes soft does not."""
    inner = cooked("Trail crunch", labelled("almonds, raisins", name="Snack base"))
    assert ("tree nuts", "ask") in advice(cast, cooked("Yogurt bowl", inner), TODDLER)
    vegetables = cooked("Soup vegetables", labelled("carrots", name="Carrots"))
    assert advice(cast, cooked("Vegetable soup", vegetables), TODDLER) == []


def test_what_a_label_warns_of_is_not_in_the_food(cast: Cast) -> None:
    """ "May contain peanuts" is no peanut to choke on, and neither is a declaration or a claim."""
    label = labelled(
        "rice flour, sugar. May contain peanuts and almonds.", label={"contains": "Contains tree nuts (almond)."}
    ).labels.get()
    assert food_notices("Rice puffs", label, TODDLER, TODAY, cast.tansy_gate, Lexicon.load()) == []


def test_bracket_says_what_it_was_turned_into(cast: Cast) -> None:
    """Peanuts inside "peanut butter (…)" are no whole peanuts; the same word outside is."""
    spread = labelled("oats, peanut butter (roasted peanuts, salt)").labels.get()
    loose = labelled("oats, roasted peanuts, salt").labels.get()
    assert food_notices("Oat squares", spread, TODDLER, TODAY, cast.tansy_gate, Lexicon.load()) == []
    assert [
        each.food for each in food_notices("Oat squares", loose, TODDLER, TODAY, cast.tansy_gate, Lexicon.load())
    ] == ["peanuts"]


def test_nobody_young_no_notice(cast: Cast) -> None:
    """A class of six-year-olds hears nothing of popcorn."""
    assert treat(cast, "Popcorn") == []


def test_age_on_the_day_of_the_food(cast: Cast) -> None:
    """Checked today for the day after tomorrow, when the child will be four: the age on that day counts."""
    today = timezone.now().astimezone(cast.tansy_gate.zone).date()
    minnow(cast, today + timedelta(days=2) - relativedelta(years=4))
    assert [row["food"] for row in treat(cast, "Popcorn")] == ["popcorn"]
    assert treat(cast, "Popcorn", served_at=timezone.now() + timedelta(days=2)) == []


def test_unknown_birth_date_meets_the_strictest(cast: Cast) -> None:
    """One child of unknown age among six-year-olds: the notice is there and counts that child."""
    minnow(cast, None)
    (row,) = treat(cast, "Popcorn")
    assert (row["children"], row["ages"], row["advice"]) == (1, "under 4 years", "leave-out")


def test_child_who_left_is_not_counted(cast: Cast) -> None:
    """The youngest of last week is not at the table today."""
    gone = timezone.now().date() - timedelta(days=7)
    EnrolmentFactory(child=ChildFactory(birth_date=gone), classroom=cast.minnows, ends_on=gone)
    assert treat(cast, "Popcorn") == []


@pytest.mark.parametrize("size", [1, 12])
def test_queries_do_not_grow_with_the_dishes(cast: Cast, size: int) -> None:
    """The same queries for one dish and for twelve."""
    minnow(cast, TODAY - relativedelta(years=2))
    servings = [
        ServingFactory(site=cast.tansy_gate, recipe=cooked(f"Dish {n}", labelled("grapes"))) for n in range(size)
    ]
    with CaptureQueriesContext(connection) as queries:
        found = serving_notices(servings, births_at(cast.tansy_gate, TODAY), TODAY, cast.tansy_gate)
        assert len(found) == size
    # birth dates (1); lines of current recipes with version and part (1); words accepted for the lexicon (1);
    # products (1) and their labels (1)
    assert len(queries) == 5, [query["sql"][:90] for query in queries]


def test_no_query_for_those_who_are_too_old(cast: Cast, django_assert_num_queries: Any) -> None:
    """A school without anybody under seven (in the US) pays nothing for the notices."""
    serving = ServingFactory(site=cast.ferrowick, recipe=cooked("Popcorn"))
    with django_assert_num_queries(0):
        assert serving_notices([serving], [TODAY - relativedelta(years=7)], TODAY, cast.ferrowick) == {serving.pk: []}
