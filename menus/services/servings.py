"""Bring the servings of coming days into step with the cycle menus and the calendar."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

from django.db import transaction
from django.utils import timezone

from menus.models import CycleEntry, CycleMenu, Serving, Site
from menus.services.closed import closed_by_site, closed_weeks, days_between, is_served
from menus.signals import rows_written

Place = tuple[int, date, str, int]  # site id, date, meal, recipe id


@dataclass(frozen=True, slots=True)
class Called:
    """What a cycle says of a dish that it calls for."""

    cycle: CycleMenu
    choice: str


def plan_servings(*, site: Site, first: date, last: date) -> int:
    """Do for one site what `plan_all` does for many."""
    return plan_all(sites=[site], first=first, last=last)


@transaction.atomic
def plan_all(*, sites: Iterable[Site], first: date, last: date) -> int:
    """Add the servings that the sites' cycle menus call for between two days, and withdraw those they no longer do.

    Servings entered by hand stay. A dish that was exchanged for another stands for as long as the cycle calls for what
    stood there first. Doing it twice changes nothing. Returns how many servings were added, withdrawn or marked anew.
    Four queries where nothing changes, whatever the number of sites.
    """
    # One planner of a site at a time; in one order, so that two wait for each other and never in a ring. `no_key`: who
    # enters an action that names the site does not wait, for the end of the record is theirs by then and ours to come.
    held = list(Site.objects.select_for_update(no_key=True).filter(pk__in=[site.pk for site in sites]).order_by("pk"))
    changes = _changes(held, first, last)
    for site in held:
        if not (change := changes.get(site.pk)):
            continue
        Serving.objects.filter(pk__in=change.gone).update(withdrawn_at=timezone.now())
        Serving.objects.bulk_update(change.marked, ["choice"])
        made = Serving.objects.bulk_create(change.new)
        rows_written.send(
            sender=Serving,
            site=site,
            made=[each.pk for each in made],
            withdrawn=change.gone,
            marked={each.pk: each.choice for each in change.marked},
        )
    return sum(change.size for change in changes.values())


def out_of_step(sites: Iterable[Site], first: date, last: date) -> set[int]:
    """Return the ids of the sites of which planning those days would add or withdraw a serving. Three queries."""
    return set(_changes(list(sites), first, last))


@dataclass(slots=True)
class _Change:
    """What planning does at one site."""

    new: list[Serving] = field(default_factory=list)
    gone: list[int] = field(default_factory=list)
    # Another mark of choice makes no other dish: what the kitchen recorded of it, and its check, go on.
    marked: list[Serving] = field(default_factory=list)

    @property
    def size(self) -> int:
        """How many servings it adds, withdraws or marks anew."""
        return len(self.new) + len(self.gone) + len(self.marked)


def _changes(sites: Sequence[Site], first: date, last: date) -> dict[int, _Change]:
    """Return what is to be added and withdrawn, by site; of a site that is in step, nothing."""
    wanted = dict(called_for(sites, first, last))
    standing: set[Place] = set()
    changes: dict[int, _Change] = {}
    planned = Serving.objects.planned().filter(site__in=sites).between(first, last)
    columns = ("pk", "cycle", "site", "date", "meal", "recipe", "choice", "in_place_of__recipe")
    for pk, cycle, site, day, meal, recipe, choice, first_there in planned.values_list(*columns):
        place: Place = (site, day, meal, first_there or recipe)
        called = wanted.get(place)
        if cycle is not None and called is None:
            changes.setdefault(site, _Change()).gone.append(pk)
            continue
        standing |= {place, (site, day, meal, recipe)}
        if cycle is not None and called and called.choice != choice:
            changes.setdefault(site, _Change()).marked.append(Serving(pk=pk, choice=called.choice))
    for (site, day, meal, recipe), called in wanted.items():
        if (site, day, meal, recipe) not in standing:
            serving = Serving(
                site_id=site, date=day, meal=meal, recipe_id=recipe, cycle=called.cycle, choice=called.choice
            )
            changes.setdefault(site, _Change()).new.append(serving)
    return changes


def called_for(sites: Sequence[Site], first: date, last: date) -> Iterator[tuple[Place, Called]]:
    """Yield what the sites' cycle menus call for between two days, both included, and no calendar leaves out.

    Three queries, whatever the number of sites.
    """
    menus = {menu.pk: menu for menu in CycleMenu.objects.filter(site__in=sites).order_by("pk")}
    planned: dict[int, dict[tuple[int, int], list[tuple[str, int, str]]]] = {pk: {} for pk in menus}
    rows = CycleEntry.objects.filter(cycle__in=menus).order_by("cycle", "pk")
    columns = ("cycle", "week", "weekday", "meal", "recipe", "choice")
    for pk, week, weekday, meal, recipe, choice in rows.values_list(*columns):
        planned[pk].setdefault((week, weekday), []).append((meal, recipe, choice))
    if not menus:
        return
    since = min([first, *(menu.starts_on for menu in menus.values() if menu.pauses)])
    closed = closed_by_site([site.pk for site in sites], since, last)
    for pk, menu in menus.items():
        days, entries = closed[menu.site_id], planned[pk]
        sittings = {(weekday, meal) for (_, weekday), dishes in entries.items() for meal, *_ in dishes}
        waits_for = closed_weeks(days, sittings) if menu.pauses else ()
        for day in days_between(first, last):
            for meal, recipe, choice in entries.get((menu.week_on(day, waits_for) or 0, day.weekday()), ()):
                if is_served(days, day, meal):
                    yield (menu.site_id, day, meal, recipe), Called(menu, choice)
