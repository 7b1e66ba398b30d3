"""Empty entries that are older than the record is to be kept. Their place in the chain stays."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from menus.models import Site
from roster.models.action import Action, Verb
from roster.record.write import record

_AT_ONCE = 5_000


@transaction.atomic
def purge(*, site: Site | None, before: datetime) -> int:
    """Empty the entries of the site's chain recorded before that moment, and record which. Returns how many.

    What is left of an entry is its number, its verb, its digest and its seal; who did it, to what and to whom is gone.
    A purge is never purged itself, or nobody could tell an emptied entry from one that was wiped out.
    """
    old = Action.objects.filter(site=site, recorded_at__lt=before).exclude(verb=Verb.PURGED).exclude(payload="")
    wanted = dict(old.order_by("number").values_list("number", "digest")[:_AT_ONCE])
    if not wanted:
        return 0
    # Not through save(): a fact refuses to be edited, and this is the one way in which it may lose its content.
    old.filter(number__in=wanted).update(payload="", actor=None, child=None, subject="")
    record(Verb.PURGED, "record of actions", site=site, before=before, entries=wanted)
    return len(wanted)
