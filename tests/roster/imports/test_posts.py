"""Teachers of a class list: their post in a class begins and ends with it, and reaches no further."""

from __future__ import annotations

from datetime import date

import pytest

from menus.imports.plan import ImportPlan
from roster.models import Classroom, Post, Role
from tests.factories import PostFactory, SiteFactory, UserFactory
from tests.roster.imports.packages import Files, changes, plan, sample, with_cell, with_row, without_row

pytestmark = pytest.mark.django_db
EMAIL = "o.brask@example.org"


@pytest.fixture(autouse=True)
def _sites():
    SiteFactory(code="q-10", name="Alderbank")
    SiteFactory(code="q-20", name="Pebble Lane")


def with_address(version: str = "1.1", **cells: str) -> Files:
    files = with_cell(sample(version), "users.csv", "usr-t", "email", EMAIL.upper())
    for column, value in cells.items():
        files = with_cell(files, "users.csv", "usr-t", column, value)
    return files


def given() -> set[tuple[str, str, str, str]]:
    posts = Post.objects.exclude(source="").select_related("classroom")
    return {(post.role, post.classroom.name, str(post.starts_on), str(post.ends_on)) for post in posts}


def said(made: ImportPlan) -> str:
    return " ".join(note.what for note in made.notes)


@pytest.mark.parametrize("version", ["1.1", "1.2"])
def test_a_teacher_with_an_account_gets_the_class_from_the_day_of_the_list(version):
    """By the address, in letters of any size; the first day is that of the class's term."""
    user = UserFactory(email=EMAIL)
    made = plan(with_address(version))
    assert made.told["Teaches"] == [f"{EMAIL}: Wagtails from 2026-08-24 to no set end"]
    made.save()
    assert given() == {("teacher", "Wagtails", "2026-08-24", "None")}
    assert Post.objects.get().user == user
    assert plan(with_address(version)).steps == []


def test_a_teacher_without_an_account_is_named_and_gets_none():
    made = plan(with_address())
    assert "Ottoline Brask teaches Wagtails and has no account of their own here" in said(made)
    made.save()
    assert not Post.objects.exists()


def test_an_address_that_two_accounts_share_gives_neither_the_class():
    """Nobody can tell whose it is."""
    UserFactory.create_batch(2, email=EMAIL)
    made = plan(with_address())
    made.save()
    assert "has no account of their own" in said(made)
    assert not Post.objects.exists()


@pytest.mark.parametrize("cells", [{"enabledUser": "false"}, {"email": ""}])
def test_one_who_is_switched_off_or_has_no_address_gets_nothing(cells):
    UserFactory(email=EMAIL)
    plan(with_address(**cells)).save()
    assert not Post.objects.exists()


def test_an_account_that_is_switched_off_here_gets_nothing():
    UserFactory(email=EMAIL, is_active=False)
    plan(with_address()).save()
    assert not Post.objects.exists()


@pytest.mark.parametrize("role", ["administrator", "proctor"])
def test_no_other_role_of_the_list_gives_a_post(role):
    """Whatever the source calls somebody, a list gives teachers their class and nothing wider."""
    UserFactory(email=EMAIL)
    files = with_cell(with_address(role="administrator"), "enrollments.csv", "enr-t", "role", role)
    plan(files).save()
    assert not Post.objects.exists()


def test_an_administrator_of_the_source_who_teaches_is_a_teacher_here():
    UserFactory(email=EMAIL)
    plan(with_address(role="administrator")).save()
    assert {post[0] for post in given()} == {Role.TEACHER}


def test_a_guardian_of_the_list_gets_no_post():
    """Who may see a child's entries is for a person to say, never for a file."""
    UserFactory(email="h.quist@example.org")
    plan(with_cell(sample(), "users.csv", "usr-g", "email", "h.quist@example.org")).save()
    assert not Post.objects.exists()


def test_the_post_ends_when_the_list_no_longer_holds_it():
    UserFactory(email=EMAIL)
    plan(with_address()).save()
    made = plan(without_row(with_address(), "enrollments.csv", "enr-t"))
    assert made.told["Teaches"] == [f"{EMAIL}: Wagtails from 2026-08-24 to 2026-10-13"]
    made.save()
    assert given() == {("teacher", "Wagtails", "2026-08-24", "2026-10-13")}


def test_the_post_ends_on_the_day_that_the_list_gives():
    UserFactory(email=EMAIL)
    plan(with_address()).save()
    plan(with_cell(with_address(), "enrollments.csv", "enr-t", "endDate", "2026-12-18")).save()
    assert given() == {("teacher", "Wagtails", "2026-08-24", "2026-12-18")}


def test_changes_move_a_teacher_and_nobody_else():
    UserFactory(email=EMAIL)
    UserFactory(email="second@example.org")
    files = with_row(with_address(), "users.csv", "usr-t", sourcedId="usr-u", email="second@example.org")
    plan(with_row(files, "enrollments.csv", "enr-t", sourcedId="enr-u", userSourcedId="usr-u")).save()
    joins = {"sourcedId": "enr-v", "classSourcedId": "cls-s", "schoolSourcedId": "org-a", "userSourcedId": "usr-t"}
    moved = [{"sourcedId": "enr-t", "status": "tobedeleted"}, {**joins, "role": "teacher", "beginDate": "2026-10-14"}]
    plan(changes(enrollments=moved)).save()
    first = Post.objects.filter(user__email=EMAIL).values_list("classroom__name", "ends_on")
    assert set(first) == {("Wagtails", date(2026, 10, 13)), ("Swifts", None)}
    assert Post.objects.get(user__email="second@example.org").ends_on is None


def test_a_post_given_by_hand_is_left_alone():
    plan(sample()).save()
    user = UserFactory(email=EMAIL)
    by_hand = PostFactory(user=user, classroom=Classroom.objects.get(name="Swifts"))
    plan(with_address()).save()
    plan(without_row(with_address(), "enrollments.csv", "enr-t")).save()
    by_hand.refresh_from_db()
    assert (by_hand.source, by_hand.ends_on) == ("", None)
