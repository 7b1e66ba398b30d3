"""Which plan stands for a meal: the newest that has it. A plan of one meal goes before an older one of its week."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from compliance.checks.pageread import KINDS, changed, read_of_meals
from compliance.models import MealPlan
from menus.models import Site
from menus.models.cycle import MEAL_ORDER, SIX_DAYS, monday_of


@dataclass(frozen=True, slots=True)
class Standing:
    """The meals of one day as they were last worked out: `plan` shows them as one plan; `parts` are those it is of."""

    plan: MealPlan
    parts: tuple[MealPlan, ...]

    def changes(self) -> list[str]:
        """Return in words what is new since any part was worked out. A query for each part."""
        found = {each for part in self.parts for each in changes_of(part)}
        return [words for words in KINDS.values() if words in found]

    @property
    def alone(self) -> tuple[MealPlan, ...]:
        """The parts that are of one meal."""
        return tuple(part for part in self.parts if part.meal)


def standing_on(site: Site, day: date) -> Standing | None:
    """Return what stands for the day, or None where nothing was worked out for it. Two queries."""
    week = MealPlan.objects.filter(site=site, monday=monday_of(day), day=None).order_by("-recorded_at", "-pk").first()
    later = MealPlan.objects.filter(site=site, day=day).order_by("-recorded_at", "-pk")
    alone: dict[str, MealPlan] = {}
    for plan in later.filter(recorded_at__gt=week.recorded_at) if week else later:
        alone.setdefault(plan.meal, plan)
    if week is None and not alone:
        return None
    if not alone and week:
        return Standing(week, (week,))
    parts = (*([week] if week else []), *alone.values())
    return Standing(_as_one(parts, day), parts)


def changes_of(plan: MealPlan) -> list[str]:
    """Return in words what is new since the plan was worked out. One query."""
    first, last = (plan.day, plan.day) if plan.day else (plan.monday, plan.monday + SIX_DAYS)
    return changed(plan.read, read_of_meals(plan.site, first, last))


def standing_between(site: Site, first: date, last: date) -> list[dict[str, Any]]:
    """Return the meals between two days, both included, as they were last worked out. One query."""
    plans = MealPlan.objects.filter(site=site, monday__range=(monday_of(first), last)).order_by("recorded_at", "pk")
    meals: dict[tuple[str, str], dict[str, Any]] = {}
    for plan in plans:
        if plan.day is None:
            _forget(meals, plan.monday)
        meals |= {(meal["day"], meal["meal"]): meal for meal in plan.result["meals"]}
    return [meal for (day, _), meal in sorted(meals.items()) if first.isoformat() <= day <= last.isoformat()]


def _forget(meals: dict[tuple[str, str], dict[str, Any]], monday: date) -> None:
    """A newer plan of the week says what its meals are, and which are none any more."""
    begin, end = monday.isoformat(), (monday + SIX_DAYS).isoformat()
    for at in [at for at in meals if begin <= at[0] <= end]:
        del meals[at]


def _place(meal: dict[str, Any]) -> int:
    return MEAL_ORDER[meal["meal"]]


def _as_one(parts: tuple[MealPlan, ...], day: date) -> MealPlan:
    """The parts as one plan that is not stored: of each meal what was worked out last, as of the oldest of them."""
    main = parts[0]
    newer = {meal["meal"]: meal for part in parts[1:] for meal in part.result["meals"]}
    there = [meal for meal in main.result["meals"] if meal["day"] == day.isoformat()]
    kept = [newer.pop(meal["meal"], meal) for meal in there]
    weeks = [week for week in main.result.get("weeks", []) if week["meal"] not in {part.meal for part in parts[1:]}]
    return MealPlan(
        site=main.site,
        monday=main.monday,
        made_by=main.made_by,
        recorded_at=min(part.recorded_at for part in parts),
        read=main.read,
        seconds=main.seconds,
        result={**main.result, "meals": sorted([*kept, *newer.values()], key=_place), "weeks": weeks},
    )
