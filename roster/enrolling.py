"""Put children into classrooms, one or many, each in one place on any day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction

from menus.signals import facts_changed
from roster.models import Child, Classroom, Enrolment
from roster.record.watch import remember, tell

FAR = date.max


def enrol(*, child: Child, classroom: Classroom, starts_on: date, ends_on: date | None = None) -> Enrolment:
    """Put the child into the classroom. Raises ValidationError when an enrolment of the child overlaps."""
    [enrolment] = enrol_all([Enrolment(child=child, classroom=classroom, starts_on=starts_on, ends_on=ends_on)])
    return enrolment


@transaction.atomic
def enrol_all(enrolments: list[Enrolment]) -> list[Enrolment]:
    """Put children into classrooms, all of them or none. Queries grow with the classrooms, not with the children.

    Takes new rows with their child and classroom loaded. Raises ValidationError for one that ends before it begins or
    overlaps another of its child.
    """
    children = {each.child_id for each in enrolments}
    # Two enrolments at once must see each other.
    list(Child.objects.select_for_update(no_key=True).filter(pk__in=children).order_by("pk"))
    stays = defaultdict[int, list[Enrolment]](list)
    for stay in Enrolment.objects.filter(child__in=children).select_related("classroom"):
        stays[stay.child_id].append(stay)
    for enrolment in enrolments:
        enrolment.clean_fields(exclude=("child", "classroom"))
        _refuse_backwards(enrolment)
        _refuse_among(enrolment, stays[enrolment.child_id])
        stays[enrolment.child_id].append(enrolment)
    Enrolment.objects.bulk_create(enrolments)
    _say(enrolments)
    return enrolments


@transaction.atomic
def change_days(days: Mapping[int, tuple[date, date | None]]) -> None:
    """Give enrolments, by their number, other first and last days, all of them or none. Queries as for `enrol_all`.

    Raises ValidationError for one that would end before it begins, KeyError for one that is not there. That none
    overlaps another is the caller's to see to.
    """
    rows = Enrolment.objects.select_for_update(of=("self",)).select_related("child", "classroom__site").in_bulk(days)
    enrolments = [rows[pk] for pk in days]
    remember(enrolments)
    for enrolment in enrolments:
        enrolment.starts_on, enrolment.ends_on = days[enrolment.pk]
        enrolment.clean_fields(exclude=("child", "classroom"))
        _refuse_backwards(enrolment)
    Enrolment.objects.bulk_update(enrolments, ["starts_on", "ends_on"])
    _say(enrolments)


def _say(enrolments: list[Enrolment]) -> None:
    tell(enrolments)
    for one in {each.classroom_id: each for each in enrolments}.values():  # what is checked again goes by the room
        facts_changed.send(sender=Enrolment, instance=one)


def _refuse_backwards(enrolment: Enrolment) -> None:
    if enrolment.ends_on and enrolment.ends_on < enrolment.starts_on:
        raise ValidationError("An enrolment cannot end before it begins.", code="enrolment-backwards")


def refuse_overlap(enrolment: Enrolment) -> None:
    """Raise ValidationError when the child is enrolled elsewhere on one of the days. One query."""
    others = Enrolment.objects.filter(child=enrolment.child).exclude(pk=enrolment.pk).select_related("classroom")
    _refuse_among(enrolment, others)


def _refuse_among(enrolment: Enrolment, others: Iterable[Enrolment]) -> None:
    first, last = enrolment.starts_on, enrolment.ends_on or FAR
    other = next((each for each in others if each.starts_on <= last and (each.ends_on or FAR) >= first), None)
    if other:
        raise ValidationError(
            "%(child)s is already in %(room)s from %(start)s to %(end)s. "
            "End that enrolment the day before this one begins.",
            code="enrolment-overlap",
            params={
                "child": enrolment.child,
                "room": other.classroom,
                "start": other.starts_on.isoformat(),
                "end": other.ends_on.isoformat() if other.ends_on else "no set end",
            },
        )
