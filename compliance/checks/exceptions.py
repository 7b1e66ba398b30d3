"""Exceptions: verdicts met by a real child at a real serving. Joined when somebody looks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from django.db.models import QuerySet
from django.utils import timezone

from compliance.checks.exceptionrow import ExceptionRow
from compliance.checks.found import Found
from compliance.checks.met import Meetings, Met, not_read
from compliance.checks.reads import reads
from compliance.checks.served import Served, served
from compliance.checks.stays import Stays, at_sites, on_the_day, stays_of
from compliance.checks.unread import unread_restrictions, withdrawn_since
from compliance.models import RunRestriction
from compliance.rules.values import Outcome
from menus.models import Serving, Site
from menus.models.cycle import MEAL_ORDER
from roster.access import visible_classrooms
from roster.models import Child, Classroom, Enrolment, User

__all__ = ["ExceptionFilter", "ExceptionRow", "Look", "find_exceptions", "find_lifted", "found_exceptions"]


@dataclass(frozen=True, slots=True)
class ExceptionFilter:
    """Which exceptions somebody asks for; days are both included, None and "" mean any."""

    first: date
    last: date
    site: Site | None = None
    classroom: Classroom | None = None
    outcome: Outcome | None = None
    substance: str = ""
    rule: str = ""
    child: Child | None = None
    serving: Serving | None = None


class Look:
    """One look at the exceptions that fit a filter and that the user may see (None: the service itself).

    Whatever the size: five queries, one more for exceptions (two, where some restriction has not been read), one where
    something is allowed (two, where something was withdrawn) and one when the first reason is asked for; a user costs
    their posts. None but the first, where no child is restricted.
    """

    def __init__(self, user: User | None, asked: ExceptionFilter) -> None:
        rooms = visible_classrooms(user) if user is not None else None
        self._asked = asked
        self._stays = stays_of(_enrolments(rooms, asked))
        dishes = _served(rooms, asked) if self._stays else []
        at_sites(self._stays, {each.serving.site_id: each.serving.site for each in dishes})
        wanted = RunRestriction.objects.filter(child__in=self._stays)
        if asked.substance:
            wanted = wanted.filter(type__substance=asked.substance)
        read = reads(dishes, wanted, asked.first, asked.last)
        self._meetings = Meetings(dishes, read, Found(dishes, read.types))

    def exceptions(self) -> list[ExceptionRow]:
        """Return the exceptions, sorted by day, site, meal, dish, classroom and child.

        Where a child's restriction is newer than the check of a dish to come, or the child is, or an allowance was
        withdrawn since, the dish is `refer` until it is checked again.
        """
        return _rows([*self._stopped(), *self._not_read()], self._stays)

    def found(self) -> list[ExceptionRow]:
        """Return what the standing runs have found, and nothing of what they have not read; the same order."""
        return _rows(self._stopped(), self._stays)

    def lifted(self) -> list[ExceptionRow]:
        """Return where an allowance makes an outcome milder, whatever is left of it; the same order.

        Where nothing else is found the row stands at `none found` and is no exception.
        """
        milder = self._meetings.made_milder(self._asked.outcome, self._asked.rule)
        return _rows((each for each in milder if not self._is_withdrawn(each)), self._stays)

    def _stopped(self) -> Iterator[Met]:
        return self._meetings.stopped(self._asked.outcome, self._asked.rule)

    def _not_read(self) -> Iterator[Met]:
        if self._asked.rule or self._asked.outcome not in (None, Outcome.REFER):
            return
        yield from self._meetings.unjudged()
        if self._withdrawn:
            for met in self._meetings.made_milder(Outcome.NONE_FOUND, ""):
                if self._is_withdrawn(met):
                    yield not_read(met.served, met.restriction)
        dishes, read = self._meetings.served, self._meetings.reads
        for each, restriction in unread_restrictions(dishes, read, self._stays, timezone.now()):
            if self._asked.substance in ("", restriction.substance):
                yield not_read(each, restriction)

    @cached_property
    def _withdrawn(self) -> set[tuple[int, int]]:
        return set(withdrawn_since(self._meetings.served, self._meetings.reads, timezone.now()))

    def _is_withdrawn(self, met: Met) -> bool:
        return (met.served.serving.pk, met.restriction.pk) in self._withdrawn


def find_exceptions(user: User | None, asked: ExceptionFilter) -> list[ExceptionRow]:
    """Return the exceptions that fit the filter and that the user may see, see `Look`."""
    return Look(user, asked).exceptions()


def find_lifted(user: User | None, asked: ExceptionFilter) -> list[ExceptionRow]:
    """Return where an allowance makes an outcome milder, see `Look`."""
    return Look(user, asked).lifted()


def found_exceptions(asked: ExceptionFilter) -> list[ExceptionRow]:
    """Return what the standing runs have found, see `Look`."""
    return Look(None, asked).found()


def _served(rooms: QuerySet[Classroom] | None, asked: ExceptionFilter) -> list[Served]:
    rows = Serving.objects.planned().between(asked.first, asked.last)
    if rooms is not None:
        # A teacher's site counts too: which of its classrooms they see is decided with the enrolments.
        rows = rows.filter(site__in=rooms.values("site"))
    if asked.site:
        rows = rows.filter(site=asked.site)
    if asked.classroom:
        rows = rows.filter(site=asked.classroom.site_id)
    if asked.serving:
        rows = rows.filter(pk=asked.serving.pk)
    return served(rows)


def _enrolments(rooms: QuerySet[Classroom] | None, asked: ExceptionFilter) -> QuerySet[Enrolment]:
    """The enrolments of whom somebody asks about and may see."""
    rows: QuerySet[Enrolment] = Enrolment.objects.during(asked.first, asked.last)
    if rooms is not None:
        rows = rows.filter(classroom__in=rooms)
    if asked.site:
        rows = rows.filter(classroom__site=asked.site)
    if asked.classroom:
        rows = rows.filter(classroom=asked.classroom)
    if asked.child:
        rows = rows.filter(child=asked.child)
    return rows


def _rows(met: Iterable[Met], stays: Stays) -> list[ExceptionRow]:
    """Return what was met, once for each class in which the child is on the day; sorted."""
    rows = (
        ExceptionRow(
            each.served.serving,
            stay.classroom,
            each.restriction.child,
            each.restriction,
            each.outcome,
            each.why,
            each.served.run,
        )
        for each in met
        for stay in on_the_day(stays, each.restriction.child_id, each.served.serving)
    )
    return sorted(rows, key=_order)


def _order(row: ExceptionRow) -> tuple[date, str, int, str, str, str, int, int]:
    serving = row.serving
    return (
        serving.date,
        serving.site.name,
        MEAL_ORDER[serving.meal],
        serving.recipe.name,
        row.classroom.name,
        str(row.child),
        row.child.pk,
        row.restriction.pk,
    )
