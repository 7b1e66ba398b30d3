"""Sites that no check has looked at for too long, in words: since when, why, and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Max

from compliance.models import CheckedDay, Run
from compliance.operations.scope import Scope
from compliance.operations.timeleft import in_words
from menus.models import Site

OVERDUE_AFTER = timedelta(hours=26)
"""A day, and two hours in which a night may still be at it. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Overdue:
    """One site, when what was last checked for today was read (None: never), and the newest failure since."""

    site: Site
    checked_at: datetime | None
    failure: Run | None

    def since(self, now: datetime) -> str:
        """Return when it was last checked, as a sentence without its end."""
        if self.checked_at is None:
            return f"For today {self.site} was never checked"
        return f"{self.site} was last checked {in_words(now - self.checked_at)} ago"

    @property
    def cause(self) -> str:
        """Return what kind of reason is known, as a sentence without the words of an error: they may name a child."""
        if self.failure is None:
            return "No check of it has come to an end since."
        return f"Its check failed; the page of run {self.failure.pk} says why."

    @property
    def why(self) -> str:
        """Return what is known of the reason, for who may read the run, as a sentence."""
        if self.failure is None:
            return self.cause
        return f"Its check failed: {self.failure.error or 'no reason was kept.'}"

    @property
    def what_to_do(self) -> str:
        """Return what to do now, as a sentence."""
        if self.failure is None:
            return "See that worker and beat are running, then check the site again."
        return "Mend what the error names, then check the site again; it fails in the same way until then."


def overdue_sites(scope: Scope, now: datetime) -> list[Overdue]:
    """Return the sites whose plan for today was last checked too long ago, by name. One query, three if there are any.

    Today is the day on each site's own clock.
    """
    checked = last_checked(scope, now)
    late = late_sites(scope, checked, now)
    failures = _newest_failures(late) if late else {}
    return [
        Overdue(site, checked.get(site.pk), _since(failures.get(site.pk), checked.get(site.pk)))
        for site in sorted(late, key=lambda site: site.name)
    ]


def late_sites(scope: Scope, checked: dict[int, datetime], now: datetime) -> list[Site]:
    """Return the sites that were last checked too long ago, or never, given when each was."""
    at_least = now - OVERDUE_AFTER
    return [site for pk, site in scope.sites.items() if pk not in checked or checked[pk] < at_least]


def last_checked(scope: Scope, now: datetime) -> dict[int, datetime]:
    """Return by site when the facts were read by which its plan of today stands; without one: never. One query."""
    today = {pk: now.astimezone(site.zone).date() for pk, site in scope.sites.items()}
    days = CheckedDay.objects.filter(day__in=set(today.values()))
    if not scope.is_all:
        days = days.filter(site__in=scope.sites)
    rows = days.values_list("site_id", "day", "run__as_of")
    return {site: as_of for site, day, as_of in rows if today.get(site) == day}


def _newest_failures(sites: list[Site]) -> dict[int, Run]:
    """Return the newest failed run of each site that has one. Two queries."""
    failed = Run.objects.filter(state=Run.State.FAILED, site__in=sites)
    newest = failed.order_by().values("site").annotate(newest=Max("pk")).values_list("newest", flat=True)
    return {run.site_id: run for run in Run.objects.filter(pk__in=list(newest))}


def _since(failure: Run | None, checked_at: datetime | None) -> Run | None:
    if failure and (checked_at is None or failure.started_at > checked_at):
        return failure
    return None
