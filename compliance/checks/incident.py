"""Open an incident, add to it, close it. What was on record is gathered and frozen before anything changes."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from compliance.checks.codec import fingerprint
from compliance.checks.gathered import gather
from compliance.checks.incidentmail import tell_of
from compliance.models import Incident, IncidentNote
from menus.models import Site
from roster.access import children_with, is_licensed_for
from roster.life.report import Report, Said, protect
from roster.models import Child, User, Verb
from roster.permits import Act, Thing
from roster.record.write import record

NOT_YET_LOOKED = (
    "Serve nothing until licensed staff have said what. They are looking into what happened on {day:%Y-%m-%d}."
)
"""What protects the child while nobody can name the food. It names no condition; licensed staff end it."""


@transaction.atomic
def open_incident(
    *,
    child: Child,
    site: Site,
    kind: str,
    noticed_at: datetime,
    seen: str,
    opened_by: User,
    food: str = "",
    given_by: str = "",
    suspected: Sequence[str] = (),
    unnamed: Sequence[str] = (),
) -> tuple[Incident, Report | None]:
    """Keep what was seen with all that was on record, then protect the child until licensed staff have looked.

    `suspected` holds codes of foods that somebody takes for the cause, `unnamed` words for such foods that name nothing
    on record. Raises PermissionDenied for a child of whom the
    person may not tell, ValidationError for a moment to come or when nothing is said.
    """
    now = timezone.now()
    if not children_with(opened_by, Thing.INCIDENT, Act.ADD).filter(pk=child.pk).exists():
        raise PermissionDenied("You open incidents about children of your own classes and sites only.")
    if noticed_at > now:
        raise ValidationError({"noticed_at": "This moment is still to come. Give the time at which it was noticed."})
    incident = Incident(
        kind=kind,
        child=child,
        site=site,
        noticed_at=noticed_at,
        seen=seen.strip(),
        food=food.strip(),
        given_by=given_by.strip(),
        opened_by=opened_by,
        gathered=gather(child, site, noticed_at, now),
    )
    incident.digest = digest_of(incident)
    incident.full_clean()
    incident.save()
    protected = _protect(incident, suspected, unnamed)
    record(
        Verb.RECORDED,
        incident,
        site=site,
        child=child,
        by=opened_by.pk,
        kind=kind,
        digest=incident.digest,
        protected=[version.pk for version in protected.recorded] if protected else [],
    )
    tell_of(incident)
    return incident, protected


def digest_of(incident: Incident) -> str:
    """Return the fingerprint of what was said and gathered, whoever computes it and whenever."""
    return fingerprint(
        {
            "kind": str(incident.kind),
            "child": incident.child_id,
            "site": incident.site_id,
            "noticed_at": incident.noticed_at.timestamp(),
            "seen": incident.seen,
            "food": incident.food,
            "given_by": incident.given_by,
            "opened_by": incident.opened_by_id,
            "gathered": incident.gathered,
        }
    )


def is_whole(incident: Incident) -> bool:
    """Tell whether it still says what it said when it was opened."""
    return incident.digest == digest_of(incident)


def _protect(incident: Incident, suspected: Sequence[str], unnamed: Sequence[str]) -> Report | None:
    """Keep from the child what is suspected; where that cannot be looked for, everything that nobody has agreed to."""
    day = incident.noticed_at.astimezone(incident.site.zone)
    is_unknown = bool(unnamed) or (not suspected and incident.kind == Incident.Kind.REACTION)
    if not suspected and not is_unknown:
        return None
    said = Said(
        kind=None,  # licensed staff say which it is
        substances=suspected,
        told=NOT_YET_LOOKED.format(day=day) if is_unknown else "",
        note=_note(incident, unnamed),
    )
    return protect(child=incident.child, said=said, reported_by=incident.opened_by)


def _note(incident: Incident, unnamed: Sequence[str]) -> str:
    words = f" Suspected, not on record: {', '.join(unnamed)}" if unnamed else ""
    return f"After incident {incident.pk}, until licensed staff have looked.{words}"[:200]


@transaction.atomic
def add_note(*, incident: Incident, text: str, written_by: User, closes: bool = False) -> IncidentNote:
    """Add what came to light. Raises PermissionDenied when somebody other than licensed staff closes it."""
    if closes and not is_licensed_for(written_by, incident.child):
        raise PermissionDenied("Licensed staff of the child's site close an incident.")
    note = IncidentNote(incident=incident, text=text.strip(), closes=closes, written_by=written_by)
    note.full_clean()
    note.save()
    said: dict[str, Any] = {"incident": incident.pk, "text": note.text, "closes": closes}
    record(Verb.RECORDED, note, site=incident.site, child=incident.child, by=written_by.pk, **said)
    return note
