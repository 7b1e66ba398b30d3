"""The class table and the children's hands as places of carry-over, from one food of a day to the next."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time, timedelta

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from compliance.models import TableEvent, TreatCheck
from menus.kitchen.carryover import carry_over
from menus.kitchen.cleaning import UnknownMethod, removes
from menus.kitchen.events import Clean, Event, Use
from menus.kitchen.recipes import Pieces
from menus.kitchen.surfaces import SurfaceFacts
from roster.access import reach
from roster.models import Classroom, User

TABLE, HANDS = 1, 2
SURFACES = {
    TABLE: SurfaceFacts(TABLE, "The class table", "non_porous"),
    HANDS: SurfaceFacts(HANDS, "The children's hands", "hands"),
}
PLACES = {TableEvent.Place.TABLE: TABLE, TableEvent.Place.HANDS: HANDS}
THIS_FOOD = 0

WASHINGS = {
    "table-soap": (TableEvent.Place.TABLE, "wash_rinse"),
    "hands-soap": (TableEvent.Place.HANDS, "soap_water_hands"),
    "hands-gel": (TableEvent.Place.HANDS, "gel_sanitizer_hands"),
}
"""What a teacher can record by one touch (Perry et al. 2004: soap and water cleans hands, gel does not)."""


def table_events(classroom: Classroom, day: date) -> list[TableEvent]:
    """Return what the class recorded on that day, in order. One query."""
    begin = datetime.combine(day, time.min, classroom.site.zone)
    of_day = TableEvent.objects.filter(
        classroom=classroom, happened_at__gte=begin, happened_at__lt=begin + timedelta(days=1)
    )
    return list(of_day.select_related("check_made__label__product", "recorded_by"))


def from_the_table(classroom: Classroom, at: datetime, foods: Mapping[int, Pieces], day: list[TableEvent]) -> Pieces:
    """Return what comes to any food that is handed out at that moment, from what the day brought before.

    `foods` are the foods that were handed out that day, by the id of their check. What is handed out at the very moment
    counts as well. The table is washed when a day ends (common practice, no source); nothing comes from the day before.
    """
    names = {event.check_made_id: event.check_made.food for event in day if event.check_made}
    events: list[Event] = [Use(at, surface, THIS_FOOD) for surface in SURFACES]
    for event in day:
        when = event.happened_at.astimezone(at.tzinfo)
        if event.check_made_id is not None:
            events += [Use(when, surface, event.check_made_id) for surface in SURFACES]
        else:
            events.append(Clean(when, PLACES[TableEvent.Place(event.place)], event.method, event.recorded_at))
    dishes = {THIS_FOOD: (), **foods}
    known = {pk: name for pk, name in names.items() if pk is not None}
    return carry_over(events, SURFACES, dishes, known)[THIS_FOOD]


@transaction.atomic
def hand_out(*, check: TreatCheck, user: User) -> TableEvent:
    """Record that the checked food is handed out, or handled, now. Raises PermissionDenied for another's class."""
    return _record(check.classroom, user, TableEvent(kind=TableEvent.Kind.HANDED_OUT, check_made=check))


@transaction.atomic
def wash(*, classroom: Classroom, user: User, washing: str) -> TableEvent:
    """Record one of WASHINGS, now. Raises PermissionDenied for another's class, ValidationError for no such washing."""
    if washing not in WASHINGS:
        raise ValidationError("Say what was washed, and how: choose one of the buttons.", code="washing")
    place, method = WASHINGS[washing]
    return _record(classroom, user, TableEvent(kind=TableEvent.Kind.WASHED, place=place, method=method))


def _record(classroom: Classroom, user: User, event: TableEvent) -> TableEvent:
    if not reach(user).opens(classroom):
        raise PermissionDenied("This class is not yours to see.")
    event.classroom, event.recorded_by = classroom, user
    event.happened_at = event.recorded_at = timezone.now()
    event.full_clean()
    event.save()
    return event


def cleans(event: TableEvent) -> bool:
    """Tell whether a washing takes allergens off what was washed."""
    try:
        return removes(event.method, SURFACES[PLACES[TableEvent.Place(event.place)]].material)
    except UnknownMethod:
        return False
