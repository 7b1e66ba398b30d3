"""The week that a page of lunchboxes is about: whose boxes, and from which Monday on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.http import Http404
from django.utils import timezone

from compliance.web.classrooms import Room, room_of
from compliance.web.gates import children_for
from compliance.web.signed_in import SignedInRequest
from menus.models import Site
from menus.models.cycle import monday_of
from roster.access import own_children
from roster.models import Child, Enrolment, LunchBox

SCHOOL_DAYS = 5


@dataclass(frozen=True, slots=True)
class Week:
    """The children that the page is about, at their site, and the days from Monday to Friday."""

    children: tuple[Child, ...]
    site: Site
    room: Room | None
    monday: date

    @property
    def days(self) -> list[date]:
        """Monday to Friday."""
        return [self.monday + timedelta(days=n) for n in range(SCHOOL_DAYS)]

    def boxes(self) -> list[LunchBox]:
        """The boxes planned for these children in the week, by day and child. Two queries."""
        planned = LunchBox.objects.planned(timezone.now()).filter(
            child__in=[child.pk for child in self.children], day__range=(self.days[0], self.days[-1])
        )
        with_items = planned.select_related("child").prefetch_related("items__product")
        return list(with_items.order_by("day", "child__given_name", "child_id"))


def week_of(request: SignedInRequest) -> Week:
    """Return the week of the guardian's own children; else of the class chosen, for licensed staff.

    A class is all who are in it on a day of that week, who begins then too. 404 where there is neither.
    """
    allowed = children_for(request)
    own = [child for child in own_children(request.user).order_by("given_name", "pk") if child.site]
    if own and "class" not in request.GET:
        site = own[0].site
        assert site is not None  # only such are kept
        return Week(tuple(own), site, None, _monday(request, site))
    room = room_of(request)
    monday = _monday(request, room.site)
    last = monday + timedelta(days=SCHOOL_DAYS - 1)
    there = Enrolment.objects.during(monday, last).filter(classroom=room.classroom).order_by().values("child")
    children = tuple(allowed.filter(pk__in=there).order_by("given_name", "family_name", "pk"))
    return Week(children, room.site, room, monday)


def day_asked(request: SignedInRequest, name: str) -> date | None:
    """Return the day that the address names, if any; 404 for what is no day."""
    asked = request.GET.get(name, "")
    if not asked:
        return None
    try:
        return datetime.strptime(asked, "%Y-%m-%d").date()  # noqa: DTZ007  (a day has no clock)
    except ValueError as error:
        raise Http404("This is no day of the calendar.") from error


def _monday(request: SignedInRequest, site: Site) -> date:
    """The Monday of `?week=`; else of this week, and from Saturday on of the next."""
    coming = timezone.now().astimezone(site.zone).date() + timedelta(days=2)
    return monday_of(day_asked(request, "week") or coming)
