"""What became an exception while the day was under way: kept when it is found, shown to those who must know."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime

from compliance.checks.exceptions import ExceptionRow
from compliance.models import Announcement
from compliance.rules.values import Outcome
from menus.models import Serving


@dataclass(frozen=True, slots=True)
class Announced:
    """An exception that stands and that was not there when the day began, and since when it is known."""

    row: ExceptionRow
    since: datetime


@dataclass(slots=True)
class DishNews:
    """One dish and the children who may not have it since the day began, each at their gravest outcome."""

    serving: Serving
    since: datetime
    met: dict[str, dict[Outcome, list[str]]] = field(default_factory=dict)  # name → outcome → substances

    @property
    def outcomes(self) -> list[tuple[Outcome, list[tuple[str, str]]]]:
        """The gravest outcome first: each child with all that they avoid in the dish."""
        found: dict[Outcome, list[tuple[str, str]]] = {}
        for name, foods in sorted(self.met.items()):
            every = [food for outcome in sorted(foods, reverse=True) for food in foods[outcome]]
            found.setdefault(max(foods), []).append((name, ", ".join(every)))
        return sorted(found.items(), reverse=True)


def by_dish(said: Iterable[Announced], name: Callable[[ExceptionRow], str]) -> list[DishNews]:
    """Return the announcements dish by dish, the newest first; `name` says how a page calls the child."""
    dishes: dict[int, DishNews] = {}
    for each in said:
        news = dishes.setdefault(each.row.serving.pk, DishNews(each.row.serving, each.since))
        foods = news.met.setdefault(name(each.row), {})
        foods.setdefault(each.row.outcome, []).append(each.row.substance_name)
    return list(dishes.values())


def announced(rows: Iterable[ExceptionRow]) -> list[Announced]:
    """Return those of the exceptions that were announced, the newest first. One query."""
    standing = {(row.serving.pk, row.child.pk, row.restriction.substance, row.outcome): row for row in rows}
    if not standing:
        return []
    found: dict[tuple[int, int, str, int], Announced] = {}
    for said in Announcement.objects.filter(serving__in={serving for serving, *_ in standing}).order_by("-recorded_at"):
        key = (said.serving_id, said.child_id, said.substance, said.outcome)
        if key in standing and key not in found:
            found[key] = Announced(standing[key], said.recorded_at)
    return list(found.values())
