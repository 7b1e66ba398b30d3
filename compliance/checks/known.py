"""What was known of a site's exceptions at one moment, so that two moments can be compared."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from compliance.checks.exceptions import ExceptionFilter, found_exceptions
from compliance.models import ServedDish
from compliance.rules.values import Outcome
from menus.models import Site

Met = tuple[int, int, str, Outcome]
"""Serving, child, substance, outcome."""


@dataclass(frozen=True, slots=True)
class Known:
    """The exceptions of some days, and which of the days had been checked at all."""

    met: dict[Met, date]
    days: frozenset[date]


@dataclass(frozen=True, slots=True)
class News:
    """How many exceptions came up and went away between two moments."""

    changed: int = 0
    """New on days that had been checked before: a label, a recipe, a child or a plan changed."""
    gone: int = 0
    ahead: int = 0
    """On days that came into view for the first time."""

    def __bool__(self) -> bool:
        return bool(self.changed or self.gone or self.ahead)


def known(site: Site, first: date, last: date) -> Known:
    """Return what the standing runs have found at the site between two days, both included."""
    rows = found_exceptions(ExceptionFilter(first=first, last=last, site=site))
    served = ServedDish.objects.standing().at(site, first, last)
    return Known(
        {(row.serving.pk, row.child.pk, row.restriction.substance, row.outcome): row.date for row in rows},
        frozenset(served.values_list("serving__date", flat=True)),
    )


def news(before: Known, after: Known) -> News:
    """Compare two moments. An exception whose outcome changed counts as gone and as new."""
    fresh = [day for met, day in after.met.items() if met not in before.met]
    return News(
        changed=sum(day in before.days for day in fresh),
        gone=sum(met not in after.met for met in before.met),
        ahead=sum(day not in before.days for day in fresh),
    )
