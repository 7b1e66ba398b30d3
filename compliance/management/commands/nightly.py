"""`manage.py nightly`: run the nightly check by hand."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.management import BaseCommand, CommandError, CommandParser
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

from compliance.checks.night import check_and_tell
from compliance.checks.run import SiteBusy
from compliance.models import Run
from compliance.rules.values import Outcome
from menus.models import Site


class Command(BaseCommand):
    help = "Check the coming days of one site, or of all, as the nightly job does."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--site", metavar="CODE", help="Only this site.")
        parser.add_argument("--date", metavar="YYYY-MM-DD", help="First day to check; else today, on the site's clock.")

    def handle(self, *, site: str | None, date: str | None, **options: Any) -> None:
        first_day = _day(date)
        sites = _sites(site)
        busy = 0
        columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
        with Progress(*columns, console=Console()) as bars:
            for each in sites:
                busy += not self._check(each, first_day, bars)
        if busy == len(sites):
            raise CommandError("Nothing was checked: every site is being checked at this moment. Try in a minute.")

    def _check(self, site: Site, first_day: date | None, bars: Progress) -> bool:
        bar = bars.add_task(site.name, total=None)

        def progress(what: str, done: int, of: int) -> None:
            bars.update(bar, description=f"{site}: {what}", completed=done, total=of)

        try:
            run = check_and_tell(site=site, trigger=Run.Trigger.HAND, first_day=first_day, progress=progress)
        except SiteBusy as error:
            bars.console.print(str(error), style="bold")
            return False
        bars.console.print(summary(run))
        return True


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
