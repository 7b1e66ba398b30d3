"""The class table: what came to it today, and what was washed since. Each record is one touch."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from compliance.checks.table import cleans, hand_out, table_events, wash
from compliance.models import TableEvent, TreatCheck
from compliance.web.classrooms import room_of
from compliance.web.signed_in import SignedInRequest
from roster.models import Classroom


@dataclass(frozen=True, slots=True)
class TableDay:
    """What a class recorded today, with whether each washing takes allergens off."""

    lines: list[tuple[TableEvent, bool]]

    @property
    def has_food(self) -> bool:
        """Whether some food came to the table, so that washing matters."""
        return any(event.check_made_id is not None for event, _ in self.lines)


def table_of(classroom: Classroom, day: date) -> TableDay:
    """Return the class's day at its table. One query."""
    found = table_events(classroom, day)
    return TableDay([(event, event.kind == TableEvent.Kind.WASHED and cleans(event)) for event in found])


@require_POST
def handed(request: SignedInRequest, pk: int) -> HttpResponse:
    """Record that the checked food is on the table now."""
    check = get_object_or_404(TreatCheck.objects.visible_to(request.user), pk=pk)
    hand_out(check=check, user=request.user)
    messages.success(
        request,
        f"Recorded: {check.food} is on the table. What comes next today meets it, until table and hands are washed.",
    )
    return redirect("treat-result", check.pk)


@require_POST
def washed(request: SignedInRequest) -> HttpResponse:
    """Record what the class washed."""
    room = room_of(request)
    try:
        event = wash(classroom=room.classroom, user=request.user, washing=request.POST.get("washing", ""))
    except ValidationError as error:
        messages.error(request, "Nothing was recorded. " + " ".join(error.messages))
    else:
        if cleans(event):
            messages.success(request, f"Recorded: {event.get_place_display().lower()}, washed.")
        else:
            messages.warning(request, "Recorded. Gel takes no allergen off hands: what was on them counts as before.")
    return redirect(f"{reverse('treat')}?class={room.classroom.pk}")


urls = [
    path("treat/<int:pk>/handed-out/", handed, name="table-handed"),
    path("treat/washed/", washed, name="table-washed"),
]
