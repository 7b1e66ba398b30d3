"""Record the level of texture that a signed statement sets for a child. Each version takes the place of the last."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from roster.access import is_licensed_for
from roster.life.stale import newest_seen
from roster.models import Child, TextureLevel, User, Verb
from roster.models.restriction import REMINDERS
from roster.record.write import record

SAID = ("food_level", "drink_level", "signatory", "signed_on", "review_on", "ended", "end_reason", "signature")


def texture_of(child: Child, at: datetime | None = None) -> TextureLevel | None:
    """Return the newest version, which may say that no level is set any more. One query."""
    known = TextureLevel.objects.known(at or timezone.now()).filter(child=child)
    return known.select_related("recorded_by").first()


def textures_of(children: Iterable[Child | int], at: datetime) -> dict[int, TextureLevel]:
    """Return the levels that stand, by the id of the child; nothing for a child without one. One query.

    A level whose statement ran out stands all the same: it goes on protecting.
    """
    return {each.child_id: each for each in TextureLevel.objects.standing(at).filter(child__in=list(children))}


def textures_due(children: QuerySet[Child], day: date, at: datetime) -> list[TextureLevel]:
    """Return the levels whose statement ran out by that day or soon will, the oldest first. Each goes on holding.

    One query.
    """
    standing = TextureLevel.objects.standing(at).filter(child__in=children, review_on__lte=day + max(REMINDERS))
    return list(standing.select_related("child").order_by("review_on", "pk"))


@transaction.atomic
def record_texture(*, child: Child, recorded_by: User, replaces: TextureLevel | None, **said: Any) -> TextureLevel:
    """Record a version; `said` holds the fields of SAID.

    Raises PermissionDenied for whoever is not licensed staff of the child's site, Stale when another version was
    recorded since the one that the person saw, ValidationError when it says too little or ends what there is not.
    """
    if not is_licensed_for(recorded_by, child):
        raise PermissionDenied("Only licensed staff of the child's site record a level of texture.")
    newest = newest_seen(child, lambda: texture_of(child), replaces)
    if said.get("ended") and (newest is None or newest.ended):
        raise ValidationError("No level is set for this child, so there is none to end.", code="none-to-end")
    level = TextureLevel(child=child, recorded_by=recorded_by, replaces=newest, **said)
    level.full_clean()
    level.save()
    record(
        Verb.ENDED if level.ended else Verb.RECORDED,
        level,
        site=child.site,
        child=child,
        by=recorded_by.pk,
        before=_said(newest) if newest else None,
        after=_said(level),
    )
    return level


def _said(level: TextureLevel) -> dict[str, str | int | bool | date | None]:
    return {name: getattr(level, name) for name in SAID}
