"""A meal plan in sentences: what was left out and why, what stays open and why, what was proven."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from compliance.checks.reasons import OUTCOME_OF_CODE
from compliance.models import MealPlan
from menus.substances.catalogue import Catalogue

CHILDREN, LIMITS, DISHES = "children without a whole meal", "weekly limits not known to be kept", "extra dishes"
PORTIONS, COST = "extra portions", "cost"
CENTS = 100

BAR_SAID = {
    "too little": "may be given, but brings too little",
    "used up": "is used up: the portions on hand go to others",
    "not found": "was not chosen in the time there was",
}


def amount(value: float) -> str:
    """Return an amount as people write it."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def away_said(away: dict[str, Any]) -> str:
    """Return a dish that is left out, with the foods for which it is: “Milk (milk: withhold)”."""
    return f"{away['dish']} ({_why(away['why'])})"


def lack_said(lack: dict[str, Any]) -> str:
    """Return why a component stays open: which dishes would fill it, and what bars each."""
    if not lack["barred"]:
        return f"Nothing here brings {lack['what']}: put a dish on hand that does."
    dishes = "; ".join(_barred(each) for each in lack["barred"])
    return f"Nothing that may be given fills {lack['what']}. {dishes}."


def search_said(plan: MealPlan) -> str:
    """Return what the search proved of the days that it was for, or how far off the least may be."""
    levels = plan.result["levels"]
    if not levels:
        return "No meal is on the plan of these days, so there was nothing to choose."
    open_ones = [aim for aim in levels if not aim[3]]
    if not open_ones:
        return (
            f"Proven for {_days_said(plan)}: from these dishes no choice leaves fewer children without a whole meal, "
            "and none that leaves as few keeps more weekly limits, then takes fewer extra dishes, then portions, then "
            "cost."
        )
    gaps = "; ".join(
        f"{name} {_shown(name, value)}, perhaps {_shown(name, bound)}" for name, value, bound, _ in open_ones
    )
    return (
        f"Worked out for {_days_said(plan)}. The time ran out before it was proven. Reached, and the least that may be "
        f"possible: {gaps}."
    )


def by_hand_said(plan: MealPlan) -> str:
    """Return the plan beside what swapping dish by dish would come to."""
    if not plan.result["levels"]:
        return ""
    by_hand = _named(plan, plan.result["by_hand"])
    return f"This choice: {_tally(tally_of(plan))}. Swapped dish by dish, child by child: {_tally(by_hand)}."


def tally_of(plan: MealPlan) -> dict[str, int]:
    """Return what the plan's own meals come to, aim by aim."""
    return _named(plan, plan.result.get("tally") or [level[1] for level in plan.result["levels"]])


def money(cents: int) -> str:
    """Return an amount of the site's money as people write it."""
    return f"{cents / CENTS:,.2f}"


def _named(plan: MealPlan, tally: Sequence[int]) -> dict[str, int]:
    """The numbers by the aims of their plan: older plans have fewer."""
    return dict(zip((level[0] for level in plan.result["levels"]), tally, strict=True))


def _days_said(plan: MealPlan) -> str:
    if plan.meal:
        return "this meal"
    first, last = (plan.result.get(end) for end in ("first", "last"))
    weeks = (
        (date.fromisoformat(last) - date.fromisoformat(first) + timedelta(days=1)).days // 7 if first and last else 1
    )
    return "the week" if weeks == 1 else f"{weeks} weeks together"


def _shown(aim: str, value: int) -> str:
    return money(value) if aim == COST else str(value)


def _tally(tally: Mapping[str, int]) -> str:
    limits = f"{_counted(tally[LIMITS], 'weekly limit')} not known to be kept, " if tally.get(LIMITS) else ""
    return (
        f"{_counted(tally[CHILDREN], 'meal')} not whole, {limits}{_counted(tally[DISHES], 'extra dish')}, "
        f"{_counted(tally[PORTIONS], 'extra portion')} for {money(tally[COST])}"
    )


def _counted(number: int, what: str) -> str:
    if number == 1:
        return f"1 {what}"
    return f"{number} {what}es" if what.endswith("sh") else f"{number} {what}s"


def _barred(barred: dict[str, Any]) -> str:
    if barred["why"]:
        return f"“{barred['dish']}” is kept away ({_why(barred['why'])})"
    return f"“{barred['dish']}” {BAR_SAID[barred['bar']]}"


def _why(stops: Iterable[list[str]]) -> str:
    return ", ".join(map(_stop, stops))


def _stop(stop: Sequence[str]) -> str:
    """One reason: a food, a dish that was not checked, or in words how the dish is cut or textured."""
    substance, outcome, *said = stop
    if said:
        return said[0]
    return (
        f"{Catalogue.load().get(substance).name}: {OUTCOME_OF_CODE[outcome].words}" if substance else "not checked yet"
    )
