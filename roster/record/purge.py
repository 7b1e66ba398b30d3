"""Empty entries that are older than the record is to be kept. Their place in the chain stays."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.db.models import Q, QuerySet

from menus.models import Site
from roster.models import Enrolment
from roster.models.action import Action, Verb
from roster.record.protect import empty
from roster.record.write import record

_AT_ONCE = 5_000


def past_their_time(*, site: Site | None, before: datetime) -> QuerySet[Action]:
    """Return the entries of the site's chain that a purge would empty.

    What is about a child is kept while the child is enrolled, and as long afterwards as anything else: who read a
    child's papers has to be known for as long as the papers are in use (34 CFR 99.32(a)(2), from memory).
    """
    here = Enrolment.objects.filter(Q(ends_on=None) | Q(ends_on__gte=before.date()))
    old = Action.objects.filter(site=site, recorded_at__lt=before).exclude(verb=Verb.PURGED).exclude(payload="")
    return old.exclude(child__in=here.values("child"))


@transaction.atomic
def purge(*, site: Site | None, before: datetime) -> int:
    """Empty the entries of the site's chain that are past their time, and record which. Returns how many.

    At most 5,000 at once: call it again until it returns 0.

    What is left of an entry is its number, its verb, its digest and its seal; who did it, to what and to whom is gone.
    A purge is never purged itself, or nobody could tell an emptied entry from one that was wiped out.
    """
    old = past_their_time(site=site, before=before)
    wanted = dict(old.order_by("number").values_list("number", "digest")[:_AT_ONCE])
    if not wanted:
        return 0
    empty(site.pk if site else 0, list(wanted))
    record(Verb.PURGED, "record of actions", site=site, before=before, entries=wanted)
    return len(wanted)
