"""What was found, in words."""

from __future__ import annotations

from fractions import Fraction

from menus.mealpattern.patterns.amount import Stands
from menus.mealpattern.patterns.judge import Crumb, Judged
from menus.mealpattern.patterns.rule import Rule


def sentence(each: Judged) -> str:
    """Return what was found, and what is needed."""
    where = f"Day {each.day}" if each.day else "Week"
    what = f"{each.rule.what} of “{each.food}”" if each.food else each.rule.what
    if each.stands is Stands.UNKNOWN:
        return f"{where}, {what}: not known, as {_part(each)}. {figures(each.rule)}."
    by_choice = ", by what is chosen" if each.amount.chosen else ""
    return f"{where}, {what}: {_found(each)} {each.rule.unit}{by_choice}. {figures(each.rule)}."


def crumb_sentence(crumb: Crumb) -> str:
    """Return why a credit was left out."""
    if crumb.rule.least is None:
        return (
            f"Day {crumb.day}: “{crumb.food}” is given {shown(crumb.found)} {crumb.rule.unit}. In this program "
            f"{crumb.rule.what} credit nothing, so it was left out."
        )
    return (
        f"Day {crumb.day}: “{crumb.food}” credits {shown(crumb.found)} {crumb.rule.unit} of {crumb.rule.what}. "
        f"Less than {shown(crumb.rule.least)} in one food counts for nothing, so it was left out."
    )


def figures(rule: Rule) -> str:
    """Return the figures of a rule."""
    upper = "less than" if rule.strict else "at most"
    parts = [f"at least {shown(rule.least)}"] if rule.least is not None else []
    parts += [f"{upper} {shown(rule.most)}"] if rule.most is not None else []
    asked = "A planning figure" if rule.force == "guidance" else "The rule"
    return f"{asked}: {' and '.join(parts)} {rule.unit}"


def number(value: Fraction | None) -> float | None:
    """Return a figure as JSON has it, to the thousandth."""
    return None if value is None else round(float(value), 3)


def shown(value: Fraction) -> str:
    """Return a figure as people write it."""
    return f"{float(value):,.3f}".rstrip("0").rstrip(".")


def _found(each: Judged) -> str:
    low, high = each.amount.low, each.amount.high
    if low == high:
        return shown(low)
    if each.amount.chosen and high is not None:
        return f"from {shown(low)} to {shown(high)}"
    short = each.short_at if each.stands is Stands.SHORT else None
    return f"at least {shown(each.over_at)}" if short is None else f"at most {shown(short)}"


def _part(each: Judged) -> str:
    amount, unit = each.amount, each.rule.unit
    if amount.chosen and amount.high is not None:
        return f"it goes from {shown(amount.low)} to {shown(amount.high)} {unit} by what is chosen"
    if amount.foods:
        stated = f"{amount.stated} of {amount.foods} foods state what it takes"
        return f"{stated}; those alone come to {shown(amount.low)} {unit}" if amount.low else stated
    high = "more" if amount.high is None else shown(amount.high)
    return f"some foods do not say; it may be from {shown(amount.low)} to {high} {unit}"
