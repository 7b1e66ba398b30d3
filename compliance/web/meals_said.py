"""What the rules say of a week, in sentences: what is short, over or not known, and by how much."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from menus.mealpattern.patterns.amount import Amount, Stands
from menus.mealpattern.patterns.judge import Crumb, Judged, Judgement
from menus.mealpattern.patterns.milkcheck import milk_said, wrong_milk
from menus.mealpattern.patterns.rule import Force, Rule
from menus.mealpattern.patterns.sentences import crumb_sentence, sentence, shown

SIXTEENTHS = 16
PLURALS = ("components", "days", "foods", "portions", "subgroups")
FINE = {"kcal": 1, "mg": 1, "%": 2, "cup": 9}
"""Decimal places by what the unit begins with."""
SCALED = "The figure is that of five days, scaled to the days of this week."


@dataclass(frozen=True, slots=True)
class Said:
    """One thing that the rules say. `where` is a weekday, several of them, or “The week”."""

    where: str
    what: str
    says: str
    note: str
    source: str
    verified: str  # "read" | "memory"


@dataclass(frozen=True, slots=True)
class Told:
    """All that the rules say of a week, the gravest first."""

    missed: tuple[Said, ...]
    unknown: tuple[Said, ...]
    planning: tuple[Said, ...]  # figures that the law only plans with, and credits that count for nothing
    not_judged: tuple[Said, ...]


def told(judgement: Judgement, days: Sequence[date]) -> Told:
    """Return what is said of the week whose days these are."""
    broken = [each for each in judgement.judged if each.stands in (Stands.SHORT, Stands.OVER)]
    broken.sort(key=lambda each: (each.day is None, each.day or 0))
    return Told(
        missed=_same_together(
            [
                *(_judged(each, days) for each in broken if each.rule.force is Force.RULE),
                *(_milk(found, days) for found in wrong_milk(judgement.week)),
            ]
        ),
        unknown=_same_together(_judged(each, days) for each in judgement.judged if each.stands is Stands.UNKNOWN),
        planning=_same_together(
            [
                *(_judged(each, days) for each in broken if each.rule.force is Force.GUIDANCE),
                *(_crumb(crumb, days) for crumb in judgement.crumbs),
            ]
        ),
        not_judged=(
            *(_of_rule("", rule, rule.what, rule.note) for rule in judgement.said),
            *(
                Said("", str(each["what"]), str(each["says"]), "", str(each["source"]), str(each["verified"]))
                for each in milk_said(judgement.week)
            ),
        ),
    )


def where(day: int | None, days: Sequence[date]) -> str:
    """Return the weekday of a day that is counted from 1; the week where there is none."""
    return "The week" if day is None else f"{days[day - 1]:%A}"


def measured(value: Fraction, unit: str) -> str:
    """Return an amount as a kitchen measures it: cups in sixteenths where they are that, else in decimals.

    Nutrients are known no finer than to the tenth, shares of them to the hundredth.
    """
    places = next((places for start, places in FINE.items() if unit.startswith(start)), 3)
    value = round(value, places)
    if unit != "cup" or (value * SIXTEENTHS).denominator != 1 or not value:
        return shown(value)
    whole, part = divmod(value, 1)
    return " ".join(filter(None, [str(whole) if whole else "", str(part) if part else ""]))


def counted(value: Fraction, unit: str) -> str:
    """Return an amount with its unit: 1/2 cup, 2 1/2 cups, 3 oz eq."""
    said = unit
    if unit == "cup" and value > 1:
        said = "cups"
    elif unit in PLURALS and value == 1:
        said = unit.removesuffix("s")
    return f"{measured(value, unit)} {said}"


def found_words(amount: Amount, unit: str, by_choice: str = "") -> str:
    """Return an amount without its unit: 2, 1 to 2 where children choose, at least 1, or not known."""
    if amount.known:
        return measured(amount.low, unit)
    if amount.chosen and amount.high is not None:
        return f"{measured(amount.low, unit)} to {measured(amount.high, unit)}{by_choice}"
    return f"at least {measured(amount.low, unit)}" if amount.low else "not known"


def figure_words(rule: Rule) -> str:
    """Return what the rule asks for, in a kitchen's measures."""
    upper = "less than" if rule.strict else "at most"
    parts = [
        f"{says} {counted(value, rule.unit)}"
        for says, value in (("at least", rule.least), (upper, rule.most))
        if value is not None
    ]
    return f"{'A planning figure' if rule.force is Force.GUIDANCE else 'The rule'}: {' and '.join(parts)}"


def gap(each: Judged) -> str:
    """Return by how much the figure is missed, in words; empty where it is met or nobody can tell."""
    rule, short_at = each.rule, each.short_at
    if each.stands is Stands.SHORT and rule.least is not None and short_at is not None:
        return f"{counted(rule.least - short_at, rule.unit)} short"
    if each.stands is Stands.OVER and rule.most is not None:
        over = each.over_at - rule.most
        return f"{counted(over, rule.unit)} over" if over else "at the figure that it must stay below"
    return ""


def _judged(each: Judged, days: Sequence[date]) -> Said:
    rule = each.rule
    what = f"{rule.what} of “{each.food}”" if each.food else rule.what
    if missed := gap(each):
        short_at = each.short_at if each.stands is Stands.SHORT else None
        found = each.over_at if short_at is None else short_at
        says = f"{missed[0].upper()}{missed[1:]}: {counted(found, rule.unit)}{_chosen(each)}. {figure_words(rule)}."
    elif each.amount.chosen:
        found_of = found_words(each.amount, rule.unit)
        says = f"Not known: {found_of} {rule.unit}, by what is chosen. {figure_words(rule)}."
    else:
        words = sentence(each).partition(f"{what}: ")[2]
        says = f"{words[0].upper()}{words[1:]}"
    return _of_rule(where(each.day, days), rule, what, says)


def _chosen(each: Judged) -> str:
    """Which choice the amount is of, where it depends on that."""
    amount, unit = each.amount, each.rule.unit
    if not amount.chosen or amount.high is None:
        return ""
    if each.stands is Stands.SHORT:
        most = f"; whoever chooses otherwise gets up to {counted(amount.high, unit)}"
        return f" for whoever takes least of it{most}" if each.rule.least_by_each else " at most, whatever is chosen"
    return " for whoever takes most of it" if each.rule.most_by_each else " at least, whatever is chosen"


def _same_together(said: Iterable[Said]) -> tuple[Said, ...]:
    """Say once, with all its days, what is said of several days in the same words."""
    days: dict[Said, list[str]] = {}
    for each in said:
        days.setdefault(replace(each, where=""), []).append(each.where)
    return tuple(replace(each, where=", ".join(places)) for each, places in days.items())


def _crumb(crumb: Crumb, days: Sequence[date]) -> Said:
    says = crumb_sentence(crumb).partition(": ")[2]
    return _of_rule(where(crumb.day, days), crumb.rule, crumb.rule.what, says)


def _milk(found: dict[str, object], days: Sequence[date]) -> Said:
    day = found["day"]
    assert isinstance(day, int)
    says = str(found["says"]).partition(": ")[2]
    return Said(where(day, days), "milk", says, str(found["note"] or ""), str(found["source"]), str(found["verified"]))


def _of_rule(place: str, rule: Rule, what: str, says: str) -> Said:
    note = rule.note if rule.note != says else ""
    note = f"{note[0].upper()}{note[1:]}." if note else ""
    note = " ".join(filter(None, [note, SCALED if rule.computed else ""]))
    return Said(place, what, says, note, rule.source, rule.verified)
