"""How long sessions last, by role."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from menus.models import Site
from roster.accounts.sessions import ends_of, limits
from roster.models import Classroom, Post, Role

BEGAN = datetime(2026, 9, 1, 13, 0, tzinfo=UTC)
LARKS = Classroom(name="Larks", site=Site(pk=1, time_zone="America/Chicago"))


def post(role: Role) -> Post:
    """A post of that role, not stored."""
    return Post(role=role, classroom=LARKS if role in (Role.TEACHER, Role.SUBSTITUTE) else None)


def test_every_role_has_a_line_and_so_has_nobody() -> None:
    """A new role fails here until somebody has thought about it."""
    assert set(limits()) == {*Role.values, ""}


@pytest.mark.parametrize("role", [Role.LICENSED, Role.ADMINISTRATOR, Role.AUDITOR, Role.GUARDIAN])
def test_health_records_and_accounts_are_left_open_half_an_hour(role: Role) -> None:
    """NIST SP 800-63B section 4.2.3: 30 minutes without activity, 12 hours at all (from memory)."""
    ends = ends_of([post(role)], BEGAN)
    assert (ends.idle, ends.at) == (timedelta(minutes=30), BEGAN + timedelta(hours=12))


def test_no_session_of_any_role_is_longer_than_half_a_day() -> None:
    """The same source."""
    assert all(
        limit.longest <= timedelta(hours=12) and limit.idle <= timedelta(hours=12) for limit in limits().values()
    )


def test_a_substitutes_ends_with_the_day_on_the_clock_of_the_class() -> None:
    """Begun at eight in the evening in Chicago, it lasts until midnight there."""
    evening = datetime(2026, 9, 2, 1, 0, tzinfo=UTC)
    assert ends_of([post(Role.SUBSTITUTE)], evening).at == datetime(2026, 9, 2, 5, 0, tzinfo=UTC)
    assert ends_of([post(Role.SUBSTITUTE)], BEGAN).at == BEGAN + timedelta(hours=12)


def test_the_strictest_counts() -> None:
    """Whatever the order."""
    several = [post(Role.KITCHEN), post(Role.LICENSED), post(Role.TEACHER)]
    assert ends_of(several, BEGAN) == ends_of(several[::-1], BEGAN) == ends_of([post(Role.LICENSED)], BEGAN)


def test_nobody_with_a_post_has_the_shortest() -> None:
    """There is nothing to see."""
    assert ends_of([], BEGAN).idle == timedelta(minutes=30)
