"""Take a file of health records over: what protects is written, and licensed staff are asked about unknown words."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction
from django.utils import timezone

from compliance.checks.recorded import note_asked
from compliance.models import Referral
from menus.labels.evidence import ANY, Kind
from roster.fhir.lines import Plan, words_told
from roster.fhir.take import Taken, Ticked, take_over
from roster.models import HealthRecord, Restriction, User

QUESTION = (
    "{told} Which foods are meant? Find out, write each down as a report, and keep withholding until then. The words "
    "stay on the list of the class until licensed staff end them."
)


@transaction.atomic
def take_in(kept: HealthRecord, plan: Plan, *, ticked: Ticked, by: User | None) -> Taken:
    """Take the file over, and open one referral for each restriction whose words no list holds."""
    taken = take_over(kept, plan, ticked=ticked, by=by)
    rows = list(_questions(taken.asks, by))
    Referral.objects.bulk_create(rows, ignore_conflicts=True)
    note_asked(rows)
    return taken


def _questions(asks: Iterable[Restriction], by: User | None) -> Iterable[Referral]:
    for version in asks:
        site = version.child.site
        if site is None:
            continue  # enrolled nowhere, so nobody is served; what is kept away is on record and due for a statement
        yield Referral(
            child=version.child,
            site=site,
            restriction=version,
            substance="",
            kind=Kind.UNREAD_WORD,
            about=[ANY],
            subject=f"health-record:{version.chain}",
            food=f"Whatever {words_told(version.told)} means"[:160],
            question=QUESTION.format(told=version.told),
            words=version.note,
            needed_by=timezone.now().astimezone(site.zone).date(),
            asked_by=by,
        )
