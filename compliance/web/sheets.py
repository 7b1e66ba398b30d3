"""Sheets to print for when nothing else works: one for a room, one for a child. Each printing is recorded."""

from __future__ import annotations

from datetime import date, datetime

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.checks.avoided import NOTHING, Avoided, avoided_by
from compliance.checks.pointer import pointer
from compliance.checks.texture import levels_asked
from compliance.checks.texturesaid import ON_PAPER, texture_says
from compliance.reports.roomsheet import RoomSheet, SheetChild, roomsheet_pdf
from compliance.web.cautions import CAUTIONS
from compliance.web.classrooms import Room, room_of
from compliance.web.gates import children_for
from compliance.web.handout import shown_pdf
from compliance.web.names import whole_names
from compliance.web.signed_in import SignedInRequest
from roster.emergency.numbers import number_in
from roster.kinds.kind import restriction_kinds
from roster.models import Child, EmergencyPlan, Enrolment, Verb
from roster.record.write import record

PRINTED = ("pointer", "package", "discreet")


@require_safe
def room_sheet(request: SignedInRequest) -> HttpResponse:
    """Hand out the sheet of a class for today: who is to have what kept away, and where their papers are."""
    room, now = room_of(request), timezone.now()
    children = _of_room(room)
    if not children_for(request).filter(pk__in=[child.pk for child in children]).exists() and children:
        raise Http404("This class is not yours to print.")
    rows = _rows(children, room.today, now, names_conditions=room.site.names_conditions)
    shown = [row for row in rows if row.keep_away or row.see_to or row.plan]
    made = roomsheet_pdf(
        RoomSheet(
            site=room.site,
            room=room.classroom.name,
            day=room.today,
            as_of=now,
            number=number_in(room.site.country_code),
            children=shown,
            others=len(rows) - len(shown),
            cautions=[CAUTIONS[name] for name in PRINTED],
        )
    )
    record(Verb.EXPORTED, f"room sheet of classroom {room.classroom.pk}", site=room.site, by=request.user.pk)
    return shown_pdf(made, f"room-sheet-{room.classroom.pk}-{room.today.isoformat()}.pdf")


@require_safe
def emergency_sheet(request: SignedInRequest, pk: int) -> HttpResponse:
    """Hand out the sheet of one child."""
    child = get_object_or_404(children_for(request), pk=pk)
    now, found = timezone.now(), pointer(child)
    namesakes = Child.objects.filter(given_name=child.given_name, family_name=child.family_name)
    name = whole_names([child, *namesakes])[child.pk]
    rows = _rows([child], found.today, now, names_conditions=found.site.names_conditions, names={child.pk: name})
    made = roomsheet_pdf(
        RoomSheet(
            site=found.site,
            room=found.room,
            day=found.today,
            as_of=now,
            number=found.number,
            children=rows,
            others=0,
            cautions=[CAUTIONS[name] for name in PRINTED],
            of_child=True,
        )
    )
    record(Verb.EXPORTED, "emergency sheet", site=found.site, child=child, by=request.user.pk)
    return shown_pdf(made, f"emergency-sheet-{child.pk}-{found.today.isoformat()}.pdf")


def _of_room(room: Room) -> list[Child]:
    there = Enrolment.objects.on(room.today).filter(classroom=room.classroom).order_by().values("child")
    return list(Child.objects.filter(pk__in=there).order_by("given_name", "family_name", "pk"))


def _rows(
    children: list[Child], day: date, now: datetime, *, names_conditions: bool, names: dict[int, str] | None = None
) -> list[SheetChild]:
    """What stands on the sheet of each of them. Three queries."""
    ids = [child.pk for child in children]
    names = names or whole_names(children)
    held = avoided_by(ids, day, now)
    levels = levels_asked(ids, now)
    plans = {plan.child_id: plan for plan in EmergencyPlan.objects.kept(now).filter(child__in=ids)}
    return [
        SheetChild(
            name=names[pk],
            keep_away=held.get(pk, NOTHING).foods,
            see_to=[
                *held.get(pk, NOTHING).told,
                *([f"{texture_says(levels[pk])} {ON_PAPER}"] if pk in levels else []),
            ],
            conditions=_conditions(held.get(pk, NOTHING)) if names_conditions else (),
            plan=plans.get(pk),
        )
        for pk in ids
    ]


def _conditions(held: Avoided) -> list[str]:
    kinds = (restriction_kinds().get(version.kind) for version in held.versions)
    return list(dict.fromkeys(kind.name for kind in kinds if kind))


urls = [
    path("today/sheet.pdf", room_sheet, name="room-sheet"),
    path("children/<int:pk>/emergency/sheet.pdf", emergency_sheet, name="emergency-sheet"),
]
