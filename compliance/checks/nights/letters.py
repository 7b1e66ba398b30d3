"""Dead letters: work that was given up, until a person settles it or a later check goes through."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import IntegrityError, transaction
from django.db.models import Exists, F, OuterRef
from django.utils import timezone

from compliance.models import DeadLetter, NightSlice, Run
from roster.models import User, Verb
from roster.record.write import record

SLICE, RECHECK = "slice", "recheck"
"""The kinds of work that are given up site by site."""


def bury(
    task: str,
    sites: Iterable[int],
    reason: DeadLetter.Reason,
    error: str,
    *,
    attempts: int = 1,
    part: NightSlice | None = None,
) -> None:
    """Keep that this work was given up for these sites. Where an unsettled letter says so already, it says so anew."""
    for site in sites:
        said = {"reason": reason, "error": error, "failed_at": timezone.now(), "slice": part}
        if _add(task, site, attempts, said):
            continue
        try:
            with transaction.atomic():
                DeadLetter.objects.create(task=task, site_id=site, attempts=attempts, **said)
        except IntegrityError:  # somebody else was first between the two statements
            _add(task, site, attempts, said)


def settle(letter: DeadLetter, *, by: User, note: str) -> bool:
    """Settle a letter in a person's name, on record, and tell whether it was still unsettled."""
    with transaction.atomic():
        waiting = DeadLetter.objects.unsettled().filter(pk=letter.pk)
        if not waiting.update(settled_at=timezone.now(), settled_by=by, note=note):
            return False
        record(Verb.ANSWERED, f"dead letter {letter.pk}", site=letter.site, by=by.pk, note=note)
    return True


def settle_checked(now: datetime) -> int:
    """Settle what a later check of the site has made good, and return how many. One statement."""
    since = Run.objects.complete().filter(site=OuterRef("site"), as_of__gt=OuterRef("failed_at"))
    made_good = DeadLetter.objects.unsettled().filter(Exists(since))
    return made_good.update(settled_at=now, note="A later check of the site went through.")


def _add(task: str, site: int, attempts: int, said: dict[str, object]) -> int:
    unsettled = DeadLetter.objects.unsettled().filter(task=task, site=site)
    return unsettled.update(attempts=F("attempts") + attempts, **said)
