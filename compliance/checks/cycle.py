"""The cycle menu checked: how many children at which outcome for each dish."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from compliance.checks.coverage import nearest_day
from compliance.checks.exceptions import ExceptionFilter, Look, find_exceptions, find_lifted
from compliance.checks.facts import Facts
from compliance.checks.served import checked_servings
from compliance.models import Run
from compliance.rules.values import Outcome
from menus.models import Serving, Site
from roster.models import User


@dataclass
class Cell:
    """One serving, with the children it concerns by outcome; `checked` is False until a run has read it."""

    serving: Serving
    checked: bool
    withhold: set[int] = field(default_factory=set)
    refer: set[int] = field(default_factory=set)


@dataclass(frozen=True, slots=True)
class Grid:
    """The servings of a site between two days, and the newest run that they were checked by."""

    cells: list[Cell]
    run: Run | None


def cycle_grid(user: User | None, site: Site, first: date, last: date) -> Grid:
    """Return every planned serving with its counts of children. A child counts once a dish, at its gravest outcome."""
    servings = (
        Serving.objects.planned().filter(site=site).between(first, last).select_related("recipe").order_by("date", "pk")
    )
    checked = checked_servings(site, first, last)
    cells = {serving.pk: Cell(serving, serving.pk in checked) for serving in servings}
    for row in find_exceptions(user, ExceptionFilter(first, last, site=site)):
        cell = cells[row.serving.pk]
        (cell.withhold if row.outcome is Outcome.WITHHOLD else cell.refer).add(row.child.pk)
    for cell in cells.values():
        cell.refer -= cell.withhold
    return Grid(list(cells.values()), Run.objects.covering(nearest_day(site, first, last)).newest_for(site))


def look_at_serving(user: User | None, serving: Serving) -> Look:
    """Return what the user sees of the exceptions of one serving."""
    return Look(user, ExceptionFilter(serving.date, serving.date, site=serving.site, serving=serving))


def lifted_at_meal(facts: Facts, day: date, meal: str) -> list[tuple[str, int]]:
    """Return the dishes of a meal, wherever they are eaten, for which allowances count, each with how many children."""
    children: dict[str, set[int]] = {}
    for site in {each.site for each in [*facts.servings, *facts.others] if (each.date, each.meal) == (day, meal)}:
        for row in find_lifted(None, ExceptionFilter(day, day, site=site)):
            if row.serving.meal == meal:
                children.setdefault(row.dish, set()).add(row.child.pk)
    return [(dish, len(found)) for dish, found in sorted(children.items())]
