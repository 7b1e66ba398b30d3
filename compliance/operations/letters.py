"""Work that was given up: who is told of it, and trying it again."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction
from django.db.models import QuerySet

from compliance.checks.changes import note_site
from compliance.checks.nights.letters import settle
from compliance.models import DeadLetter
from compliance.operations.scope import Scope
from menus.models import Site
from roster.models import User, Verb
from roster.record.write import record

AGAIN = "Tried again by hand."


def open_letters(scope: Scope) -> QuerySet[DeadLetter]:
    """Return what still wants somebody, the newest first; what is of no one site only for who is told of all."""
    letters = DeadLetter.objects.unsettled().select_related("site", "slice__night")
    return letters if scope.is_all else letters.filter(site__in=scope.sites)


@transaction.atomic
def try_again(letter: DeadLetter, by: User) -> bool:
    """Settle the letter, on record, and have its sites checked again.

    Returns False, and does nothing, when it was settled before, by somebody or by a later check.
    """
    if not settle(letter, by=by, note=AGAIN):
        return False
    queue_checks(_sites_of(letter))
    return True


@transaction.atomic
def check_again(site: Site, by: User) -> None:
    """Have a site checked again that no check looked at for too long, and settle what was given up there. On record."""
    for letter in DeadLetter.objects.unsettled().filter(site=site):
        settle(letter, by=by, note=AGAIN)
    queue_checks([site])
    record(Verb.ASKED, "check of the site", site=site, by=by.pk)


def queue_checks(sites: Iterable[Site]) -> None:
    """Note that the sites are to be checked, and have it done once the transaction is through.

    A broker that cannot be reached is logged and no more: the notes stand by then, and are found within minutes.
    """
    from compliance.tasks import recheck  # the tasks import what this module imports

    for site in sites:
        note_site(site.pk)
    transaction.on_commit(recheck.delay, robust=True)


def _sites_of(letter: DeadLetter) -> list[Site]:
    if letter.site:
        return [letter.site]
    return list(Site.objects.filter(pk__in=letter.slice.sites)) if letter.slice else []
