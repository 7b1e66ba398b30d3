"""For whom and for which room a lunchbox is packed, and what both ask of its foods on that day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from compliance.checks.avoided import NOTHING, avoided_by
from compliance.checks.children import periods
from compliance.rules.values import RestrictionType, Strictness
from menus.labels.lexicon import Lexicon
from menus.lexicon import lexicon_at
from menus.models import Site
from roster.life.approval import approved_labels
from roster.life.texture import textures_of
from roster.models import Basis, Child, Classroom, Enrolment, Restriction, TextureLevel


@dataclass(frozen=True, slots=True)
class Setting:
    """A child, the room that it eats in on a day, and all that is asked there, as known at one moment."""

    child: Child
    room: Classroom
    day: date
    at: datetime
    lexicon: Lexicon
    types: tuple[RestrictionType, ...]  # what the child may not have
    rules: tuple[RestrictionType, ...]  # what the site's policy keeps out of the room
    approved: frozenset[int]  # label versions that may come to the room
    texture: TextureLevel | None
    see_to: tuple[str, ...]  # what no check looks for

    @property
    def site(self) -> Site:
        """Where the room is."""
        return self.room.site


def setting_of(child: Child, room: Classroom, day: date, at: datetime) -> Setting:
    """Return what is asked for the child in that room on that day. The number of queries is fixed."""
    return Setting(
        child=child,
        room=room,
        day=day,
        at=at,
        lexicon=lexicon_at(at),
        types=tuple(period.type for period in periods(Child.objects.filter(pk=child.pk), day, day, at)),
        rules=_rules(child, room, day, at),
        approved=frozenset(approved_labels(room, day)),
        texture=textures_of([child], at).get(child.pk),
        see_to=avoided_by([child], day, at).get(child.pk, NOTHING).told,
    )


def _rules(child: Child, room: Classroom, day: date, at: datetime) -> tuple[RestrictionType, ...]:
    """Whose restriction a rule of the room stands on is nobody's to read here."""
    there = Enrolment.objects.on(day).filter(classroom=room).order_by().values("child")
    standing = Restriction.objects.in_force(day, day, at).filter(child__in=there, basis=Basis.POLICY)
    kinds = {
        RestrictionType(each.substance, Strictness(each.strictness))
        for each in standing.exclude(child=child)
        if each.holds_on(day)
    }
    return tuple(sorted(kinds, key=lambda kind: (kind.substance, kind.strictness)))
