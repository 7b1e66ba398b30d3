"""What a site has planned between two days: servings, and beyond the reach of checks what its cycles call for."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from compliance.checks.schedule import last_looked_at
from menus.models import Recipe, Serving, Site, SitePattern
from menus.models.cycle import MEAL_ORDER
from menus.services.servings import called_for


def reach_of_checks(site: Site, at: datetime) -> date:
    """Return the last day that the site's checks look at."""
    return last_looked_at(at.astimezone(site.zone).date())


def planned(site: Site, first: date, last: date, at: datetime, meal: str = "") -> list[Serving]:
    """Return the dishes by day and meal; of one meal alone where one is named.

    A dish that a cycle calls for on a day which no check reaches yet has no row: it is not stored, and its id counts
    below nothing.
    """
    rows = Serving.objects.planned().filter(site=site).between(first, last).select_related("recipe", "in_place_of")
    standing = list(rows)
    servings = [*standing, *_called(site, standing, max(first, reach_of_checks(site, at) + timedelta(days=1)), last)]
    wanted = [each for each in servings if meal in ("", each.meal)]
    return sorted(wanted, key=lambda each: (each.date, MEAL_ORDER[each.meal], each.pk < 0, abs(each.pk)))


def _called(site: Site, standing: list[Serving], first: date, last: date) -> Iterator[Serving]:
    if first > last:
        return
    there = {(each.date, each.meal, recipe) for each in standing for recipe in each.stands_for}
    missing = [(place, called) for place, called in called_for([site], first, last) if place[1:] not in there]
    recipes = Recipe.objects.in_bulk({recipe for (_, _, _, recipe), _ in missing})
    for number, ((_, day, meal, recipe), called) in enumerate(missing, start=1):
        yield Serving(
            pk=-number, site=site, date=day, meal=meal, recipe=recipes[recipe], cycle=called.cycle, choice=called.choice
        )


class Patterns:
    """The patterns that a site follows, each asked for once."""

    def __init__(self, site: Site) -> None:
        self._site = site
        self._found: dict[tuple[str, date], SitePattern | None] = {}

    def on(self, meal: str, day: date) -> SitePattern | None:
        """Return the one that holds for the meal on that day."""
        if (meal, day) not in self._found:
            self._found[meal, day] = SitePattern.objects.holding(self._site, meal, day)
        return self._found[meal, day]
