"""Work meals out and keep what they came to, with what was read, so that a plan says when facts have changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from time import perf_counter
from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from compliance.checks.pageread import read_of_meals
from compliance.checks.wholemeals.facts import SpanFacts
from compliance.checks.wholemeals.gather import gather
from compliance.checks.wholemeals.task import task_of
from compliance.checks.wholemeals.told import told
from compliance.models import MealPlan
from menus.models import Site
from menus.models.cycle import SIX_DAYS, monday_of
from menus.planning.meals.byhand import by_hand
from menus.planning.meals.plan import Meals
from menus.planning.meals.search import choose
from roster.models import User, Verb
from roster.record.write import record


class Worked:
    """Some days worked out together, before anything of it is kept."""

    def __init__(
        self, site: Site, first: date, last: date, meal: str = "", choosing: Callable[[], object] = lambda: None
    ) -> None:
        """Read and choose. `choosing` is called when all is read and the choice begins."""
        self.site, self.first, self.last = site, first, last
        self.at: datetime = timezone.now()
        self.read = {monday: _read(site, monday, first, last) for monday in _mondays(first, last)}  # before the rest
        self.span = gather(site, first, last, self.at, meal)
        task = task_of(self.span)
        choosing()
        begun = perf_counter()
        most = settings.CELERY_TASK_TIME_LIMIT / 2  # a task that takes longer than its limit is ended
        self.found = choose(task, min(settings.WHOLE_MEALS_SECONDS * len(self.read), most))
        self.seconds = round(perf_counter() - begun, 3)
        self.by_hand = by_hand(task)

    def plan(self, monday: date, user: User | None, *, day: date | None = None, meal: str = "") -> MealPlan:
        """Return the plan of one of the weeks, not stored yet. It says of what days together it was worked out."""
        span = _of_week(self.span, monday)
        result = told(span, _trays_of(self.found, monday), _trays_of(self.by_hand, monday))
        return MealPlan(
            site=self.site,
            monday=monday,
            day=day,
            meal=meal,
            made_by=user,
            recorded_at=self.at,
            read=self.read[monday],
            seconds=self.seconds,
            result={"first": self.first.isoformat(), "last": self.last.isoformat(), **result},
        )


def work_out(*, site: Site, monday: date, user: User) -> MealPlan:
    """Work out the week of the site that begins on that Monday, keep it, and return it. No menu is changed.

    The search takes at most WHOLE_MEALS_SECONDS. The caller has made sure that the user may do so at the site.
    """
    return keep(Worked(site, monday, monday + SIX_DAYS), user)[0]


def work_out_meal(*, site: Site, day: date, meal: str, user: User) -> MealPlan:
    """Work out one meal alone, keep it, and return it: it goes before what the plan of its week says of that meal."""
    worked = Worked(site, day, day, meal)
    return _kept([worked.plan(monday_of(day), user, day=day, meal=meal)], user)[0]


def keep(worked: Worked, user: User | None) -> list[MealPlan]:
    """Keep a plan for each of the weeks that were worked out together."""
    return _kept([worked.plan(monday, user) for monday in worked.read], user)


@transaction.atomic
def _kept(plans: list[MealPlan], user: User | None) -> list[MealPlan]:
    for plan in plans:
        plan.save()
        _record(plan, user)
    return plans


def _record(plan: MealPlan, user: User | None) -> None:
    said: dict[str, Any] = {"day": plan.day.isoformat(), "meal": plan.meal} if plan.day else {}
    record(
        Verb.CHECKED,
        plan,
        site=plan.site,
        by=user.pk if user else None,
        monday=plan.monday.isoformat(),
        tally=plan.result["tally"],
        **said,
    )


def _read(site: Site, monday: date, first: date, last: date) -> str:
    return read_of_meals(site, max(monday, first), min(monday + SIX_DAYS, last))


def _mondays(first: date, last: date) -> list[date]:
    begin = monday_of(first)
    return [begin + timedelta(weeks=number) for number in range((last - begin).days // 7 + 1)]


def _of_week(span: SpanFacts, monday: date) -> SpanFacts:
    return replace(
        span,
        meals=tuple(meal for meal in span.meals if monday_of(meal.day) == monday),
        weeks=tuple(week for week in span.weeks if week.monday == monday),
    )


def _trays_of(found: Meals, monday: date) -> Meals:
    """The trays of one week; what was proven holds for all the days together."""
    return replace(
        found,
        given=tuple(given for given in found.given if monday_of(given.meal.day) == monday),
        weeks=tuple(week for week in found.weeks if monday_of(week.days[0]) == monday),
    )
