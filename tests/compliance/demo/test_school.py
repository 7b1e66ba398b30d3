"""The demo school is whole and believable: one load and one check of it serve all tests here."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone
from pytest_django import DjangoDbBlocker

from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
from compliance.checks.run import check_site
from compliance.demo.load import PASSWORD, DemoSignIns, load_demo
from compliance.models import Referral, Run
from compliance.rules.values import Outcome
from menus.models import CycleMenu, Product, RecipeLine, RecipeVersion, Serving, Site
from menus.services.recipes import recipe_graph
from roster.models import Allowance, Basis, Child, Classroom, Enrolment, Restriction, Role, State, User
from tests.compliance.demo.content import content
from tests.factories import UserFactory, this_monday

pytestmark = pytest.mark.django_db  # without it, a run of this module alone would be given the real database


@pytest.fixture(scope="module", autouse=True)
def demo(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[DemoSignIns]:
    """The demo as loaded on this week's Monday, taken back after the module."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield load_demo(this_monday())
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def exceptions(demo: DemoSignIns) -> list[ExceptionRow]:
    """Exceptions of a whole turn of the cycle, from a Monday that is not past: a wash only planned for then counts."""
    today = timezone.localdate()
    monday = today + timedelta(days=-today.weekday() % 7)
    for site in Site.objects.all():
        check_site(site=site, trigger=Run.Trigger.HAND, first_day=monday, days=28)
    return find_exceptions(None, ExceptionFilter(first=monday, last=monday + timedelta(days=27)))


def test_demo_is_whole() -> None:
    """Two sites, 12 classrooms, 260 children, and more products and recipes than a class could name."""
    assert Site.objects.count() == 2
    assert Classroom.objects.count() == 12
    assert Child.objects.count() == Enrolment.objects.count() == 260
    assert Product.objects.count() >= 70
    assert RecipeVersion.objects.count() >= 60
    assert list(CycleMenu.objects.values_list("weeks", flat=True)) == [4, 4]


def test_second_load_adds_nothing(demo: DemoSignIns) -> None:
    """Running the demo again the same day changes no row."""
    before = content()
    assert load_demo(this_monday()) == demo
    assert content() == before


def test_later_load_tops_up_the_servings() -> None:
    """Running it weeks later adds the servings of the weeks that have come near, and nothing else."""
    before, servings = _without_servings(), Serving.objects.count()
    load_demo(this_monday() + timedelta(weeks=6))
    assert Serving.objects.count() > servings
    assert _without_servings() == before


def _without_servings() -> list[dict[str, Any]]:
    told = {"menus.serving", "roster.action", "roster.chainend"}  # that they were added is on record
    return [row for row in content() if row["model"] not in told]


def test_accounts_added_to_the_demo_do_no_harm() -> None:
    """Somebody who adds an account to the demo can still run it again."""
    UserFactory()
    load_demo(this_monday())


def test_every_role_can_sign_in(demo: DemoSignIns) -> None:
    """Each account opens with the one password, and every role and classroom has somebody."""
    assert demo.password == PASSWORD
    for account in demo.accounts:
        assert User.objects.get(username=account.username).check_password(PASSWORD)
    assert {account.role for account in demo.accounts} == {str(role.label) for role in Role}
    for classroom in Classroom.objects.select_related("site"):
        assert any(account.place == f"{classroom.name}, {classroom.site.name}" for account in demo.accounts)


def test_children_fit_their_classrooms() -> None:
    """On the first of September the daycare has children of one to four, the school of five to ten."""
    monday = this_monday()
    september = date(monday.year if monday.month >= 9 else monday.year - 1, 9, 1)
    for enrolment in Enrolment.objects.select_related("child", "classroom__site"):
        born = enrolment.child.birth_date
        assert born is not None
        age = september.year - born.year - ((september.month, september.day) < (born.month, born.day))
        assert age in (range(1, 5) if enrolment.classroom.site.code == "tansy-gate" else range(5, 11))


def test_restrictions_are_believable() -> None:
    """Most medical restrictions are signed, some are still waited for, and every one of them reaches to traces."""
    medical = Restriction.objects.filter(basis__in=(Basis.STATEMENT, Basis.REPORTED))
    assert not medical.exclude(strictness="trace").exists()
    assert 3 <= medical.filter(basis=Basis.REPORTED).count() < medical.filter(basis=Basis.STATEMENT).count()
    assert not medical.filter(basis=Basis.STATEMENT, statement=None).exists()
    states = {each.state_on(timezone.localdate()) for each in medical.select_related("review")}
    assert states == set(State) - {State.ENDED}
    assert Allowance.objects.count() == 2


def test_recipes_resolve_to_depth_three() -> None:
    """Every recipe of every version has lines, and some hold recipes that hold recipes."""
    assert set(RecipeLine.objects.values_list("version", flat=True)) == set(
        RecipeVersion.objects.values_list("pk", flat=True)
    )
    graph = recipe_graph()

    def depth(recipe: int) -> int:
        return 1 + max((depth(part) for part in graph.get(recipe, [])), default=0)

    assert max(depth(recipe) for recipe in graph) >= 3


def test_every_dish_of_the_cycles_has_its_recipe_on_all_four_weeks() -> None:
    """Both cycles have breakfast and lunch on the twenty days of four weeks, the daycare a snack too."""
    for cycle in CycleMenu.objects.select_related("site"):
        slots = set(cycle.entries.values_list("week", "weekday", "meal"))
        meals = ["breakfast", "lunch"] + (["snack"] if cycle.site.code == "tansy-gate" else [])
        assert slots >= {(week, day, meal) for week in range(1, 5) for day in range(5) for meal in meals}


def test_load_of_a_school_day_is_believable(exceptions: list[ExceptionRow]) -> None:
    """Exceptions come in tens a day, never in hundreds, and few of them are questions."""
    days = {row.date for row in exceptions}
    assert len(days) == 20
    for day in days:
        assert 10 <= sum(row.date == day for row in exceptions) <= 99, day
    refers = [row for row in exceptions if row.outcome is Outcome.REFER]
    assert len(refers) < len(exceptions) / 8
    assert {row.main_reason.rule for row in refers} == {"R06", "R07", "R08", "R10", "R11", "R12", "R14"}
    assert Referral.objects.values("subject").distinct().count() <= 15


def _met(exceptions: list[ExceptionRow], dish: str, substance: str) -> set[tuple[int, str]]:
    """Days of the cycle, 0 to 27, on which the dish met a restriction on the substance, with the rule."""
    return {
        ((row.date - this_monday()).days % 28, row.main_reason.rule)
        for row in exceptions
        if row.dish == dish and row.restriction.substance.split(".")[0] == substance
    }


def test_shared_oil_carries_over_and_a_recorded_wash_does_not(exceptions: list[ExceptionRow]) -> None:
    """Fries take up fish on the Friday of fish sticks and shrimp on that of shrimp; cucumbers off the washed slicer
    take up nothing."""
    assert (4, "R04") in _met(exceptions, "Crinkle cut fries", "fish")
    assert (18, "R04") in _met(exceptions, "Crinkle cut fries", "crustacean")
    assert _met(exceptions, "Cucumber and tomato salad", "milk") == set()
    assert (1, "R04") in _met(exceptions, "Gluten free toast", "gluten")


def test_milk_hides_in_the_mashed_potatoes(exceptions: list[ExceptionRow]) -> None:
    """The creamer that calls itself non-dairy is withheld from children with milk."""
    assert any(rule in ("R01", "R02") for _, rule in _met(exceptions, "Mashed potatoes", "milk"))


def test_dishes_that_hold_none_of_it_are_left_alone(exceptions: list[ExceptionRow]) -> None:
    """Plain fruit, rice and vegetables raise nothing but what they are."""
    plain = {"Banana half", "Orange wedges", "Pear cup", "Steamed broccoli", "Brown rice", "Applesauce cup"}
    assert [row for row in exceptions if row.dish in plain] == []
