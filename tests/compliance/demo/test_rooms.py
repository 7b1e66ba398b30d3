"""The demo's room with a rule: a box meets it, a spread waits, and an approved one does not (demo/data/README.md)."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from compliance.demo.load import load_demo
from roster.models import Basis, Restriction, User
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db


def test_a_visitor_sees_a_spread_withheld_one_referred_and_one_taken() -> None:
    """As the table of the demo's README says, with nobody named."""
    load_demo()
    guardian = User.objects.get(username="guardian")
    own = guardian.posts.get().child
    assert own is not None
    rule = Restriction.objects.get(basis=Basis.POLICY)
    assert rule.child != own
    today = timezone.localdate()
    monday = today + timedelta(days=7 - today.weekday())

    def box(day: int) -> str:
        return words(as_user(guardian).get(f"/lunchboxes/{own.pk}/", {"day": monday + timedelta(days=day)}))

    assert "Sunflower seed butter refer The site has not approved this product for the room." in box(2)
    assert "Peanut butter withhold The room has a rule about peanut. It holds peanut." in box(3)
    assert "Sunflower seed spread none found" in box(4)
    assert all(rule.child.given_name not in box(day) for day in (2, 3, 4))
