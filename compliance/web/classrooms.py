"""Which class a page is about, among those that the person may look into."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.http import Http404
from django.utils import timezone

from compliance.web.signed_in import SignedInRequest
from menus.models import Site
from roster.models import Classroom
from roster.reach import Reach


@dataclass(frozen=True, slots=True)
class Room:
    """The class of a page, and the others that the person may turn to."""

    classroom: Classroom
    classrooms: tuple[Classroom, ...]

    @property
    def site(self) -> Site:
        """Where the class is."""
        return self.classroom.site

    @property
    def today(self) -> date:
        """The date there."""
        return timezone.now().astimezone(self.site.zone).date()


def room_of(request: SignedInRequest) -> Room:
    """Return the class named by `class` in what was sent, else the one last looked at, else the first.

    404 for a class that is not theirs, and when they have none. One query, beside that for the posts.
    """
    classrooms = tuple(Reach(request.posts).classrooms)
    by_pk = {str(classroom.pk): classroom for classroom in classrooms}
    asked = request.POST.get("class", "") or request.GET.get("class", "")
    if not classrooms or (asked and asked not in by_pk):
        raise Http404("This class is not yours to see.")
    if asked:
        request.session["class"] = asked
    chosen = by_pk.get(asked or request.session.get("class", ""), classrooms[0])
    return Room(chosen, classrooms)
