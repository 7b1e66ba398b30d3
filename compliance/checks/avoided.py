"""What children avoid on a day, as whoever hands out food reads it: foods with how far, and what people see to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from menus.substances.catalogue import Catalogue
from roster.models import Child, Restriction, Strictness


@dataclass(frozen=True, slots=True)
class Avoided:
    """All of one child. Foods alone: neither diagnosis nor reason."""

    versions: tuple[Restriction, ...]

    @property
    def far(self) -> dict[str, Strictness]:
        """Each substance once, with how far it is avoided at most."""
        far: dict[str, Strictness] = {}
        for version in self.versions:
            if version.substance and far.get(version.substance) != Strictness.TRACE:
                far[version.substance] = Strictness(version.strictness)
        return far

    @property
    def foods(self) -> tuple[str, ...]:
        """The same by name and in words."""
        return tuple(sorted(_food(substance, far) for substance, far in self.far.items()))

    @property
    def told(self) -> tuple[str, ...]:
        """What no check looks for."""
        return tuple(version.told for version in self.versions if not version.substance)


NOTHING = Avoided(())


def avoided_by(children: Iterable[Child | int], day: date, at: datetime) -> dict[int, Avoided]:
    """Return what each of these children avoids on that day, as known then, by id; none for one without. One query."""
    found: dict[int, list[Restriction]] = {}
    for version in Restriction.objects.standing(day, day, at).filter(child__in=list(children)).order_by("pk"):
        if version.holds_on(day):
            found.setdefault(version.child_id, []).append(version)
    return {child: Avoided(tuple(versions)) for child, versions in found.items()}


def _food(substance: str, far: Strictness) -> str:
    name = Catalogue.load().get(substance).name
    return f"{name}, traces too" if far is Strictness.TRACE else f"{name} as an ingredient"
