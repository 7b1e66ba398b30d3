"""The exceptions of one day as a page reads them: of a whole site, and of one class."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from compliance.benchmarks.problem import Disagreement
from compliance.benchmarks.stopwatch import Stopwatch
from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
from compliance.models import Run
from menus.models import Serving
from roster.models import User


def read_days(run: Run, reader: User, watch: Stopwatch) -> int:
    """Return how many exceptions the pages of the run's days show; each is timed as `page day` and as `page class`.

    Every reason of every row is asked for, as a page asks. Days without a serving are left out: their pages are empty.
    Raises Disagreement when the page of a class does not show what the site's shows of it.
    """
    days = [run.first_day + timedelta(days=n) for n in range((run.last_day - run.first_day).days + 1)]
    served = set(Serving.objects.planned().filter(site=run.site, date__in=days).values_list("date", flat=True))
    room = run.site.classrooms.earliest("pk")
    count = 0
    for day in sorted(served):
        with watch.time("page day"):
            rows = _shown(reader, ExceptionFilter(day, day, site=run.site))
        with watch.time("page class"):
            in_class = _shown(reader, ExceptionFilter(day, day, site=run.site, classroom=room))
        if len(in_class) != sum(row.classroom == room for row in rows):
            raise Disagreement(f"On {day} the page of {room} at {run.site} does not show what the site's page does.")
        count += len(rows)
    return count


def _shown(reader: User, asked: ExceptionFilter) -> Sequence[ExceptionRow]:
    rows = find_exceptions(reader, asked)
    for row in rows:
        assert row.reasons
    return rows
