"""Questions and news as one would work them out by hand: exception by exception, site by site."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from compliance.checks.exceptions import ExceptionFilter, found_exceptions
from compliance.checks.news import News
from compliance.checks.questions import Question
from compliance.checks.referrals import ask
from compliance.models import Referral, Run, ServedDish
from compliance.rules.values import Outcome
from menus.models import Site


@dataclass(frozen=True, slots=True)
class Met:
    """One exception, as far as two moments are compared."""

    serving: int
    day: date
    child: int
    substance: str
    outcome: Outcome
    waits_for: tuple[str, ...] = ()

    @property
    def line(self) -> tuple[object, ...]:
        """What it stands for: a question, whatever the dishes that wait for its answer, or else the dish."""
        return (self.child, self.substance, self.outcome, self.waits_for or self.serving)

    @property
    def told(self) -> tuple[int, int, str, int]:
        """What is announced of it."""
        return (self.serving, self.child, self.substance, self.outcome)


@dataclass(frozen=True, slots=True)
class Known:
    """The exceptions of some days, and which of the days had been checked at all."""

    met: frozenset[Met]
    days: frozenset[date]


def known(site: Site, first: date, last: date) -> Known:
    """What the runs that speak for these days have found at the site."""
    rows = found_exceptions(ExceptionFilter(first=first, last=last, site=site))
    return Known(
        frozenset(
            Met(row.serving.pk, row.date, row.child.pk, row.restriction.substance, row.outcome, row.waits_for)
            for row in rows
        ),
        frozenset(ServedDish.objects.at(site, first, last).values_list("serving__date", flat=True)),
    )


def news_between(before: Known, after: Known) -> News:
    """An exception whose outcome or question changed counts as gone and as new."""
    fresh = after.met - before.met
    changed = {met.line for met in fresh if met.day in before.days}
    ahead = {met.line for met in fresh if met.day not in before.days}
    return News(
        changed=len(changed),
        gone=len({met.line for met in before.met - after.met}),
        ahead=len(ahead - changed - {met.line for met in before.met}),
    )


def announced(run: Run, before: Known, after: Known) -> set[tuple[int, int, str, int]]:
    """What is new on the run's own day, when that day had been checked before."""
    today = run.as_of.astimezone(run.site.zone).date()
    if today not in before.days:
        return set()
    return {met.told for met in after.met if met.day == today} - {met.told for met in before.met}


def open_referrals(run: Run) -> int:
    """Ask what the standing run leaves to ask, and take back what it no longer does."""
    asked = ExceptionFilter(run.first_day, run.last_day, site=run.site, outcome=Outcome.REFER)
    questions = [
        Question(row.restriction, run.site, reason, row.food(reason), row.date)
        for row in found_exceptions(asked)
        for reason in row.open_reasons
    ]
    _withdraw(run, questions)
    return ask(questions)


def _withdraw(run: Run, raised: Iterable[Question]) -> None:
    if run.first_day > run.as_of.astimezone(run.site.zone).date():
        return
    still = {(question.key, question.about) for question in raised}
    waiting = Referral.objects.waiting().filter(site=run.site, asked_by=None, needed_by__lte=run.last_day)
    for each in waiting.exclude(substance="").select_related("restriction"):
        key = (each.restriction.chain, each.subject)
        if not any((key, substance) in still for substance in each.about):
            Referral.objects.filter(pk=each.pk).update(withdrawn_at=run.as_of)


def asked_now() -> set[tuple[Any, ...]]:
    """Every question that waits, and everything that it says."""
    columns = [field.name for field in Referral._meta.concrete_fields if field.name not in ("id", "opened_at")]
    rows = Referral.objects.waiting().values_list(*columns)
    return {tuple(tuple(each) if isinstance(each, list) else each for each in row) for row in rows}
