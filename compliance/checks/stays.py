"""Which classes the restricted children are in, and when."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from django.db.models import Exists, OuterRef, QuerySet

from menus.models import Serving, Site
from roster.models import Enrolment, Restriction

Stays = Mapping[int, list[Enrolment]]
"""Enrolments by child."""


def stays_of(enrolments: QuerySet[Enrolment]) -> Stays:
    """Return those of children who ever had a restriction. One query."""
    restricted = Exists(Restriction.objects.filter(child=OuterRef("child")))
    found: dict[int, list[Enrolment]] = {}
    for enrolment in enrolments.filter(restricted).select_related("classroom").order_by("pk"):
        found.setdefault(enrolment.child_id, []).append(enrolment)
    return found


def at_sites(stays: Stays, sites: Mapping[int, Site]) -> None:
    """Let the classes know these sites, by id, so that nobody asks for them one by one."""
    for found in stays.values():
        for stay in found:
            if stay.classroom.site_id in sites:
                stay.classroom.site = sites[stay.classroom.site_id]


def on_the_day(stays: Stays, child: int, serving: Serving) -> Iterator[Enrolment]:
    """Yield those of the child that hold at the site and on the day of the serving."""
    return (
        each
        for each in stays.get(child, [])
        if each.classroom.site_id == serving.site_id and each.holds_on(serving.date)
    )
