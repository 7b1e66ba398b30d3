"""Nutrients of a week as small charts, one a nutrient: the days, the figures not to miss, and how much is stated.

What is not stated is never drawn as nothing: its column is left open to the top.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from compliance.web.meals_said import counted, gap, measured
from menus.mealpattern.patterns.amount import Amount, Stands
from menus.mealpattern.patterns.judge import Judged
from menus.mealpattern.patterns.nutrients import ENERGY, average, energy_share
from menus.mealpattern.patterns.rule import Per
from menus.mealpattern.patterns.sentences import figures, shown
from menus.mealpattern.patterns.week import Week

TALL, STEP, THICK, LEFT = 96, 40, 26, 8
"""The height of a chart, from column to column, the width of one, and the room before the first."""
ROOM = Fraction(17, 20)
"""The share of the height up to the largest figure: an open column goes beyond it."""
NUTRIENTS = (
    (ENERGY, "Energy", "kcal"),
    ("saturated_fat_g", "Saturated fat", "g"),
    ("sodium_mg", "Sodium", "mg"),
    ("added_sugars_g", "Added sugars", "g"),
)


@dataclass(frozen=True, slots=True)
class Column:
    """One day. `y` and `height` are of the stated part, or of the least choice.

    `open` is the height of what nobody states above it, up to `top`, or of what choices bring beyond the least.
    """

    day: str
    x: int
    middle: float
    y: float
    height: float
    top: float
    open: float
    says: str


@dataclass(frozen=True, slots=True)
class Line:
    """A figure to reach or not to pass, at its height."""

    y: float
    says: str


@dataclass(frozen=True, slots=True)
class Chart:
    """One nutrient of the week."""

    nutrient: str
    title: str
    unit: str
    says: str
    stands: str  # "met", "short", "over", "unknown", or "none" where no rule holds
    columns: tuple[Column, ...]
    lines: tuple[Line, ...]
    source: str
    wide: int
    high: int = TALL


def charts(week: Week, days: Sequence[date], judged: Sequence[Judged]) -> list[Chart]:
    """Return the charts of a week that was judged; its nutrients are those of `week` as it was counted."""
    return [
        _chart(week, days, _rule_for(nutrient, judged), nutrient, title, unit) for nutrient, title, unit in NUTRIENTS
    ]


def _rule_for(nutrient: str, judged: Sequence[Judged]) -> Judged | None:
    return next(
        (
            each
            for each in judged
            if each.rule.per in (Per.AVERAGE, Per.ENERGY_SHARE) and each.rule.measure.partition("-")[0] == nutrient
        ),
        None,
    )


def _chart(week: Week, days: Sequence[date], judged: Judged | None, nutrient: str, title: str, unit: str) -> Chart:
    unit = judged.rule.unit if judged else f"{unit} a meal"
    found = [_of_day(replace(week, days=(foods,)), judged, nutrient) for foods in week.days]
    asked = [value for value in (judged.rule.least, judged.rule.most) if value is not None] if judged else []
    largest = max([*(_top(amount) for amount in found), *asked, Fraction(0)])
    scale = TALL * ROOM / largest if largest else Fraction(0)
    columns = [
        _column(place, day, amount, scale, unit) for place, (day, amount) in enumerate(zip(days, found, strict=True))
    ]
    return Chart(
        nutrient=nutrient,
        title=title,
        unit=unit,
        says=_says(week, judged, nutrient, unit),
        stands=str(judged.stands) if judged else "none",
        columns=tuple(columns),
        lines=tuple(_lines(judged, scale)),
        source=judged.rule.source if judged else "",
        wide=LEFT + STEP * len(columns),
    )


def _top(amount: Amount) -> Fraction:
    return amount.high if amount.chosen and amount.high is not None else amount.low


def _of_day(week: Week, judged: Judged | None, nutrient: str) -> Amount:
    if judged and judged.rule.per is Per.ENERGY_SHARE:
        return energy_share(week, judged.rule.measure) or Amount(Fraction(0), Fraction(0))
    return average(week, nutrient)


def _column(place: int, day: date, amount: Amount, scale: Fraction, unit: str) -> Column:
    height = round(float(amount.low * scale), 1)
    top = round(TALL - float(_top(amount) * scale), 1) if amount.chosen else 0.0
    x = LEFT + STEP * place
    return Column(
        day=f"{day:%a}",
        x=x,
        middle=x + THICK / 2,
        y=round(TALL - height, 1),
        height=height,
        top=top,
        open=0.0 if amount.known else round(TALL - height - top, 1),
        says=f"{day:%A}: {_amount(amount, unit)}",
    )


def _lines(judged: Judged | None, scale: Fraction) -> list[Line]:
    if judged is None:
        return []
    rule = judged.rule
    words = (("at least", rule.least), ("less than" if rule.strict else "at most", rule.most))
    return [
        Line(round(float(TALL - value * scale), 1), f"{said} {shown(value)}")
        for said, value in words
        if value is not None
    ]


def _says(week: Week, judged: Judged | None, nutrient: str, unit: str) -> str:
    if judged is None:
        found = _amount(average(week, nutrient), unit)
        return f"On average {found}. The pattern holds no figure for it on this date."
    missed = gap(judged)
    found = _amount(judged.amount, judged.rule.unit)
    standing = f": {missed}" if missed else ": not known whether it is met" if judged.stands is Stands.UNKNOWN else ""
    return f"{found}{standing}. {figures(judged.rule)}."


def _amount(amount: Amount, unit: str) -> str:
    if amount.known:
        return counted(amount.low, unit)
    if amount.chosen and amount.high is not None:
        return f"{measured(amount.low, unit)} to {counted(amount.high, unit)}, by choice"
    stated = f"{amount.stated} of {amount.foods} foods state it"
    return f"{stated}; those alone come to {counted(amount.low, unit)}" if amount.low else f"not known: {stated}"
