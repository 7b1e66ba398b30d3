"""A calendar out of a file: adds and changes, takes nothing back, and says what is wrong."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from menus.imports.closures import CLOSURES
from menus.imports.plan import ImportPlan, plan_rows
from menus.models import Closure, Meal, Site
from tests.factories import ClosureFactory, SiteFactory
from tests.menus.imports.files import csv_file

pytestmark = pytest.mark.django_db


@pytest.fixture
def site() -> Site:
    return SiteFactory(code="elm")


def row(**said: str) -> dict[str, str]:
    usual = {"site": "elm", "first_day": "2026-12-21", "last_day": "2027-01-01", "meals": "", "reason": "winter break"}
    return usual | said


def plan(*rows: dict[str, str], **beside: Any) -> ImportPlan:
    return plan_rows(CLOSURES, csv_file(CLOSURES, *rows), **beside)


def test_a_calendar_is_saved(site: Site) -> None:
    """A break, a half day, and a holiday of all sites."""
    half = row(first_day="2026-10-09", last_day="", meals="Snack; supper", reason="half day")
    everywhere = row(site="ALL", first_day="2026-11-26", last_day="", reason="Thanksgiving")
    made = plan(row(), half, everywhere)
    assert made.summary == "entry of the calendar: 3 new"
    made.save()
    stored = Closure.objects.values_list("site__code", "first_day", "last_day", "meals", "reason")
    assert list(stored) == [
        ("elm", date(2026, 10, 9), date(2026, 10, 9), ["snack", "supper"], "half day"),
        (None, date(2026, 11, 26), date(2026, 11, 26), list(Meal.values), "Thanksgiving"),
        ("elm", date(2026, 12, 21), date(2027, 1, 1), list(Meal.values), "winter break"),
    ]


def test_importing_again_does_nothing_and_another_last_day_is_a_newer_version(site: Site) -> None:
    plan(row()).save()
    assert plan(row()).summary == "entry of the calendar: 1 unchanged"
    longer = plan(row(last_day="2027-01-04", meals="lunch"))
    told = "2026-12-21 to 2027-01-04: no lunch: winter break; so far 2026-12-21 to 2027-01-01: no meals: winter break"
    assert [step.detail for step in longer.steps] == [told]
    assert longer.summary == "entry of the calendar: 1 changed"
    longer.save()
    assert Closure.objects.newest().get().last_day == date(2027, 1, 4)
    assert Closure.objects.count() == 2


def test_a_file_takes_nothing_back(site: Site) -> None:
    held = ClosureFactory(site=site, first_day=date(2027, 3, 1), last_day=date(2027, 3, 5))
    plan(row()).save()
    assert held in Closure.objects.newest()


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"site": "oak"}, "site"),
        ({"site": ""}, "site"),
        ({"first_day": "12/21/2026"}, "first_day"),
        ({"first_day": ""}, "first_day"),
        ({"last_day": "2026-12-20"}, "last_day"),
        ({"last_day": "2028-12-20"}, "last_day"),
        ({"meals": "lunch, snack"}, "meals"),
        ({"reason": ""}, "reason"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_saved(site: Site, said: dict[str, str], field: str) -> None:
    made = plan(row(**said))
    assert [(problem.row, problem.field) for problem in made.problems] == [(2, field)]
    assert made.steps == []


def test_two_rows_of_one_day_are_refused(site: Site) -> None:
    assert {problem.row for problem in plan(row(), row(reason="other")).problems} == {2, 3}


def test_only_ones_own_sites_are_taken(site: Site) -> None:
    """Rows about another site, or about all, from who administers one."""
    SiteFactory(code="oak")
    made = plan(row(), row(site="oak"), row(site="all"), sites=[site], everywhere=False)
    assert [(problem.row, problem.field) for problem in made.problems] == [(3, "site"), (4, "site")]
    assert made.problems[0].mend == "Write one of: elm."
