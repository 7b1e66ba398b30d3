"""What stands above an export of exceptions: what it holds, from which runs, when, by whom, and with what caution."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from django.utils import timezone

from compliance.checks.coverage import coverage
from compliance.checks.exceptions import ExceptionFilter, ExceptionRow
from compliance.models import CheckedDay, Run
from compliance.rules.register import RULES
from compliance.web.cautions import CAUTIONS
from menus.models import Site
from menus.substances.catalogue import Catalogue
from roster.models import User

CAUTION = f"{CAUTIONS['decides']} {CAUTIONS['night']} {CAUTIONS['package']}"
NEUTRALISED = "In the CSV file an apostrophe stands before text that a spreadsheet would else take for a formula."

ALLOWANCES = (
    "Where a signed allowance makes an outcome milder, the column “Allowance applied” says what it covers. Where "
    "nothing else is found, the row stands at the end with “none found” and is not counted."
)
NOT_LOOKED_FOR = (
    "No check looks for textures, counted portions, fasts and the like: people see to them. The column “People see to” "
    "tells them of the children in this file; for all others look at the list of the class."
)


@dataclass(frozen=True, slots=True)
class Head:
    """The lines above the table, each with its name."""

    asked: ExceptionFilter
    made_at: datetime  # in the time zone of the report
    made_by: str
    filter: str
    runs: tuple[str, ...]
    unchecked: tuple[str, ...]
    count: int

    @property
    def lines(self) -> list[tuple[str, str]]:
        """Name and text of each line."""
        return [
            ("Report", "Exceptions: food to be withheld from a child, or referred to licensed staff"),
            ("Days", f"{self.asked.first.isoformat()} to {self.asked.last.isoformat()}"),
            ("Filter", self.filter),
            ("Exceptions", str(self.count)),
            ("Allowances", ALLOWANCES),
            ("Not looked for", NOT_LOOKED_FOR),
            ("Exported", f"{self.made_at.isoformat(timespec='seconds')} by {self.made_by}"),
            ("Time zone", str(self.made_at.tzinfo)),
            ("Read from", "; ".join(self.runs) or "no run: nothing has been checked yet"),
            ("Not checked", "; ".join(self.unchecked) or "no serving of these days"),
            ("Caution", CAUTION),
            ("Note", NEUTRALISED),
        ]

    def file_name(self, suffix: str) -> str:
        """Return a name for the file that tells the days and nothing of any child."""
        return f"exceptions-{self.asked.first.isoformat()}-to-{self.asked.last.isoformat()}.{suffix}"


def exceptions_head(
    asked: ExceptionFilter, rows: Sequence[ExceptionRow], *, sites: Iterable[Site], user: User | None, at: datetime
) -> Head:
    """Return the head of an export of these rows. `sites` are those the user may see. Three queries.

    Times are told by the clock of the site when all sites share one, otherwise by the service's own.
    """
    reported = [site for site in sites if asked.site in (None, site)]
    covered = coverage(reported, asked.first, asked.last)
    zone = _zone(reported)
    return Head(
        asked=asked,
        made_at=at.astimezone(zone),
        made_by=str(user) if user else "the service itself",
        filter=_filter(asked),
        runs=tuple(_told(run, reported, zone) for run in _runs(asked, reported)),
        unchecked=tuple(f"{each.site}: {each.unchecked} servings" for each in covered if each.unchecked),
        count=len(rows),
    )


def _zone(sites: Sequence[Site]) -> tzinfo:
    zones = {site.time_zone: site.zone for site in sites}
    return next(iter(zones.values())) if len(zones) == 1 else timezone.get_default_timezone()


def _runs(asked: ExceptionFilter, sites: Sequence[Site]) -> list[Run]:
    """The runs that speak for these days."""
    days = CheckedDay.objects.filter(site__in=sites, day__range=(asked.first, asked.last))
    return list(Run.objects.filter(pk__in=days.values("run")).defer("inputs").order_by("pk"))


def _told(run: Run, sites: Sequence[Site], zone: tzinfo) -> str:
    site = next(site for site in sites if site.pk == run.site_id)
    again = f", found the same as run {run.same_as_id}" if run.same_as_id else ""
    return f"run {run.pk} of {site}, as of {run.as_of.astimezone(zone).isoformat(timespec='seconds')}{again}"


def _filter(asked: ExceptionFilter) -> str:
    titles = {rule.id: rule.title for rule in RULES}
    parts = [
        ("site", asked.site and str(asked.site)),
        ("class", asked.classroom and str(asked.classroom)),
        ("outcome", asked.outcome is not None and asked.outcome.words),
        ("substance", asked.substance and Catalogue.load().get(asked.substance).name),
        ("reason", asked.rule and titles.get(asked.rule, asked.rule)),
    ]
    return "; ".join(f"{name}: {value}" for name, value in parts if value) or "none"
