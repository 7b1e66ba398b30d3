"""Where a child's emergency papers are, for whoever stands beside the child. Read fast; the reading is noted after."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.utils import timezone
from kombu.exceptions import OperationalError

from menus.models import Site
from roster.emergency.numbers import EmergencyNumber, number_in
from roster.models import Child, EmergencyPlan, Verb
from roster.record.write import record

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Pointer:
    """All that is shown in an emergency: no condition, no drug, no dose."""

    child: Child
    site: Site
    room: str
    number: EmergencyNumber | None  # None: people call their local one
    plan: EmergencyPlan | None
    today: date

    @property
    def is_past(self) -> bool:
        """Whether a newer plan should have come by now."""
        return self.plan is not None and self.plan.is_past(self.today)


def pointer(child: Child) -> Pointer:
    """Return where the child's papers are. Two queries."""
    stay = child.stay
    assert stay is not None  # whoever is in care is enrolled
    site = stay.classroom.site
    now = timezone.now()
    plan = EmergencyPlan.objects.kept(now).filter(child=child).first()
    today = now.astimezone(site.zone).date()
    return Pointer(child, site, stay.classroom.name, number_in(site.country_code), plan, today)


def note_reading(child: Child, by: int) -> None:
    """Have the reading put on record by the queue, so that nobody waits for the record in an emergency.

    Where the queue cannot be reached it is put on record here and now. The queue is asked once: each further try would
    keep somebody waiting who stands beside the child.
    """

    def queue() -> None:
        from compliance.tasks import record_reading  # the task's module imports the checks

        said = (child.pk, by, timezone.now().isoformat())
        try:
            record_reading.apply_async(said, retry=False)
        except OperationalError:
            logger.warning("The queue cannot be reached; a reading in an emergency is recorded without it.")
            record_reading(*said)

    transaction.on_commit(queue, robust=True)


def put_on_record(child: Child, by: int, read_at: str) -> None:
    """Enter the reading, with the moment at which it was read."""
    record(Verb.READ, "emergency pointer", site=child.site, child=child, by=by, read_at=read_at)
