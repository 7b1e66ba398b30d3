"""Who may see what: a teacher their class, a cook their site, nobody more."""

from __future__ import annotations

from datetime import timedelta

from django.contrib.auth.models import AnonymousUser
from django.utils import timezone

from roster.access import (
    children_with,
    may,
    own_children,
    roles,
    visible_children,
    visible_classrooms,
    visible_sites,
)
from roster.models import Post
from roster.permits import Act, Permit, Thing
from tests.cast import Cast


def today() -> object:
    return timezone.now().date()


def test_teacher_sees_the_own_class_only(cast: Cast) -> None:
    """Rosa teaches Larks."""
    assert list(visible_classrooms(cast.rosa)) == [cast.larks]
    assert cast.noor in visible_children(cast.rosa, today())
    assert cast.ravi not in visible_children(cast.rosa, today())


def test_cook_sees_the_own_site_only(cast: Cast) -> None:
    """Greta cooks at Ferrowick."""
    assert list(visible_sites(cast.greta)) == [cast.ferrowick]
    assert list(visible_classrooms(cast.greta)) == [cast.larks]


def test_nurse_and_administrator_see_all_sites(cast: Cast) -> None:
    """A post without a site is for all of them."""
    for user in (cast.hakim, cast.june):
        assert set(visible_sites(user)) == {cast.ferrowick, cast.tansy_gate}
        assert {cast.noor, cast.ravi} <= set(visible_children(user, today()))


def test_without_a_post_nothing_is_seen(cast: Cast) -> None:
    """Nor by a stranger, nor by an account that was closed."""
    assert not visible_sites(cast.wren).exists()
    assert not visible_classrooms(AnonymousUser()).exists()
    cast.june.is_active = False
    assert not visible_sites(cast.june).exists()


def test_post_outside_its_dates_gives_nothing(cast: Cast) -> None:
    """A substitute's access ends with the day."""
    Post.objects.filter(user=cast.rosa).update(ends_on=timezone.now().date() - timedelta(days=1))
    assert not visible_classrooms(cast.rosa).exists()
    assert roles(cast.rosa) == set()


def test_a_permit_at_another_site_does_not_count(cast: Cast) -> None:
    """Greta is kitchen at Ferrowick, and nothing at Tansy Gate."""
    assert may(cast.greta, Thing.KITCHEN_DAY, Act.ADD, site=cast.ferrowick)
    assert not may(cast.greta, Thing.KITCHEN_DAY, Act.ADD, site=cast.tansy_gate)
    assert may(cast.hakim, Thing.REFERRAL, Act.SIGN, site=cast.tansy_gate)


def test_a_permit_narrows_the_sites(cast: Cast) -> None:
    """A teacher's site is theirs for the class, not for the kitchen."""
    assert not visible_sites(cast.rosa, Permit(Thing.KITCHEN_DAY, Act.ADD)).exists()
    assert list(visible_sites(cast.rosa, Permit(Thing.CLASS_DAY, Act.READ))) == [cast.ferrowick]


def test_a_guardian_has_the_own_child_and_no_place(cast: Cast) -> None:
    """A post that names a child names no site, and that must not read as every site."""
    assert list(own_children(cast.amara)) == [cast.noor]
    assert list(children_with(cast.amara, Thing.OWN_CHILD, Act.ADD)) == [cast.noor]
    assert not visible_sites(cast.amara).exists()
    assert not visible_classrooms(cast.amara).exists()
    assert not visible_children(cast.amara, today()).exists()
    assert not may(cast.amara, Thing.OWN_CHILD, Act.READ, site=cast.ferrowick)


def test_an_auditor_sees_no_child(cast: Cast) -> None:
    """The record is read, and nobody's class."""
    assert not visible_classrooms(cast.ursula).exists()
    assert may(cast.ursula, Thing.RECORD, Act.READ)


def test_medical_text_is_granted_to_an_administrator_by_name(cast: Cast) -> None:
    """Without the grant there is none; with it there is reading, and no signing."""
    assert not children_with(cast.june, Thing.MEDICAL, Act.READ).exists()
    Post.objects.filter(user=cast.june).update(reads_medical=True)
    assert {cast.noor, cast.ravi} <= set(children_with(cast.june, Thing.MEDICAL, Act.READ))
    assert not children_with(cast.june, Thing.MEDICAL, Act.SIGN).exists()


def test_child_who_moved_is_seen_by_the_new_class_only(cast: Cast) -> None:
    """From the day of the transfer on."""
    day = timezone.now().date()
    cast.mateo.enrolments.update(ends_on=day - timedelta(days=1))
    cast.mateo.enrolments.create(classroom=cast.minnows, starts_on=day)
    assert cast.mateo not in visible_children(cast.rosa, day)
    assert cast.mateo in visible_children(cast.dmitri, day)
    assert cast.mateo in visible_children(cast.rosa, day - timedelta(days=1))
