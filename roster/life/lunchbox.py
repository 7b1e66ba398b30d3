"""Keep what goes into a child's lunchbox on a day: a new version for every change, and copies for other days."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from menus.models import Product
from roster.access import children_with
from roster.life.stale import newest_seen
from roster.models import Child, LunchBox, LunchBoxItem, User, Verb
from roster.permits import Act, Thing
from roster.record.write import record

MOST_ITEMS = 20


@dataclass(frozen=True, slots=True)
class Packed:
    """One food as it goes into a box; the fields are those of LunchBoxItem."""

    name: str
    household: str = ""
    product: Product | None = None
    words: str = ""
    seen_on: date | None = None
    home_made: bool = False
    form: str = ""
    keeps: str = ""
    texture: int | None = None


def box_of(child: Child, day: date) -> LunchBox | None:
    """Return the newest version of the child's box of that day, which may be withdrawn. One query."""
    known = LunchBox.objects.known(timezone.now()).filter(child=child, day=day)
    return known.select_related("put_together_by").last()


@transaction.atomic
def save_box(
    *,
    child: Child,
    day: date,
    items: Sequence[Packed],
    by: User,
    replaces: LunchBox | None,
    packed_at: time | None = None,
    eaten_at: time | None = None,
    kept_at_temperature: bool = False,
    withdrawn: bool = False,
) -> LunchBox:
    """Record a version of the box with all that is in it.

    Raises PermissionDenied for whoever may not pack for the child, Stale when another version was saved since
    the one that the person saw, ValidationError for a food that says too little, and for more than 20 foods.
    """
    if not children_with(by, Thing.LUNCHBOX, Act.ADD).filter(pk=child.pk).exists():
        raise PermissionDenied("Only the child's guardian and licensed staff of its site pack its lunchbox.")
    if len(items) > MOST_ITEMS:
        raise ValidationError(f"A box holds at most {MOST_ITEMS} foods here. Take one out first.", code="too-many")
    newest = newest_seen(child, lambda: box_of(child, day), replaces)
    box = LunchBox(
        child=child,
        day=day,
        packed_at=packed_at,
        eaten_at=eaten_at,
        kept_at_temperature=kept_at_temperature,
        withdrawn=withdrawn,
        put_together_by=by,
        replaces=newest,
    )
    box.full_clean()
    box.save()
    for position, packed in enumerate(items, start=1):
        item = LunchBoxItem(box=box, position=position, **fields_of(packed))
        item.full_clean()
        item.save()
    record(
        Verb.ENDED if withdrawn else Verb.RECORDED,
        box,
        site=child.site,
        child=child,
        by=by.pk,
        day=day,
        foods=len(items),
        replaces=newest.pk if newest else None,
    )
    return box


def packed_of(items: Iterable[LunchBoxItem]) -> list[Packed]:
    """Return what is in a box, to be put into another version of it or another box."""
    return [Packed(**{name: getattr(item, name) for name in Packed.__dataclass_fields__}) for item in items]


def fields_of(packed: Packed) -> dict[str, Any]:
    """Return the fields of the stored row."""
    return {name: getattr(packed, name) for name in Packed.__dataclass_fields__}
