"""`manage.py nightly`: run the nightly check by hand."""

from __future__ import annotations

import time
from datetime import date
from typing import Any

from django.core.management import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn, TimeRemainingColumn

from compliance.checks.nights.close import close, runs_of, stop
from compliance.checks.nights.start import start_by_hand
from compliance.checks.nights.sweep import sweep
from compliance.checks.nights.work import left, work
from compliance.models import Night, NightSlice, Run
from compliance.rules.values import Outcome
from menus.models import Site

EACH_IN_A_LINE = 20
"""More sites than these are told of together."""

PAUSE = 1.0
"""Seconds between two looks at what workers of the service are still at."""

COLUMNS = (
    TextColumn("{task.description}"),
    BarColumn(),
    MofNCompleteColumn(),
    TimeElapsedColumn(),
    TextColumn("left"),
    TimeRemainingColumn(),
)


class Command(BaseCommand):
    help = "Check the coming days of one site, or of all, as the nightly job does."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--site", metavar="CODE", help="Only this site.")
        parser.add_argument("--date", metavar="YYYY-MM-DD", help="First day to check; else today, on the site's clock.")

    def handle(self, *, site: str | None, date: str | None, **options: Any) -> None:
        sites = _sites(site)
        night = start_by_hand(sites, _day(date))
        if night is None:
            raise CommandError("Somebody began the same at the same moment. Try again.")
        console = Console()
        try:
            with Progress(*COLUMNS, console=console) as bars:
                _carry_out(night, len(sites), bars)
        except BaseException:
            stop(night, timezone.now())
            raise
        close(night.pk, timezone.now())
        _tell(night, sites, console)


def _carry_out(night: Night, sites: int, bars: Progress) -> None:
    """Work through the slices; workers of the service that have nothing else to do may take some too."""
    bar = bars.add_task("sites", total=sites)

    def progress(what: str, done: int, of: int) -> None:
        bars.update(bar, description=f"sites: {what}")

    while night.slices.open().exists():
        part = night.slices.rested(timezone.now()).order_by("number").first()
        if part is None or work(part.pk, progress) is None:  # it rests, or a worker of the service has it
            time.sleep(PAUSE)
            sweep(timezone.now())
        ended = night.slices.exclude(state__in=NightSlice.OPEN)
        bars.update(bar, completed=sum(len(each.sites) for each in ended), refresh=True)


def _tell(night: Night, sites: list[Site], console: Console) -> None:
    """Print what was found, and what could not be checked and why. Raises CommandError when there was such."""
    runs = list(runs_of(night).select_related("site").order_by("site__name", "pk"))
    if len(sites) <= EACH_IN_A_LINE:
        for run in runs:
            console.print(summary(run))
    else:
        console.print(f"{len(runs)} of {len(sites)} sites were checked.")
    unchecked = [site for part in night.slices.all() for site in left(part, timezone.now())]
    for site in unchecked:
        console.print(_why_not(site, night), style="bold")
    if len(unchecked) == len(sites):
        raise CommandError("Nothing was checked. What stands above says why; mend it, or try again in a minute.")
    if unchecked:
        raise CommandError(f"{len(unchecked)} of {len(sites)} sites were not checked. What stands above says why.")


def _why_not(site: Site, night: Night) -> str:
    failed = Run.objects.filter(site=site, state=Run.State.FAILED, started_at__gte=night.started_at).last()
    if failed:
        return f"{site} could not be checked: {failed.error}"
    return f"{site} is being checked by somebody else at this moment. Its result will be there in a minute."


def summary(run: Run) -> str:
    """Return what a run found, in one line."""
    counts = run.counts
    verdicts = ", ".join(f"{outcome.words} {counts['verdicts'].get(outcome.code, 0)}" for outcome in reversed(Outcome))
    same = f" The same as run {run.same_as_id}." if run.same_as_id else ""
    return (
        f"{run.site}, {run.first_day} to {run.last_day}. Servings {counts['servings']}, dishes {counts['dishes']}, "
        f"children with restrictions {counts['children']}. Verdicts: {verdicts}. "
        f"Referrals opened {counts['referrals']}.{same}"
    )


def _sites(code: str | None) -> list[Site]:
    sites = list(Site.objects.filter(code=code) if code else Site.objects.all())
    if not sites:
        known = ", ".join(Site.objects.values_list("code", flat=True))
        if not known:
            raise CommandError("There is no site yet. Add one at /repair/, or load invented ones: manage.py demo.")
        raise CommandError(f"There is no site {code!r}. Give one of: {known}.")
    return sites


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise CommandError(f"{text!r} is no date. Give it as 2026-09-01: year, month, day.") from error
