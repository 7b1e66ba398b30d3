"""What was known of a site's exceptions at one moment, so that two moments can be compared."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from compliance.checks.exceptions import ExceptionFilter, found_exceptions
from compliance.models import ServedDish
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


@dataclass(frozen=True, slots=True)
class Known:
    """The exceptions of some days, and which of the days had been checked at all."""

    met: frozenset[Met]
    days: frozenset[date]


@dataclass(frozen=True, slots=True)
class News:
    """How many exceptions came up and went away between two moments. Dishes that wait for one answer count once."""

    changed: int = 0
    """New on days that had been checked before: a label, a recipe, a child or a plan changed."""
    gone: int = 0
    ahead: int = 0
    """On days that came into view for the first time, save where the same question had come up on another day."""

    def __bool__(self) -> bool:
        return bool(self.changed or self.gone or self.ahead)


def known(site: Site, first: date, last: date) -> Known:
    """Return what the standing runs have found at the site between two days, both included."""
    rows = found_exceptions(ExceptionFilter(first=first, last=last, site=site))
    served = ServedDish.objects.standing().at(site, first, last)
    return Known(
        frozenset(
            Met(row.serving.pk, row.date, row.child.pk, row.restriction.substance, row.outcome, row.waits_for)
            for row in rows
        ),
        frozenset(served.values_list("serving__date", flat=True)),
    )


def news(before: Known, after: Known) -> News:
    """Compare two moments. An exception whose outcome or question changed counts as gone and as new."""
    fresh = after.met - before.met
    changed = {met.line for met in fresh if met.day in before.days}
    ahead = {met.line for met in fresh if met.day not in before.days}
    return News(
        changed=len(changed),
        gone=len({met.line for met in before.met - after.met}),
        ahead=len(ahead - changed - {met.line for met in before.met}),
    )
