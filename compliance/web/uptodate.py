"""Whether a page is still what is on record: asked by the page itself, again and again, at a cheap address.

The address answers 204 while nothing has changed, and a banner as soon as something has; the status 286 then tells htmx
to ask no more. Nothing that is typed on the page is touched.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from compliance.checks.pageread import changed, read_of_class, read_of_kitchen, read_of_serving, read_of_treat
from compliance.models import TreatCheck
from compliance.web.numbers import row_number
from compliance.web.place import sites_for
from compliance.web.signed_in import SignedInRequest
from menus.models import Serving
from roster.access import visible_classrooms

STOP_ASKING = 286
"""The status by which htmx ends a polling."""


@dataclass(frozen=True, slots=True)
class Watched:
    """What partials/up_to_date.html needs: where the page asks and how often, and where it can be loaded again."""

    address: str
    again: str
    words: str = "Load it again"
    changes: tuple[str, ...] = ()

    @property
    def seconds(self) -> int:
        """How long the page waits between two questions."""
        return int(settings.UP_TO_DATE_SECONDS)


def watched_class(classroom: int, read: str) -> Watched:
    """Watch a page about a class today, made from what the mark says."""
    here = f"{reverse('today')}?{urlencode({'class': classroom})}"
    return Watched(f"{reverse('today-state')}?{urlencode({'class': str(classroom), 'read': read})}", here)


def watched_treat(check: TreatCheck) -> Watched | None:
    """Watch an answer, from the day on which it was given until the food's day is over; None after that."""
    read = check.result.get("read")
    day = _day_of(check)
    if read is None or day < timezone.now().astimezone(check.classroom.site.zone).date():
        return None
    now = read_of_treat(check.classroom, day, check.label)
    return _treat(check, tuple(changed(read, now)))


def watched_serving(serving: Serving, read: str, now: str) -> Watched:
    """Watch the page of one dish, made from a check; what changed since that check stands there from the start."""
    asks, here = (reverse(name, args=[serving.pk]) for name in ("serving-state", "serving"))
    changes = tuple(changed(read, now))
    words = "Load it again in a minute" if changes else "Load it again"
    return Watched(f"{asks}?{urlencode({'read': read})}", here, words, changes)


def watched_kitchen(site: str, day: date, read: str) -> Watched:
    """Watch the day of a kitchen."""
    where = {"site": site, "day": day.isoformat()}
    asks = f"{reverse('kitchen-state')}?{urlencode({**where, 'read': read})}"
    return Watched(asks, f"{reverse('kitchen-day')}?{urlencode(where)}")


@require_safe
def today_state(request: SignedInRequest) -> HttpResponse:
    """Tell the page of a class."""
    rooms = visible_classrooms(request.user).select_related("site")
    room = get_object_or_404(rooms, pk=row_number(request.GET.get("class", "")))
    day = timezone.now().astimezone(room.site.zone).date()
    return _answer(request, read_of_class(room, day), watched_class(room.pk, ""))


@require_safe
def treat_state(request: SignedInRequest, pk: int) -> HttpResponse:
    """Tell the page of an answer. What it was made from is kept with it, so the address need not say."""
    check = get_object_or_404(TreatCheck.objects.visible_to(request.user), pk=pk)
    now = read_of_treat(check.classroom, _day_of(check), check.label)
    return _answer(request, now, _treat(check), read=check.result.get("read", ""))


@require_safe
def serving_state(request: SignedInRequest, pk: int) -> HttpResponse:
    """Tell the page of a dish."""
    serving = get_object_or_404(Serving, pk=pk, site__in=sites_for(request))
    now = read_of_serving(serving)
    return _answer(request, now, watched_serving(serving, now, now))


@require_safe
def kitchen_state(request: SignedInRequest) -> HttpResponse:
    """Tell the page of a kitchen's day."""
    site = next((each for each in sites_for(request) if each.code == request.GET.get("site", "")), None)
    day = _day(request.GET.get("day", ""))
    if site is None or day is None:
        raise Http404("There is no such day of a kitchen that is yours to see.")
    return _answer(request, read_of_kitchen(site, day), watched_kitchen(site.code, day, ""))


def _treat(check: TreatCheck, changes: tuple[str, ...] = ()) -> Watched:
    again = f"{reverse('treat')}?{urlencode({'class': check.classroom_id})}"
    return Watched(reverse("treat-state", args=[check.pk]), again, "Check the treat again", changes)


def _answer(request: SignedInRequest, now: str, watched: Watched, *, read: str | None = None) -> HttpResponse:
    changes = changed(request.GET.get("read", "") if read is None else read, now)
    if not changes:
        return HttpResponse(status=204)
    shown = {"watched": watched, "changes": changes}
    return render(request, "partials/out_of_date.html", shown, status=STOP_ASKING)


def _day_of(check: TreatCheck) -> date:
    """The day on which the food is handed out."""
    return check.served_at.astimezone(check.classroom.site.zone).date()


def _day(text: str) -> date | None:
    try:
        return parse_date(text)
    except ValueError:
        return None


urls = [
    path("today/state/", today_state, name="today-state"),
    path("treat/<int:pk>/state/", treat_state, name="treat-state"),
    path("servings/<int:pk>/state/", serving_state, name="serving-state"),
    path("kitchen/day/state/", kitchen_state, name="kitchen-state"),
]
