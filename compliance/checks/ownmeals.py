"""What the coming meals hold for one child, as the child's own guardian reads it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby

from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
from compliance.rules.values import Outcome
from menus.labels.evidence import LEVEL_OF_KIND, Level
from menus.models import Meal
from roster.models import Child

LEVELS = {kind.value: level for kind, level in LEVEL_OF_KIND.items()}


@dataclass(frozen=True, slots=True)
class Why:
    """One substance that the child is kept from, how far it is known to be in the dish, and the words of the label."""

    substance: str
    level: Level
    words: str


@dataclass(frozen=True, slots=True)
class Meeting:
    """One dish that the child is not served, at which meals of the day, and why, the gravest first."""

    day: date
    meals: tuple[Meal, ...]
    dish: str
    outcome: Outcome
    why: tuple[Why, ...]


def meetings(child: Child, first: date, last: date) -> tuple[Meeting, ...]:
    """Return the dishes between two days, both included, that are withheld from the child or wait for an answer.

    Whoever calls has made sure that the reader may know it. As many queries as `find_exceptions` for one site.
    """
    if child.site is None:
        return ()
    rows = find_exceptions(None, ExceptionFilter(first, last, site=child.site, child=child))
    return _once_a_day(_meeting(list(same)) for _, same in groupby(rows, key=lambda row: row.serving.pk))


def _once_a_day(found: Iterable[Meeting]) -> tuple[Meeting, ...]:
    """Milk stands at nearly every meal: what is the same but for the meal is said once a day."""
    once: dict[Meeting, Meeting] = {}
    for each in found:
        same = replace(each, meals=())
        before = once.get(same)
        once[same] = replace(each, meals=(*before.meals, *each.meals)) if before else each
    return tuple(once.values())


def _meeting(rows: list[ExceptionRow]) -> Meeting:
    gravest_first = sorted(rows, key=lambda row: -row.outcome)
    first = gravest_first[0]
    return Meeting(
        day=first.date,
        meals=(Meal(first.serving.meal),),
        dish=first.dish,
        outcome=first.outcome,
        why=tuple(dict.fromkeys(_why(row) for row in gravest_first)),
    )


def _why(row: ExceptionRow) -> Why:
    reason = row.main_reason
    return Why(row.restriction.substance, LEVELS.get(reason.kind, Level.UNREAD), reason.words)
