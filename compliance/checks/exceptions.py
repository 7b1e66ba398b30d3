"""Exceptions: verdicts met by a real child at a real serving. Joined when somebody looks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet
from django.utils import timezone

from compliance.checks.questions import is_open, subject_of
from compliance.checks.reasons import Reason, reasons
from compliance.checks.unread import NOT_READ, unread_restrictions
from compliance.models import Run, RunRestriction, ServedDish, Verdict
from compliance.rules.values import Outcome
from menus.models import Serving, Site
from menus.models.cycle import MEAL_ORDER
from menus.substances.catalogue import Catalogue
from roster.access import visible_classrooms, visible_sites
from roster.models import Child, Classroom, Enrolment, Restriction, User

Verdicts = dict[int, list[tuple[Verdict, tuple[Reason, ...]]]]
"""Verdicts with their reasons, by the id of the dish as prepared."""


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


@dataclass(frozen=True, slots=True)
class ExceptionRow:
    """One child, one serving, one restriction, and why they do not go together."""

    serving: Serving
    classroom: Classroom
    child: Child
    restriction: Restriction
    outcome: Outcome
    reasons: tuple[Reason, ...]
    run: Run
    seen_to: tuple[str, ...] = ()  # what no check looks for, where somebody asks for it too (`with_seen_to`)

    @property
    def date(self) -> date:
        return self.serving.date

    @property
    def meal(self) -> str:
        return self.serving.get_meal_display()

    @property
    def site(self) -> Site:
        return self.serving.site

    @property
    def dish(self) -> str:
        return self.serving.recipe.name

    @property
    def substance_name(self) -> str:
        return Catalogue.load().get(self.restriction.substance).name

    @property
    def main_reason(self) -> Reason:
        return self.reasons[0]

    @property
    def open_reasons(self) -> tuple[Reason, ...]:
        """Where it is `refer`: what licensed staff are asked about. Nothing, where only the next check is wanting."""
        if self.outcome is not Outcome.REFER or self.main_reason is NOT_READ:
            return ()
        return tuple(filter(is_open, self.reasons))

    @property
    def lifted(self) -> tuple[Reason, ...]:
        """What an allowance covers and what would else have been graver: where it shows, it shows as applied."""
        return tuple(reason for reason in self.reasons if reason.allowed and reason.outcome > self.outcome)

    @property
    def waits_for(self) -> tuple[str, ...]:
        """The subjects to be settled first. Rows of one restriction with the same wait for the same answers."""
        avoided = self.restriction.substance
        subjects = {subject_of(reason, avoided, self.food(reason)) for reason in self.open_reasons}
        return tuple(sorted(subjects))

    def food(self, reason: Reason) -> str:
        """Return the name of what the reason speaks of: the product, or else the dish."""
        return reason.name_of("product") or self.dish


def find_exceptions(user: User | None, asked: ExceptionFilter) -> list[ExceptionRow]:
    """Return the exceptions that fit the filter and that the user may see (None: the service itself).

    Where a child's restriction is newer than the check of a dish to come, or the child is, the dish is `refer` until it
    is checked again. Sorted by day, site, meal, dish, classroom and child. Eight queries, whatever the size; a user
    costs their posts.
    """
    served = _served(user, asked)
    found = _found(user, asked, served, _verdicts(served, asked))
    return sorted([*found, *_not_read(user, asked, served)], key=_order)


def find_lifted(user: User | None, asked: ExceptionFilter) -> list[ExceptionRow]:
    """Return where an allowance makes an outcome milder, whatever is left of it; the same filter and order.

    Where nothing else is found the row stands at `none found` and is no exception. Five queries, when some allowance
    counts.
    """
    served = _served(user, asked)
    return sorted(_found(user, asked, served, _allowed(served, asked)), key=_order)


def found_exceptions(asked: ExceptionFilter) -> list[ExceptionRow]:
    """Return what the standing runs have found, and nothing of what they have not read. Sorted; five queries."""
    served = _served(None, asked)
    return sorted(_found(None, asked, served, _verdicts(served, asked)), key=_order)


def _found(
    user: User | None, asked: ExceptionFilter, served: list[ServedDish], verdicts: Verdicts
) -> list[ExceptionRow]:
    if not verdicts:
        return []
    restrictions = _restrictions(served, verdicts)
    enrolments = _enrolments(user, asked, {read.child_id for found in restrictions.values() for read in found})
    return [
        ExceptionRow(
            each.serving, enrolment.classroom, read.child, read.restriction, Outcome(verdict.outcome), why, run
        )
        for each in served
        for run in (each.dish.run,)
        for verdict, why in verdicts.get(each.dish_id, [])
        for read in restrictions.get((run.pk, verdict.type_id), [])
        if read.first_day <= each.serving.date <= read.last_day
        for enrolment in _enrolled(enrolments.get(read.child_id, []), each.serving)
    ]


def _not_read(user: User | None, asked: ExceptionFilter, served: list[ServedDish]) -> list[ExceptionRow]:
    if asked.rule or asked.outcome not in (None, Outcome.REFER):
        return []
    unread = [
        (each, restriction)
        for each, restriction in unread_restrictions(served, timezone.now())
        if asked.substance in ("", restriction.substance)
    ]
    if not unread:
        return []
    enrolments = _enrolments(user, asked, {restriction.child_id for _, restriction in unread})
    return [
        ExceptionRow(
            each.serving,
            enrolment.classroom,
            restriction.child,
            restriction,
            Outcome.REFER,
            (NOT_READ,),
            each.dish.run,
        )
        for each, restriction in unread
        for enrolment in _enrolled(enrolments.get(restriction.child_id, []), each.serving)
    ]


def _served(user: User | None, asked: ExceptionFilter) -> list[ServedDish]:
    served = ServedDish.objects.standing().filter(
        serving__date__range=(asked.first, asked.last), serving__withdrawn_at=None
    )
    if user is not None:
        # A teacher's site counts too: which of its classrooms they see is decided with the enrolments.
        served = served.filter(serving__site__in=visible_sites(user))
    if asked.site:
        served = served.filter(serving__site=asked.site)
    if asked.classroom:
        served = served.filter(serving__site=asked.classroom.site_id)
    return list(served.select_related("serving__site", "serving__recipe", "dish__run"))


def _verdicts(served: list[ServedDish], asked: ExceptionFilter) -> Verdicts:
    return {
        dish: told
        for dish, found in _judged(served, asked, Q(outcome__gte=Outcome.REFER)).items()
        if (told := [each for each in found if not asked.rule or asked.rule in each[0].rules.split(",")])
    }


def _allowed(served: list[ServedDish], asked: ExceptionFilter) -> Verdicts:
    """The verdicts that an allowance made milder; by rule, those whose finding of that rule it covers."""
    return {
        dish: told
        for dish, found in _judged(served, asked, ~Q(type__allowed=[])).items()
        if (told := [each for each in found if _made_milder(*each, asked.rule)])
    }


def _made_milder(verdict: Verdict, why: tuple[Reason, ...], rule: str) -> bool:
    covered = (each for each in why if each.allowed and each.outcome > verdict.outcome)
    return any(rule in ("", each.rule) for each in covered)


def _judged(served: list[ServedDish], asked: ExceptionFilter, wanted: Q) -> Verdicts:
    rows = Verdict.objects.filter(wanted, dish__in={each.dish_id for each in served})
    if asked.outcome is not None:
        rows = rows.filter(outcome=asked.outcome)
    if asked.substance:
        rows = rows.filter(type__substance=asked.substance)
    if asked.child:
        rows = rows.filter(type__in=RunRestriction.objects.filter(child=asked.child).values("type"))
    result: Verdicts = {}
    for verdict in rows:
        result.setdefault(verdict.dish_id, []).append((verdict, tuple(reasons(verdict.findings))))
    return result


def _restrictions(served: list[ServedDish], verdicts: Verdicts) -> dict[tuple[int, int], list[RunRestriction]]:
    types = {verdict.type_id for found in verdicts.values() for verdict, _ in found}
    rows = RunRestriction.objects.filter(run__in={each.dish.run_id for each in served}, type__in=types)
    result: dict[tuple[int, int], list[RunRestriction]] = {}
    for read in rows.select_related("child", "restriction"):
        result.setdefault((read.run_id, read.type_id), []).append(read)
    return result


def _enrolments(user: User | None, asked: ExceptionFilter, children: set[int]) -> dict[int, list[Enrolment]]:
    rows: QuerySet[Enrolment] = Enrolment.objects.during(asked.first, asked.last).filter(child__in=children)
    if user is not None:
        rows = rows.filter(classroom__in=visible_classrooms(user))
    if asked.classroom:
        rows = rows.filter(classroom=asked.classroom)
    if asked.child:
        rows = rows.filter(child=asked.child)
    result: dict[int, list[Enrolment]] = {}
    for enrolment in rows.select_related("classroom__site"):
        result.setdefault(enrolment.child_id, []).append(enrolment)
    return result


def _enrolled(enrolments: list[Enrolment], serving: Serving) -> Iterator[Enrolment]:
    return (
        each
        for each in enrolments
        if each.classroom.site_id == serving.site_id
        and each.starts_on <= serving.date
        and (each.ends_on is None or serving.date <= each.ends_on)
    )


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
