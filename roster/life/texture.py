"""Record the level of texture that a signed statement sets for a child. Each version takes the place of the last."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from roster.access import is_licensed_for
from roster.models import Child, TextureLevel, User, Verb
from roster.record.write import record

SAID = ("food_level", "drink_level", "signatory", "signed_on", "review_on", "ended", "end_reason", "signature")


class StaleTexture(ValidationError):
    """Somebody recorded a newer level meanwhile."""

    def __init__(self, newer: TextureLevel) -> None:
        self.newer = newer
        super().__init__(
            "%(who)s recorded another level meanwhile. It stands above. Compare it with what you typed, then save "
            "again.",
            code="stale",
            params={"who": newer.recorded_by},
        )


def texture_of(child: Child, at: datetime | None = None) -> TextureLevel | None:
    """Return the newest version, which may say that no level is set any more. One query."""
    known = TextureLevel.objects.known(at or timezone.now()).filter(child=child)
    return known.select_related("recorded_by").first()


def textures_of(children: Iterable[Child | int], at: datetime) -> dict[int, TextureLevel]:
    """Return the levels that stand, by the id of the child; nothing for a child without one. One query.

    A level whose statement ran out stands all the same: it goes on protecting.
    """
    return {each.child_id: each for each in TextureLevel.objects.standing(at).filter(child__in=list(children))}


@transaction.atomic
def record_texture(*, child: Child, recorded_by: User, replaces: TextureLevel | None, **said: Any) -> TextureLevel:
    """Record a version; `said` holds the fields of SAID.

    Raises PermissionDenied for whoever is not licensed staff of the child's site, StaleTexture when another version was
    recorded since the one that the person saw, ValidationError when it says too little or ends what there is not.
    """
    if not is_licensed_for(recorded_by, child):
        raise PermissionDenied("Only licensed staff of the child's site record a level of texture.")
    Child.objects.select_for_update(no_key=True).get(pk=child.pk)  # two versions at once must see each other
    newest = texture_of(child)
    if newest and newest != replaces:
        raise StaleTexture(newest)
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
