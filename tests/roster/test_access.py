"""Who may see what: a teacher their class, a cook their site, nobody more."""

from __future__ import annotations

from datetime import timedelta

from django.contrib.auth.models import AnonymousUser
from django.utils import timezone

from roster.access import has_role, roles, visible_children, visible_classrooms, visible_sites
from roster.models import Post, Role
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


def test_role_at_another_site_does_not_count(cast: Cast) -> None:
    """Greta is kitchen at Ferrowick, and nothing at Tansy Gate."""
    assert has_role(cast.greta, Role.KITCHEN, site=cast.ferrowick)
    assert not has_role(cast.greta, Role.KITCHEN, site=cast.tansy_gate)
    assert has_role(cast.hakim, Role.LICENSED, site=cast.tansy_gate)


def test_wanted_roles_narrow_the_sites(cast: Cast) -> None:
    """A teacher's site is theirs as a teacher, not as kitchen."""
    assert not visible_sites(cast.rosa, Role.KITCHEN).exists()
    assert list(visible_sites(cast.rosa, Role.TEACHER)) == [cast.ferrowick]


def test_child_who_moved_is_seen_by_the_new_class_only(cast: Cast) -> None:
    """From the day of the transfer on."""
    day = timezone.now().date()
    cast.mateo.enrolments.update(ends_on=day - timedelta(days=1))
    cast.mateo.enrolments.create(classroom=cast.minnows, starts_on=day)
    assert cast.mateo not in visible_children(cast.rosa, day)
    assert cast.mateo in visible_children(cast.dmitri, day)
    assert cast.mateo in visible_children(cast.rosa, day - timedelta(days=1))
