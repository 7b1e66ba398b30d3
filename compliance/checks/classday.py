"""Who is in a class on a day, what they avoid, may have and need: read once for all that an answer says."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from compliance.checks.children import Period, periods_of
from compliance.checks.pageread import Read
from roster.life.texture import textures_of
from roster.models import Allowance, Classroom, Enrolment, Restriction, TextureLevel


@dataclass(frozen=True, slots=True)
class ClassDay:
    """A class on one day, as known at one moment."""

    day: date
    stays: tuple[Enrolment, ...]
    restrictions: tuple[Restriction, ...]  # also those that name nothing to look for
    allowances: tuple[Allowance, ...]
    textures: tuple[TextureLevel, ...]

    @property
    def births(self) -> list[date | None]:
        """The birth dates of the children, None where it is not known."""
        return [stay.child.birth_date for stay in self.stays]

    @property
    def periods(self) -> list[Period]:
        """What the restrictions come down to on the day."""
        named = (restriction for restriction in self.restrictions if restriction.substance)
        return periods_of(named, self.allowances, self.day, self.day)

    @property
    def read(self) -> Iterator[Read]:
        """The facts that were read, as `pageread.read_of_class` finds them when it looks again."""
        for child in {stay.child_id: stay.child for stay in self.stays}.values():
            yield "c", f"{child.pk} {child.birth_date or ''}"
        yield from (("r", str(each.pk)) for each in self.restrictions)
        yield from (("a", str(each.pk)) for each in self.allowances)
        yield from (("t", str(each.pk)) for each in self.textures)


def read_class(classroom: Classroom, day: date, at: datetime) -> ClassDay:
    """Return the class of that day as known at that moment; of enrolments only the present state is known.

    Four queries.
    """
    stays = Enrolment.objects.on(day).filter(classroom=classroom).order_by("pk").select_related("child")
    children = {stay.child_id: stay.child for stay in stays}
    standing = Restriction.objects.standing(day, day, at).filter(child__in=children.keys()).order_by("pk")
    restrictions = tuple(standing)
    for restriction in restrictions:
        restriction.child = children[restriction.child_id]
    held = Allowance.objects.known(at).filter(
        restriction__child__in=children.keys(), starts_on__lte=day, ends_on__gte=day
    )
    allowances = tuple(held.order_by("pk").select_related("restriction"))
    return ClassDay(day, tuple(stays), restrictions, allowances, tuple(textures_of(children, at).values()))
