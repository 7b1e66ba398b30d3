"""The demo shows every state of an emergency plan."""

from __future__ import annotations

from datetime import date

import pytest
from django.utils import timezone

from compliance.demo.load import load_demo
from roster.life.plan_due import plans_due
from roster.models import Child, EmergencyPlan

pytestmark = pytest.mark.django_db


def test_some_are_kept_one_is_past_its_date_and_some_are_missing() -> None:
    """So that a page of each can be looked at."""
    today = date(2026, 3, 10)
    load_demo(today)
    due = plans_due(Child.objects.all(), today, timezone.now())
    assert EmergencyPlan.objects.count() > 15
    assert [plan.is_past(today) for plan in due.ending] == [True] and due.missing
