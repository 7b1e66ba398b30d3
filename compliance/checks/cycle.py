"""The cycle menu checked: how many children at which outcome for each dish."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from compliance.checks.coverage import nearest_day
from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
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
    checked = set(
        Serving.objects.filter(site=site, served__standing=True).between(first, last).values_list("pk", flat=True)
    )
    cells = {serving.pk: Cell(serving, serving.pk in checked) for serving in servings}
    for row in find_exceptions(user, ExceptionFilter(first, last, site=site)):
        cell = cells[row.serving.pk]
        (cell.withhold if row.outcome is Outcome.WITHHOLD else cell.refer).add(row.child.pk)
    for cell in cells.values():
        cell.refer -= cell.withhold
    return Grid(list(cells.values()), Run.objects.covering(nearest_day(site, first, last)).newest_for(site))


def serving_exceptions(user: User | None, serving: Serving) -> list[ExceptionRow]:
    """Return the exceptions of one serving."""
    asked = ExceptionFilter(serving.date, serving.date, site=serving.site)
    return [row for row in find_exceptions(user, asked) if row.serving.pk == serving.pk]
