"""The restrictions that the runs of some servings read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from django.db.models import QuerySet

from compliance.checks.served import Served
from compliance.models import RestrictionTypeRow, RunRestriction


@dataclass(slots=True)
class Reads:
    """Restrictions by the run under which they are stored, and their types by id."""

    by_run: dict[int, list[RunRestriction]] = field(default_factory=dict)
    types: dict[int, RestrictionTypeRow] = field(default_factory=dict)

    def of(self, served: Served) -> list[RunRestriction]:
        """Return those that bear on the day of the serving."""
        day = served.serving.date
        return [read for read in self.by_run.get(served.run.reads_of, []) if read.first_day <= day <= read.last_day]


def reads(served: Iterable[Served], wanted: QuerySet[RunRestriction], first: date, last: date) -> Reads:
    """Return those among `wanted` that the runs of these servings read for some day between the two. One query."""
    runs = {each.run.reads_of for each in served}
    result = Reads()
    if not runs:
        return result
    there = wanted.filter(run__in=runs, first_day__lte=last, last_day__gte=first)
    for read in there.select_related("restriction__child", "type"):
        result.by_run.setdefault(read.run_id, []).append(read)
        result.types.setdefault(read.type_id, read.type)
    return result
