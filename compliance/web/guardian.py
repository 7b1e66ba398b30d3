"""What guardians read: their own children, what is on record of each, what is asked of them, what the meals hold."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.checks.ownmeals import meetings
from compliance.checks.schedule import last_looked_at
from compliance.web.children_lines import Line, lines_of
from compliance.web.familywords import for_family, language_now
from compliance.web.language import LANGUAGES, in_own_language
from compliance.web.signed_in import SignedInRequest
from menus.models import Site
from roster.access import own_children
from roster.life.due import Due, Why, due
from roster.life.guardian import own_entries
from roster.models import Child, Restriction

ENTRIES_SHOWN = 20
ASKED_OF_FAMILY = frozenset(Why) - {Why.UNREVIEWED}
"""What the family can do something about; a statement that waits for its review is the school's to see to."""


@dataclass(frozen=True, slots=True)
class KeptAway:
    """One thing that is kept away from the child, and since when."""

    line: Line
    since: datetime


@dataclass(frozen=True, slots=True)
class Wanted:
    """One paper that the family is asked for, and the restrictions that wait for it."""

    why: Why
    versions: list[Restriction]
    runs_out: date | None
    wanting: str


@dataclass(frozen=True, slots=True)
class OwnChild:
    """A child, where it is, and the date there."""

    child: Child
    site: Site
    now: datetime

    @property
    def today(self) -> date:
        """The date at the site."""
        return self.now.astimezone(self.site.zone).date()


def own_child(request: SignedInRequest, pk: int) -> OwnChild:
    """Return the person's own child; 404 for any other, and for one who was never enrolled."""
    child = get_object_or_404(own_children(request.user), pk=pk)
    site = child.site
    if site is None:
        raise Http404("This child is not enrolled at any site, so nothing is on record.")
    return OwnChild(child, site, timezone.now())


def shown_to_guardian(**more: Any) -> dict[str, Any]:
    """Return what every page for guardians needs: the languages, and which it is in."""
    return {"languages": LANGUAGES, "language": language_now(), **more}


@require_safe
@in_own_language
def guardian(request: SignedInRequest) -> HttpResponse:
    """List the person's own children."""
    children = own_children(request.user).order_by("given_name", "family_name", "pk")
    rows = [(child, child.site) for child in children]
    site = next((site for _, site in rows if site), None)
    return render(request, "guardian/home.html", shown_to_guardian(rows=rows, site=site))


@require_safe
@in_own_language
def guardian_child(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show in plain words what is kept away from the child, on what paper it rests, and what the coming meals hold."""
    own = own_child(request, pk)
    lines = lines_of(own.child, own.today, own.now)
    last = last_looked_at(own.today)
    return render(
        request,
        "guardian/child.html",
        shown_to_guardian(
            child=own.child,
            site=own.site,
            as_of=own.now,
            kept_away=_kept_away([line for line in lines if not line.has_ended]),
            ended=[line for line in lines if line.has_ended],
            statements=own.child.statements.filter(replaced_by=None),
            wanted=_wanted(own),
            meetings=meetings(own.child, own.today, last),
            last=last,
            entries=own_entries(request.user).filter(child=own.child)[:ENTRIES_SHOWN],
        ),
    )


def _kept_away(lines: list[Line]) -> list[KeptAway]:
    """One query: the first version of each says since when."""
    chains = Restriction.objects.filter(pk__in=[line.version.chain for line in lines])
    begun = dict(chains.values_list("pk", "recorded_at"))
    return [KeptAway(line, begun[line.version.chain]) for line in lines]


def _wanted(own: OwnChild) -> list[Wanted]:
    """What the family is asked for: a statement that never came, ran out or soon will, or lacks something."""
    found = due(Child.objects.filter(pk=own.child.pk), own.today, own.now)
    asked = defaultdict[tuple[Why, date | None, str], list[Restriction]](list)
    for each in found:
        if each.why in ASKED_OF_FAMILY and each.version.substance:
            asked[_request(each)].append(each.version)
    return [
        Wanted(why, sorted(versions, key=for_family), runs_out, wanting)
        for (why, runs_out, wanting), versions in asked.items()
    ]


def _request(each: Due) -> tuple[Why, date | None, str]:
    """What makes two restrictions one request: why, by when, and what a better statement is to say."""
    version = each.version
    if each.why is Why.WANTING and version.review:
        return each.why, None, version.review.wanting
    return each.why, version.review_on, ""


urls = [
    path("family/", guardian, name="guardian"),
    path("family/<int:pk>/", guardian_child, name="guardian-child"),
]
