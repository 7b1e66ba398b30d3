"""Somebody reads a new label while the night that read the old one is under way, or by a clock that was set back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from tests.services.faults.clock import SETTINGS, Clock
from tests.services.faults.conftest import Make
from tests.services.faults.crew import Crew, crew
from tests.services.faults.pause import gate
from tests.services.faults.watch import PATIENCE, Watch
from tests.services.faults.whole import whole
from tests.services.faults.world import SITES
from tests.services.servers import Service, wait_for

pytestmark = pytest.mark.services

NEW_LABEL = """
from django.utils import timezone
from menus.models import Product
from menus.services.labels import record_label
bread = Product.objects.get(name="Sandwich bread")
record_label(product=bread, ingredients="wheat flour, sesame", contains="Wheat, sesame.", seen_on=timezone.localdate())
"""
UNDER_WAY = "SELECT count(*) FROM compliance_run WHERE state = 'running'"
READ = """
    SELECT count(DISTINCT run.site_id) FROM compliance_run AS run
    JOIN compliance_foodread AS food ON food.id = run.food_id
    WHERE run.state = 'complete' AND food.labels @> (SELECT to_jsonb(max(id)) FROM menus_label)
"""


def test_a_label_changed_during_the_run(service: Service, staff: Crew, watch: Watch, database: str) -> None:
    """The run keeps to what it read; a check of the same sites with the new label follows by itself."""
    with gate(database) as storing:
        staff.worker()
        staff.beat()
        storing.reached()
        service.script(NEW_LABEL)
    watch.all_complete()
    the_label_is_read(watch)
    whole(service)


def test_a_label_read_after_the_clock_was_set_back(make: Make, watch: Watch) -> None:
    """By the clock the last checks are still to come; the label is read all the same, and not an hour later."""
    service = make(DJANGO_SETTINGS_MODULE=SETTINGS)
    clock, at = Clock(service.data), datetime(2027, 5, 12, 10, 30, tzinfo=UTC)
    clock.set(at)
    with crew(service) as staff:
        staff.worker()
        staff.beat()
        watch.all_complete()
        clock.set(at - timedelta(hours=1))
        service.script(NEW_LABEL)
        the_label_is_read(watch)
    whole(service)


def the_label_is_read(watch: Watch) -> None:
    """Return once every site has a complete run that read the newest label, and none is under way."""
    wait_for(lambda: watch.one(READ), SITES, PATIENCE)
    wait_for(lambda: watch.one(UNDER_WAY), 0, PATIENCE)
