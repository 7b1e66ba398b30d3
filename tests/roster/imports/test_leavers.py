"""Who arrives, moves, leaves and comes back by a class list, and what that means on every page and in every check."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from compliance.checks.children import children_at
from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.checks.run import check_site
from compliance.checks.treat import check_treat
from compliance.models import Run, TreatCheck, UnreadChange
from compliance.tasks import recheck
from menus.models import Site
from roster.access import visible_children
from roster.models import Child, Classroom, Enrolment, Restriction
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import ChildFactory, PostFactory, SiteFactory
from tests.roster.imports.packages import Files, changes, plan, sample, with_cell, with_row, without_row
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db

JUN = (("enrollments.csv", "enr-5"), ("users.csv", "usr-4"), ("demographics.csv", "usr-4"))
MOVED = [
    {"sourcedId": "enr-1", "status": "tobedeleted"},
    {
        "sourcedId": "enr-9",
        "classSourcedId": "cls-s",
        "schoolSourcedId": "org-a",
        "userSourcedId": "usr-1",
        "role": "student",
        "beginDate": "2026-10-15",
    },
]


@pytest.fixture(autouse=True)
def _sites():
    SiteFactory(code="q-10", name="Alderbank")
    SiteFactory(code="q-20", name="Pebble Lane")


def without_jun() -> Files:
    files = sample()
    for name, id in JUN:
        files = without_row(files, name, id)
    return files


def child(id: str) -> Child:
    return Child.objects.get(source="QUILL", source_id=id)


def test_a_child_who_is_gone_leaves_the_class_and_keeps_what_is_on_record():
    plan(sample()).save()
    record_restriction(child=child("usr-4"), substance="egg")
    made = plan(without_jun(), confirm_endings=True)
    assert made.told == {
        "Leaves": ["Jun Albright-Okoro (usr-4): Puddle Room, last day 2026-10-13; 1 on record about food, kept"]
    }
    made.save()
    assert not Enrolment.objects.on(date(2026, 10, 14)).filter(child=child("usr-4")).exists()
    assert child("usr-4").restrictions.count() == 1


def test_a_child_who_comes_back_is_the_same_child_with_all_that_was_on_record():
    plan(sample()).save()
    record_restriction(child=child("usr-4"), substance="egg")
    before = child("usr-4").pk
    plan(without_jun(), confirm_endings=True).save()
    made = plan(with_cell(sample(), "enrollments.csv", "enr-5", "beginDate", "2026-11-02"), today=date(2026, 11, 1))
    assert made.told == {"Comes back": ["Jun Albright-Okoro (usr-4): Puddle Room from 2026-11-02"]}
    made.save()
    assert child("usr-4").pk == before
    assert Restriction.objects.known(timezone.now()).get(child=child("usr-4")).substance == "egg"


def test_a_first_list_says_who_arrives():
    made = plan(sample())
    assert set(made.told) == {"Arrives"}
    assert "Mireille Sandoe (usr-3): Swifts from 2026-10-05" in made.told["Arrives"]
    assert plan(sample()).told == made.told


def test_a_list_that_changes_nothing_has_nothing_to_tell():
    plan(sample()).save()
    made = plan(sample())
    assert made.told == {}
    assert made.summary == "classroom: 3 unchanged; child: 5 unchanged; enrolment: 6 unchanged"


def test_a_new_name_or_birth_date_is_told_with_both():
    plan(sample()).save()
    files = with_cell(sample(), "users.csv", "usr-1", "familyName", "Quist-Vale")
    made = plan(with_cell(files, "demographics.csv", "usr-1", "birthDate", "2020-11-21"))
    assert made.told == {"Changes name or birth date": ["Fenna Quist 2020-11-20 (usr-1) → Fenna Quist-Vale 2020-11-21"]}


def test_a_last_day_ahead_is_told_and_needs_no_word():
    """The source says when; nothing is missing."""
    plan(sample()).save()
    made = plan(with_cell(sample(), "enrollments.csv", "enr-5", "endDate", "2026-10-30"))
    assert made.told == {"Leaves": ["Jun Albright-Okoro (usr-4): Puddle Room, last day 2026-10-30"]}
    assert not made.problems


def test_two_children_of_one_name_are_never_one():
    """S80: siblings and namesakes stand apart by id, in one class as in two, and somebody is told."""
    files = with_row(sample(), "users.csv", "usr-1", sourcedId="usr-7")
    files = with_row(files, "demographics.csv", "usr-1", sourcedId="usr-7")
    made = plan(with_row(files, "enrollments.csv", "enr-1", sourcedId="enr-y", userSourcedId="usr-7"))
    assert sum("Another child named Fenna Quist" in note.what for note in made.notes) == 2
    made.save()
    record_restriction(child=child("usr-1"), substance="egg")
    assert Child.objects.filter(given_name="Fenna", family_name="Quist").count() == 2
    assert not child("usr-7").restrictions.exists()


def test_a_child_entered_by_hand_is_not_taken_for_one_of_the_list():
    by_hand = ChildFactory(given_name="Fenna", family_name="Quist")
    made = plan(sample())
    assert any("Another child named Fenna Quist is in the file or on record" in note.what for note in made.notes)
    made.save()
    assert child("usr-1").pk != by_hand.pk
    assert not any("Another child" in note.what for note in plan(sample()).notes)


def noted() -> set[int | None]:
    """The sites that are to be checked again."""
    return set(UnreadChange.objects.values_list("site", flat=True))


def test_s78_from_the_day_of_the_move_the_new_class_has_the_child_and_both_menus_are_checked(
    monkeypatch, django_capture_on_commit_callbacks
):
    """S78: a transfer in the middle of a week, as changes tell it (enrolment dates as in OneRoster, read)."""
    plan(sample()).save()
    site = Site.objects.get(code="q-10")
    old, new = (PostFactory(classroom=Classroom.objects.get(name=name)).user for name in ("Wagtails", "Swifts"))
    connection.run_on_commit.clear()
    UnreadChange.objects.all().delete()
    sent: list[object] = []
    monkeypatch.setattr(recheck, "delay", lambda: sent.append("recheck"))
    with django_capture_on_commit_callbacks(execute=True):
        plan(changes(enrollments=MOVED)).save()
    assert noted() == {site.pk}
    assert sent == ["recheck"]
    fenna = child("usr-1")
    for day, who in ((date(2026, 10, 14), old), (date(2026, 10, 15), new)):
        other = new if who is old else old
        assert visible_children(who, day).filter(pk=fenna.pk).exists()
        assert not visible_children(other, day).filter(pk=fenna.pk).exists()


def test_a_move_to_a_class_of_another_site_has_both_sites_checked(monkeypatch, django_capture_on_commit_callbacks):
    plan(sample()).save()
    connection.run_on_commit.clear()
    UnreadChange.objects.all().delete()
    sent: list[object] = []
    monkeypatch.setattr(recheck, "delay", lambda: sent.append("recheck"))
    moved = [MOVED[0], {**MOVED[1], "classSourcedId": "cls-p", "schoolSourcedId": "org-b"}]
    with django_capture_on_commit_callbacks(execute=True):
        plan(changes(enrollments=moved)).save()
    assert noted() == set(Site.objects.filter(code__in=["q-10", "q-20"]).values_list("pk", flat=True))


def test_whoever_has_left_appears_nowhere_from_the_day_after(cast: Cast):
    """Class list, treat check, run, exceptions, the page of the class: none of them; the record stays."""
    today = timezone.now().astimezone(cast.ferrowick.zone).date()
    Enrolment.objects.filter(child=cast.mateo).update(ends_on=today - timedelta(days=1))
    assert cast.mateo not in visible_children(cast.rosa, today)
    assert cast.mateo not in children_at(cast.ferrowick, today, today)
    answer = check_treat(
        user=cast.rosa,
        classroom=cast.larks,
        served_at=timezone.now(),
        source=TreatCheck.Source.PASTED,
        food="Cookies",
        label=cast.larder.peanut_butter.labels.get(),
    )
    assert cast.mateo.pk not in {row["child_id"] for row in answer.result["withhold"] + answer.result["refer"]}
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    rows = find_exceptions(None, ExceptionFilter(today, today + timedelta(days=9), site=cast.ferrowick))
    assert cast.mateo.pk not in {row.child.pk for row in rows}
    assert "Mateo" not in words(as_user(cast.rosa).get(reverse("today")))
    assert cast.mateo.restrictions.exists()


def test_until_the_last_day_is_over_the_child_is_checked(cast: Cast):
    """The other kind: on the last day itself nothing is different."""
    today = timezone.now().astimezone(cast.ferrowick.zone).date()
    Enrolment.objects.filter(child=cast.mateo).update(ends_on=today)
    assert cast.mateo in visible_children(cast.rosa, today)
    assert "Mateo" in words(as_user(cast.rosa).get(reverse("today")))


def test_the_page_shows_who_leaves_before_anything_is_written(cast: Cast):
    """By heading, one line a child; saving takes the second button."""
    from tests.web.test_imports import roster

    page = roster(cast, "try", create_sites="on")
    assert "Arrives: 5" in words(page)
    assert "Fenna Quist (usr-1): Wagtails from 2026-08-24" in words(page)
    assert not Child.objects.filter(source="QUILL").exists()
