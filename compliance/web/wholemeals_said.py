"""A meal plan in sentences: what was left out and why, what stays open and why, what was proven."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from compliance.checks.reasons import OUTCOME_OF_CODE
from compliance.models import MealPlan
from menus.substances.catalogue import Catalogue

CHILDREN, OPEN, DISHES, PORTIONS, COST = range(5)

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
    """Return what the search proved of its week, or how far off the least may be."""
    levels = plan.result["levels"]
    if not levels:
        return "No meal is on the plan of this week, so there was nothing to choose."
    open_ones = [aim for aim in levels if not aim[3]]
    if not open_ones:
        return (
            "Proven for the week: from these dishes no choice leaves fewer children without a whole meal, and none "
            "that leaves as few takes fewer extra dishes, then portions, then cost."
        )
    gaps = ", ".join(f"{name} {value}, perhaps {bound}" for name, value, bound, _ in open_ones)
    return f"The time ran out before it was proven. Reached, and the least that may be possible: {gaps}."


def by_hand_said(plan: MealPlan) -> str:
    """Return the week beside what swapping dish by dish would come to."""
    if not plan.result["levels"]:
        return ""
    here = [level[1] for level in plan.result["levels"]]
    return f"This choice: {_tally(here)}. Swapped dish by dish, child by child: {_tally(plan.result['by_hand'])}."


def _tally(tally: list[int]) -> str:
    return (
        f"{_counted(tally[CHILDREN], 'meal')} not whole, {_counted(tally[DISHES], 'extra dish')}, "
        f"{_counted(tally[PORTIONS], 'extra portion')}"
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
    return ", ".join(
        f"{Catalogue.load().get(substance).name}: {OUTCOME_OF_CODE[outcome].words}" if substance else "not checked yet"
        for substance, outcome in stops
    )
