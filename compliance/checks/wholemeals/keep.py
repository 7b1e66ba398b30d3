"""Work a week's meals out and keep what they came to, with what was read, so that it says when facts have changed."""

from __future__ import annotations

from datetime import date, timedelta
from time import perf_counter

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from compliance.checks.pageread import read_of_meals
from compliance.checks.wholemeals.gather import gather
from compliance.checks.wholemeals.task import asked_of
from compliance.checks.wholemeals.told import told
from compliance.models import MealPlan
from menus.models import Site
from menus.planning.meals.byhand import by_hand
from menus.planning.meals.search import choose
from roster.models import User, Verb
from roster.record.write import record

WEEK = timedelta(days=6)


@transaction.atomic
def work_out(*, site: Site, monday: date, user: User) -> MealPlan:
    """Work out the week of the site that begins on that Monday, keep it, and return it. No menu is changed.

    The search takes at most WHOLE_MEALS_SECONDS. The caller has made sure that the user may do so at the site.
    """
    now = timezone.now()
    read = read_of_meals(site, monday, monday + WEEK)  # before the rest is read
    week = gather(site, monday, now)
    asked = asked_of(week)
    begun = perf_counter()
    found = choose(asked.task, settings.WHOLE_MEALS_SECONDS)
    plan = MealPlan.objects.create(
        site=site,
        monday=monday,
        made_by=user,
        recorded_at=now,
        read=read,
        seconds=round(perf_counter() - begun, 3),
        result=told(week, asked, found, by_hand(asked.task)),
    )
    record(Verb.CHECKED, plan, site=site, by=user.pk, monday=monday.isoformat(), tally=list(found.tally))
    return plan


def newest(site: Site, monday: date) -> MealPlan | None:
    """Return what was last worked out for that week of the site, or None. One query."""
    return MealPlan.objects.filter(site=site, monday=monday).order_by("-recorded_at", "-pk").first()
