"""The sheets for when nothing else works: one for a room, one for a child. Copies of one moment, and they say so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from compliance.reports.typeset import as_of_line, paper_of, typeset
from menus.models import Site
from roster.emergency.numbers import EmergencyNumber
from roster.models import EmergencyPlan

DESTROY = (
    "A copy of one moment. Destroy it when a newer one is printed; a substitute hands it back or destroys it when the "
    "day ends."
)
STEPS = (
    "Call for help out loud. Somebody stays with the child.",
    "Call emergency services. Say: a child, a suspected reaction to food, and where you are.",
    "Follow the child's own plan, step by step, as it is written. Use no other child's plan.",
    "Keep the food and its package. Call the family when the child is being looked after.",
)


@dataclass(frozen=True, slots=True)
class SheetChild:
    """One child on a sheet: the name as nobody else on it is called, what to keep away, where the papers are."""

    name: str
    keep_away: Sequence[str]
    see_to: Sequence[str]
    conditions: Sequence[str]  # empty unless the site says that its lists name them
    plan: EmergencyPlan | None


@dataclass(frozen=True, slots=True)
class RoomSheet:
    """What is printed. With `of_child` it is one child's own sheet; `others` counts the children with nothing on it."""

    site: Site
    room: str
    day: date
    as_of: datetime
    number: EmergencyNumber | None
    children: Sequence[SheetChild]
    others: int
    cautions: Sequence[str]
    of_child: bool = False


def roomsheet_pdf(sheet: RoomSheet) -> bytes:
    """Return the sheet as a tagged PDF."""
    return typeset("childsheet.typ" if sheet.of_child else "roomsheet.typ", sheet_data(sheet))


def sheet_data(sheet: RoomSheet) -> dict[str, Any]:
    """Return what the template sets: plain texts."""
    day = f"{sheet.day:%A} {sheet.day.day} {sheet.day:%B %Y}"
    heading = sheet.children[0].name if sheet.of_child else f"{sheet.room}: what to keep away from whom"
    moment = as_of_line(sheet.as_of, sheet.site.zone)
    return {
        "title": f"{heading}, {sheet.site}",
        "heading": heading,
        "place": f"{sheet.room}, {sheet.site}",
        "paper": paper_of(sheet.site),
        "valid": f"For {day}. {moment}",
        "destroy": DESTROY if not any(child.conditions for child in sheet.children) else f"{DESTROY} Keep it closed.",
        "call": f"Call {sheet.number.number}" if sheet.number else "Call your local emergency number",
        "also": sheet.number.also if sheet.number else "",
        "steps": list(STEPS),
        "rows": [_row(child) for child in sheet.children],
        "others": _others(sheet),
        "cautions": list(sheet.cautions),
        "foot": f"{sheet.room}, {sheet.site}. For {day}. {moment}",
    }


def _row(child: SheetChild) -> dict[str, Any]:
    plan = child.plan
    return {
        "name": child.name,
        "away": list(child.keep_away),
        "see": list(child.see_to),
        "conditions": list(child.conditions),
        "plan": plan.plan_place if plan else "No plan on record",
        "dated": f"dated {plan.dated:%Y-%m-%d}" if plan and plan.dated else "",
        "kept": _kept(plan) if plan else "Ask the nurse",
        "call": (plan.call if plan else "") or "The family",
        "has_plan": plan is not None,
    }


def _kept(plan: EmergencyPlan) -> str:
    carried = "the child carries it" if plan.carried else ""
    return "; ".join(filter(None, [plan.medication_place, carried])) or "Not on record: ask the nurse"


def _others(sheet: RoomSheet) -> str:
    if sheet.of_child:
        return ""
    if not sheet.children:
        return f"None of the {sheet.others} children of this class has anything on record. That is no promise."
    more = "1 more child of this class has" if sheet.others == 1 else f"{sheet.others} more children of this class have"
    return f"{more} nothing on record. That is no promise: some react who were never known to have an allergy."
