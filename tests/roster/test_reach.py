"""Into which classes posts reach, and on which days."""

from __future__ import annotations

from datetime import timedelta

from django.contrib.auth.models import AnonymousUser
from django.utils import timezone

from roster.access import reach
from roster.models import Role
from tests.cast import Cast


def test_a_post_in_a_class_opens_its_own_days(cast: Cast) -> None:
    """The substitute sees today's class; the nurse also yesterday's, and who taught all along does too."""
    day = timezone.now().date()
    assert reach(cast.sefa).opens(cast.larks, day)
    for other in (day - timedelta(days=1), day + timedelta(days=1)):
        assert not reach(cast.sefa).opens(cast.larks, other)
        assert reach(cast.hakim).opens(cast.larks, other) and reach(cast.rosa).opens(cast.larks, other)
    assert not reach(cast.pavel).opens(cast.larks, day) and not reach(cast.amara).opens(cast.larks, day)


def test_what_is_open_today_is_what_the_list_of_classes_holds(cast: Cast) -> None:
    """Asked of one class or read as a list, for everybody of the cast and for a stranger."""
    people = [cast.rosa, cast.sefa, cast.dmitri, cast.greta, cast.hakim, cast.june, cast.amara, cast.ursula, cast.wren]
    for person in (*people, AnonymousUser()):
        here = reach(person)
        listed = set(here.classrooms)
        for room in (cast.larks, cast.minnows):
            assert here.opens(room) == (room in listed), (person, room)


def test_a_wider_post_is_not_narrowed_by_one_in_a_class(cast: Cast) -> None:
    """Greta stands in for a day, and cooks there as ever."""
    day = timezone.now().date()
    cast.greta.posts.create(role=Role.SUBSTITUTE, classroom=cast.larks, starts_on=day, ends_on=day)
    assert reach(cast.greta).began == []
    assert [room for room, _ in reach(cast.sefa).began] == [cast.larks.pk]
    assert reach(cast.greta).opens(cast.larks, day - timedelta(days=1))


def test_posts_are_read_once_for_all_that_follows_from_them(cast: Cast, django_assert_num_queries) -> None:
    """A list of treat checks asks which classes, and since when."""
    with django_assert_num_queries(1):
        here = reach(cast.rosa)
        assert here.opens(cast.larks) and here.began == []
    with django_assert_num_queries(1):
        assert list(here.classrooms) == [cast.larks]
