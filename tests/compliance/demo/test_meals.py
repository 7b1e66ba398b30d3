"""Lunches of the demo that meet their pattern, and lunches that do not for the reasons its README states."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import transaction
from pytest_django import DjangoDbBlocker

from compliance.demo.files import rows
from compliance.demo.load import load_demo
from menus.mealpattern.nutrients.foods import table
from menus.models import Meal, ProductNutrition, Site
from menus.services.patterns import set_pattern
from menus.services.servings import plan_servings
from menus.services.weeks import judged_week

pytestmark = pytest.mark.django_db

MONDAY = date(2026, 11, 30)


@pytest.fixture(scope="module", autouse=True)
def demo(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """The demo as loaded on a Monday of the school year 2026-27, taken back after the module."""
    with django_db_blocker.unblock(), transaction.atomic():
        load_demo(MONDAY)
        for site in Site.objects.all():
            plan_servings(site=site, first=MONDAY, last=MONDAY + timedelta(days=27))
        yield
        transaction.set_rollback(True)


def lunch(code: str, week: int) -> dict[str, Any]:
    site = Site.objects.get(code=code)
    return judged_week(site, MONDAY + timedelta(weeks=week - 1), Meal.LUNCH)


def missed(answer: dict[str, Any]) -> set[tuple[str, int | None]]:
    return {(each["rule"].partition("/")[2], each["day"]) for each in answer["findings"]}


def test_a_school_week_that_meets_its_pattern() -> None:
    """Week 1: components, subgroups, energy, saturated fat, sodium and whole grains, with nothing left unknown."""
    answer = lunch("ferrowick", 1)
    assert (answer["program"], answer["group"]) == ("nslp-lunch", "K-5")
    assert answer["findings"] == answer["unknown"] == answer["warnings"] == []
    judged = {each["rule"].partition("/")[2] for each in answer["measures"]}
    assert judged >= {"energy-week", "saturated-fat-week", "sodium-week", "whole-grain-rich-week", "beans-week"}


def test_it_meets_the_figures_of_both_groups_too() -> None:
    """One menu for grades K-8, which the regulation has for schools whose grades are mixed so."""
    site = Site.objects.get(code="ferrowick")
    set_pattern(site=site, meal=Meal.LUNCH, program="nslp-lunch", group="K-8", starts_on=MONDAY)
    assert judged_week(site, MONDAY, Meal.LUNCH)["findings"] == []


@pytest.mark.parametrize(
    ("week", "reasons"),
    [
        (2, {("vegetables-day", 1), ("meat-alternate-day", 5), ("saturated-fat-week", None), ("beans-week", None)}),
        (3, {("grains-day", 1), ("fruit-day", 4), ("dark-green-week", None), ("beans-week", None)}),
        (4, {("fruit-day", 5), ("dark-green-week", None), ("energy-week", None), ("whole-grain-rich-week", None)}),
    ],
)
def test_school_weeks_that_do_not(week: int, reasons: set[tuple[str, int | None]]) -> None:
    """For the reasons stated in the README, among others."""
    assert missed(lunch("ferrowick", week)) >= reasons


@pytest.mark.parametrize(
    ("week", "reasons"),
    [
        (1, {("meat-alternate-day", 2), ("grains-day", 3), ("meat-alternate-day", 4), ("grains-day", 5)}),
        (2, set()),
        (3, {("meat-alternate-day", 5), ("grains-day", 5)}),
        (4, {("grains-day", 1), ("grains-day", 2), ("meat-alternate-day", 4)}),
    ],
)
def test_weeks_of_the_daycare(week: int, reasons: set[tuple[str, int | None]]) -> None:
    """One week meets the pattern for ages 3 to 5; each of the others misses these figures and no more."""
    answer = lunch("tansy-gate", week)
    assert (answer["program"], answer["group"]) == ("cacfp-lunch", "3-5")
    assert missed(answer) == reasons


def test_a_dessert_credits_nothing_in_child_care() -> None:
    """The apple crumble is no grain there, and says so."""
    assert any("Apple crumble" in each["says"] for each in lunch("tansy-gate", 1)["warnings"])


def test_every_product_but_four_says_what_it_holds() -> None:
    """What has no label has no panel; the rest names its row of the table, or is an invented label."""
    held = set(ProductNutrition.objects.values_list("product__code", flat=True))
    silent = {row["code"] for row in rows("products.csv")} - held
    assert silent == {"BK-117", "BK-118", "DG-161", "DG-164"}
    assert {row["ndb_no"] for row in rows("nutrition.csv") if row["ndb_no"]} <= set(table())
