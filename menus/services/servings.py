"""Bring the servings of coming days into step with the cycle menus."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from django.db import transaction
from django.utils import timezone

from menus.models import CycleMenu, Serving, Site
from menus.signals import rows_written

Place = tuple[date, str, int]  # date, meal, recipe id


@transaction.atomic
def plan_servings(*, site: Site, first: date, last: date) -> int:
    """Add the servings that the site's cycle menus call for between two days, and withdraw those they no longer do.

    Servings entered by hand stay. Doing it twice changes nothing. Returns how many servings were added or withdrawn.
    """
    Site.objects.select_for_update().get(pk=site.pk)  # one planner at a time
    new, gone = _changes(site, first, last)
    Serving.objects.filter(pk__in=gone).update(withdrawn_at=timezone.now())
    made = Serving.objects.bulk_create(new)
    if made or gone:
        rows_written.send(sender=Serving, site=site, made=[each.pk for each in made], withdrawn=gone)
    return len(new) + len(gone)


def out_of_step(site: Site, first: date, last: date) -> bool:
    """Tell whether planning those days would add or withdraw a serving. Three queries."""
    return any(_changes(site, first, last))


def _changes(site: Site, first: date, last: date) -> tuple[list[Serving], list[int]]:
    """Return the servings to add, and the ids of those to withdraw."""
    wanted = dict(called_for(site, first, last))
    standing: set[Place] = set()
    gone: list[int] = []
    for serving in Serving.objects.planned().filter(site=site).between(first, last):
        place = (serving.date, serving.meal, serving.recipe_id)
        standing.add(place)
        if serving.cycle_id is not None and place not in wanted:
            gone.append(serving.pk)
    new = [
        Serving(site=site, date=day, meal=meal, recipe_id=recipe, cycle=cycle)
        for (day, meal, recipe), cycle in wanted.items()
        if (day, meal, recipe) not in standing
    ]
    return new, gone


def called_for(site: Site, first: date, last: date) -> Iterator[tuple[Place, CycleMenu]]:
    """Yield what the site's cycle menus call for between two days, both included. Two queries."""
    for cycle in CycleMenu.objects.filter(site=site).prefetch_related("entries"):
        entries = list(cycle.entries.all())
        for day in _days(first, last):
            week = cycle.week_on(day)
            for entry in entries:
                if entry.week == week and entry.weekday == day.weekday():
                    yield (day, entry.meal, entry.recipe_id), cycle


def _days(first: date, last: date) -> Iterator[date]:
    return (first + timedelta(days=n) for n in range((last - first).days + 1))
