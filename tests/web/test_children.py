"""The list of children, and a child's record for licensed staff."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from roster.models import Action, Restriction
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import (
    AllowanceFactory,
    ChildFactory,
    EnrolmentFactory,
    RestrictionFactory,
    ReviewFactory,
    StatementFactory,
)
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db


def test_each_person_finds_their_own_children(cast: Cast) -> None:
    """A teacher those of the class, the nurse of all sites all; only the nurse is led to the record."""
    rosa, hakim = (as_user(each).get(reverse("children")) for each in (cast.rosa, cast.hakim))
    assert "Bao Example" in words(rosa) and "Ravi Example" not in words(rosa)
    assert "Bao Example" in words(hakim) and "Ravi Example" in words(hakim)
    record = reverse("child", args=[cast.bao.pk])
    assert soup(hakim).select(f'a[href="{record}"]') and not soup(rosa).select(f'a[href="{record}"]')


def test_children_are_found_by_any_part_of_the_name(cast: Cast) -> None:
    """Given and family name in any order."""
    found = words(as_user(cast.hakim).get(reverse("children"), {"name": "exam noo"}))
    assert "Noor Example" in found and "Mateo Example" not in found
    assert "No child of yours" in words(as_user(cast.hakim).get(reverse("children"), {"name": "zebulon"}))


def test_a_record_shows_each_restriction_with_its_state(cast: Cast) -> None:
    """In words; a reported one that no statement names is marked as such."""
    today = timezone.localdate()
    statement = StatementFactory(
        child=cast.kofi, review_on=today - timedelta(days=1), signed_on=today - timedelta(days=366)
    )
    egg = cast.kofi.restrictions.get(substance="egg")
    record_restriction(
        child=cast.kofi,
        substance="egg",
        replaces=egg,
        basis="statement",
        statement=statement,
        review=ReviewFactory(statement=statement),
        review_on=statement.review_on,
    )
    AllowanceFactory(restriction=egg)
    shown = words(as_user(cast.hakim).get(reverse("child", args=[cast.kofi.pk])))
    assert "Egg Statement expired It goes on protecting. A new statement is wanted." in shown
    assert "Sesame Reported" in shown and "No statement on record names this. It protects all the same" in shown
    assert "Allowance" in shown and "Signed A. Example, RD" in shown


def test_a_child_with_nothing_on_record_is_not_promised_anything(cast: Cast) -> None:
    """A quarter of reactions at school come to children with nothing on record."""
    shown = words(as_user(cast.hakim).get(reverse("child", args=[cast.bao.pk])))
    assert "That is no promise: a child may react with nothing on record." in shown


def test_any_past_moment_can_be_asked(cast: Cast) -> None:
    """As it was on record then: before the change the old version, after it the new one."""
    (old,) = cast.mateo.restrictions.all()
    earlier, later = timezone.now() - timedelta(hours=3), timezone.now() - timedelta(minutes=2)
    Restriction.objects.filter(pk=old.pk).update(recorded_at=earlier - timedelta(days=1), note="first words")
    new = record_restriction(child=cast.mateo, substance="peanut", replaces=old, note="second words")
    Restriction.objects.filter(pk=new.pk).update(recorded_at=earlier + timedelta(hours=1))

    def at(moment) -> str:
        asked = moment.astimezone(cast.ferrowick.zone).strftime("%Y-%m-%dT%H:%M")
        page = soup(as_user(cast.hakim).get(reverse("child", args=[cast.mateo.pk]), {"at": asked}))
        (section,) = page.select("section[aria-labelledby=then]")
        return " ".join(section.get_text(" ").split())

    assert "Version 1" in at(earlier) and "Version 2" not in at(earlier)
    assert "Version 2" in at(later) and "Version 1," not in at(later)
    assert "Nothing was on record" in at(earlier - timedelta(days=2))
    assert "still to come" in at(timezone.now() + timedelta(days=1))


def test_a_child_who_left_is_out_of_sight_and_stays_on_record(cast: Cast) -> None:
    """S79, as far as it is about this. Basis: design. Nothing of the restriction is lost."""
    cast.mateo.enrolments.update(ends_on=timezone.localdate() - timedelta(days=2))
    assert as_user(cast.hakim).get(reverse("child", args=[cast.mateo.pk])).status_code == 404
    assert cast.mateo.restrictions.exists()


def test_a_child_who_moves_is_seen_by_the_new_class_from_its_first_day(cast: Cast) -> None:
    """S78, as far as it is about this. Source: OneRoster enrolment dates (read)."""
    today = timezone.localdate()
    cast.mateo.enrolments.update(ends_on=today - timedelta(days=2))
    EnrolmentFactory(child=cast.mateo, classroom=cast.minnows, starts_on=today - timedelta(days=1))
    assert "Mateo" not in words(as_user(cast.rosa).get(reverse("children")))
    assert "Mateo Example" in words(as_user(cast.dmitri).get(reverse("children")))


def test_two_children_of_one_name_are_two(cast: Cast) -> None:
    """S80. Basis: design. Told apart by class and, on the record, by birth date."""
    for _ in range(2):
        EnrolmentFactory(child=ChildFactory(given_name="Ada", family_name="Lind"), classroom=cast.larks)
    links = soup(as_user(cast.hakim).get(reverse("children"), {"name": "Ada Lind"})).select(".person a")
    assert len({link["href"] for link in links}) == 6  # a record, a report and the papers in an emergency for each


def test_a_restriction_shows_all_its_versions(cast: Cast) -> None:
    """The newest first, each with who recorded it and where it stood."""
    (old,) = cast.mateo.restrictions.all()
    record_restriction(
        child=cast.mateo, substance="peanut", replaces=old, note="within an hour", recorded_by=cast.hakim
    )
    shown = words(as_user(cast.hakim).get(reverse("restriction", args=[old.pk])))
    assert shown.index("Version 2") < shown.index("Version 1")
    assert "within an hour" in shown and "Hakim" in shown


def test_queries_do_not_grow_with_children_or_restrictions(cast: Cast) -> None:
    """Two children or thirty, one restriction or ten."""
    hakim = as_user(cast.hakim)
    addresses = [reverse("children"), reverse("child", args=[cast.bao.pk]), reverse("due")]
    small = [queries(lambda address=address: hakim.get(address)) for address in addresses]
    for n in range(30):
        EnrolmentFactory(child=ChildFactory(given_name=f"Child{n}"), classroom=cast.larks)
    for code in ("milk", "egg", "soy", "fish", "sesame", "kiwi", "mustard", "celery", "lupin"):
        RestrictionFactory(child=cast.bao, substance=code, basis="reported", statement=None)
    # session, user; posts; posts, sites' clocks, count, children, enrolments; posts, sites, clocks, those in care;
    # posts for the site of the page, its sites; roles for the menu
    # session, user; posts, sites, clocks, the child; the site; versions, allowances, what they stand under; enrolments;
    # statements; questions that wait, that were answered; the plan, the texture, incidents; roles for the menu
    # session, user; posts, sites for the place; posts, sites, clocks; versions with child and papers; allowances, what
    # they stand under; plans, restrictions for which one is usual; levels of texture; menu: roles
    assert [queries(lambda address=address: hakim.get(address)) for address in addresses] == small == [13, 17, 14]


def test_the_list_of_what_is_due_is_for_one_site(cast: Cast) -> None:
    """Kofi's reports wait at Ferrowick, Petra's at Tansy Gate."""
    hakim = as_user(cast.hakim)
    here, there = (words(hakim.get(reverse("due"), {"site": code})) for code in ("ferrowick", "tansy-gate"))
    assert "Kofi Example : egg" in here and "Petra" not in here
    assert "Petra Example : kiwi" in there and "Kofi" not in there
    assert "Every one of them protects meanwhile" in here


def test_looking_at_a_list_is_not_a_reading_of_a_statement(cast: Cast) -> None:
    """Only the statement itself and its scan are read."""
    before = Action.objects.count()
    as_user(cast.hakim).get(reverse("child", args=[cast.kofi.pk]))
    assert Action.objects.count() == before
