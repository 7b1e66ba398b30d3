"""The answer to a week in JSON. docs/reference/check_week.md tells the form, which is kept stable."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from fractions import Fraction
from typing import Any

from menus.mealpattern.patterns.amount import Amount, Stands
from menus.mealpattern.patterns.judge import Crumb, Judged, Judgement, judge
from menus.mealpattern.patterns.milkcheck import milk_said, wrong_milk
from menus.mealpattern.patterns.rule import Force, Rule
from menus.mealpattern.patterns.sentences import crumb_sentence, number, sentence
from menus.mealpattern.patterns.tables import rules
from menus.mealpattern.patterns.totals import totals
from menus.mealpattern.patterns.week import Week
from menus.mealpattern.patterns.weekfile import read_week

CAUTION = (
    "This counts amounts that somebody wrote down, and not what a child may not have: allergens and shapes are judged "
    "elsewhere. Local codes, the State agency and licensed practice go before anything printed here."
)

CHOICES = (
    "Children choose on some days. Whole components must reach their figures, and stay below them, whichever dish is "
    "taken (7 CFR 210.10(k)(2), read; USDA's directions for its K-8 lunch worksheet, read in part). Averages, shares "
    "and subgroups of vegetables are of what is offered (210.10(c), (i)(3)(i), read): where the choices lie on both "
    "sides of a figure it is not known."
)
A_YEAR = timedelta(days=365)


def check_week(file: object) -> dict[str, Any]:
    """Return the answer to a week as parsed from JSON; raise BadWeek, with every fault, where it cannot be judged."""
    return answer(read_week(file))


def answer(week: Week) -> dict[str, Any]:
    """Return the answer to a week."""
    judgement = judge(week)
    pattern = week.pattern
    broken = [each for each in judgement.judged if each.stands in (Stands.SHORT, Stands.OVER)]
    return {
        "program": pattern.program,
        "group": pattern.group,
        "date": week.date.isoformat(),
        "days": len(week.days),
        "rules_read_on": pattern.read_on.isoformat(),
        "findings": [
            *map(_finding, _in_order(each for each in broken if each.rule.force is Force.RULE)),
            *wrong_milk(week),
        ],
        "warnings": [
            *map(_finding, _in_order(each for each in broken if each.rule.force is Force.GUIDANCE)),
            *map(_crumb, judgement.crumbs),
        ],
        "unknown": [_finding(each) for each in judgement.judged if each.stands is Stands.UNKNOWN],
        "measures": [_measure(each) for each in judgement.judged],
        "totals": totals(judgement.week),
        "not_judged": [*map(_not_judged, judgement.said), *milk_said(week)],
        "notes": _notes(judgement),
        "caution": CAUTION,
    }


def _in_order(judged: Iterable[Judged]) -> list[Judged]:
    """Return the days first, in their order, then the week."""
    return sorted(judged, key=lambda each: (each.day is None, each.day or 0))


def _finding(each: Judged) -> dict[str, Any]:
    comparison, needed = _missed(each)
    return {
        "rule": each.rule.id,
        "when": _when(each.day),
        "day": each.day,
        "food": each.food or None,
        "is": str(each.stands),
        "found": _missing_at(each),
        **_chosen(each.amount),
        "needed": number(needed),
        "comparison": comparison,
        "unit": each.rule.unit,
        "says": sentence(each),
        **_source(each.rule),
    }


def _measure(each: Judged) -> dict[str, Any]:
    return {
        "rule": each.rule.id,
        "what": each.rule.what,
        "when": _when(each.day),
        "day": each.day,
        "food": each.food or None,
        "is": str(each.stands),
        "found": _found(each.amount),
        **_chosen(each.amount),
        "at_least": number(each.rule.least),
        "at_most": number(each.rule.most),
        "unit": each.rule.unit,
        "force": str(each.rule.force),
        "stated_by": f"{each.amount.stated} of {each.amount.foods} foods" if each.amount.foods else None,
    }


def _crumb(crumb: Crumb) -> dict[str, Any]:
    return {
        "rule": crumb.rule.id,
        "when": _when(crumb.day),
        "day": crumb.day,
        "food": crumb.food,
        "is": str(Stands.SHORT),
        "found": number(crumb.found),
        "needed": number(crumb.rule.least),
        "comparison": "at least",
        "unit": crumb.rule.unit,
        "says": crumb_sentence(crumb),
        **_source(crumb.rule),
    }


def _not_judged(rule: Rule) -> dict[str, Any]:
    return {"rule": rule.id, "what": rule.what, "says": rule.note, "source": rule.source, "verified": rule.verified}


def _source(rule: Rule) -> dict[str, Any]:
    return {"note": rule.note or None, "computed": rule.computed, "source": rule.source, "verified": rule.verified}


def _when(day: int | None) -> str:
    return "week" if day is None else f"day {day}"


def _missing_at(each: Judged) -> float | None:
    """The amount that a finding is about: that of the smallest choice, or of the largest."""
    if each.amount.spread is None:
        return _found(each.amount)
    at = each.short_at if each.stands is Stands.SHORT else each.over_at
    return number(at) if each.stands is not Stands.UNKNOWN else _found(each.amount)


def _chosen(amount: Amount) -> dict[str, Any]:
    """From what to what it goes by what is chosen; no key where nothing is, or where it makes no difference."""
    return {"by_choice": [number(amount.low), number(amount.high)]} if amount.spread else {}


def _found(amount: Amount) -> float | None:
    """The amount; where only a part is stated, what that part comes to, and None where that is nothing."""
    return number(amount.low) if amount.known or amount.low else None


def _missed(each: Judged) -> tuple[str, Fraction | None]:
    """Return the figure that is missed; where it cannot be told which, the one to reach before the one not to pass."""
    rule = each.rule
    reached = rule.least is None or each.amount.low >= rule.least - rule.slack
    if rule.most is not None and (each.stands is Stands.OVER or reached):
        return ("less than" if rule.strict else "at most"), rule.most
    return "at least", rule.least


def _notes(judgement: Judgement) -> list[str]:
    notes = []
    if any(each.rule.computed for each in judgement.judged):
        notes.append(
            f"The week has {len(judgement.week.days)} days: figures marked computed are those of five days, by days "
            "over five, to the nearest 0.25 cup and 0.5 oz eq (California CDE, short and long weeks)."
        )
    if judgement.week.date - judgement.week.pattern.read_on > A_YEAR:
        notes.append("The rules were read more than a year before the date of the week: look for newer ones.")
    week = judgement.week
    if week.has_choices:
        notes.append(CHOICES)
    held = rules(week.pattern, week.date, len(week.days))
    about_desserts = any(rule.measure.endswith("@dessert") for rule in held)
    if about_desserts and not any("dessert" in food.tags for food in week.foods):
        notes.append("No food says whether it is a grain-based dessert (“dessert”), so none was counted as one.")
    return notes
