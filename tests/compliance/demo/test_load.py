"""The demo loads the same every time, and only into its own database."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.db import transaction

from compliance.demo.load import DemoRefused, load_demo
from roster.access import own_children
from roster.models import Child, User
from tests.compliance.demo.content import content
from tests.factories import SiteFactory, UserFactory

pytestmark = pytest.mark.django_db


def test_two_loads_are_equal() -> None:
    """Loading twice on one day, each time into an empty database, gives the same rows."""
    first, second = _loaded_and_undone(), _loaded_and_undone()
    assert first == second
    assert len(first) > 1000


def _loaded_and_undone() -> list[dict[str, Any]]:
    with transaction.atomic():
        load_demo(date(2026, 3, 10))
        rows = content()
        transaction.set_rollback(True)
    return rows


def test_demo_keeps_out_of_a_real_database() -> None:
    """A database with somebody's site is refused with what to do, and nothing is written to it."""
    SiteFactory(name="Our own school")
    with pytest.raises(DemoRefused, match=r"already holds a real school \(Our own school\).*DATA_DIR"):
        load_demo()
    assert not Child.objects.exists()


def test_demo_keeps_out_where_there_are_accounts() -> None:
    """Accounts with a known password never come to stand beside a real administrator's."""
    UserFactory()
    with pytest.raises(DemoRefused, match="already holds accounts"):
        load_demo()


def test_a_guardian_signs_in_and_has_a_child_kept_from_something() -> None:
    """So that whoever tries the service sees the family's side as well."""
    signs = load_demo(date(2026, 3, 10))
    guardian = next(each for each in signs.accounts if each.role == "Guardian")
    (child,) = own_children(User.objects.get(username=guardian.username))
    assert guardian.place == str(child) and child.restrictions.filter(substance="milk").exists()
