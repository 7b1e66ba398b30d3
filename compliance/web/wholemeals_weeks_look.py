"""Weeks of meals that were worked out together, as their page shows them: week by week, and portions in all."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from compliance.checks.wholemeals.standing import changes_of
from compliance.models import MealJob, MealPlan
from compliance.web.wholemeals_said import (
    CHILDREN,
    COST,
    DISHES,
    LIMITS,
    PORTIONS,
    money,
    search_said,
    tally_of,
)


@dataclass(frozen=True, slots=True)
class WeekLine:
    """One week: what its meals come to."""

    monday: date
    open: int  # children without a whole meal, counted at each meal
    limits: int
    dishes: int
    portions: int
    cost: str
    is_outlook: bool  # some of its days are beyond the reach of checks
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DishLine:
    """One dish on hand over all the weeks."""

    name: str
    portions: int
    cost: str  # empty where none is on record


@dataclass(frozen=True, slots=True)
class WeeksLook:
    """What came of a request."""

    lines: tuple[WeekLine, ...]
    dishes: tuple[DishLine, ...]
    total: str
    search: str
    seconds: float


def looked_at(job: MealJob) -> WeeksLook | None:
    """Return what stands now for the weeks of the request; None where no plan of them is kept.

    A week that was worked out again since is shown as it stands. Two queries, and one for each week.
    """
    plans = _newest(job)
    if not plans:
        return None
    return WeeksLook(
        lines=tuple(_line(plan) for plan in plans),
        dishes=tuple(_dishes(plans)),
        total=money(sum(tally_of(plan).get(COST, 0) for plan in plans)),
        search=search_said(plans[0]),
        seconds=plans[0].seconds,
    )


def _newest(job: MealJob) -> list[MealPlan]:
    last = job.monday + timedelta(weeks=job.weeks - 1)
    rows = MealPlan.objects.filter(site=job.site, monday__range=(job.monday, last), day=None)
    by_monday = {plan.monday: plan for plan in rows.select_related("site").order_by("recorded_at", "pk")}
    return [by_monday[monday] for monday in sorted(by_monday)]


def _line(plan: MealPlan) -> WeekLine:
    tally = tally_of(plan)
    return WeekLine(
        monday=plan.monday,
        open=tally.get(CHILDREN, 0),
        limits=tally.get(LIMITS, 0),
        dishes=tally.get(DISHES, 0),
        portions=tally.get(PORTIONS, 0),
        cost=money(tally.get(COST, 0)),
        is_outlook=any(meal.get("outlook") for meal in plan.result["meals"]),
        changes=tuple(changes_of(plan)),
    )


def _dishes(plans: Iterable[MealPlan]) -> list[DishLine]:
    portions: dict[str, int] = {}
    costs: dict[str, float] = {}
    for plan in plans:
        for meal in plan.result["meals"]:
            for row in meal["extra"]:
                portions[row["name"]] = portions.get(row["name"], 0) + row["portions"]
                if row.get("cost") is not None:
                    costs[row["name"]] = costs.get(row["name"], 0) + row["cost"]
    lines = [DishLine(name, count, f"{costs[name]:,.2f}" if name in costs else "") for name, count in portions.items()]
    return sorted(lines, key=lambda line: (-line.portions, line.name))
