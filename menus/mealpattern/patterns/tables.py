"""Which patterns there are, and their rules on a date for a week of so many days. The figures stand in data files."""

from __future__ import annotations

import csv
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import cache, lru_cache
from importlib.resources import files

from menus.mealpattern.patterns.rule import Force, Per, Rule

NORMAL_WEEK = 5
STEPS = {"cup": Fraction(1, 4), "oz eq": Fraction(1, 2)}
"""To what a scaled figure is rounded (California CDE, "Lunch Meal Pattern: Short and Long Weeks")."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """A program for one group of children."""

    program: str
    group: str
    title: str
    scheme: str  # which components foods are credited in
    file: str
    rules_of: tuple[str, ...]  # several: all of them hold at once
    least_days: int
    most_days: int
    held_from: date  # no rules are held for the days before
    read_on: date  # when the sources were last read


@cache
def patterns() -> dict[tuple[str, str], Pattern]:
    """Return every pattern by program and group."""
    return {(row["program"], row["group"]): _pattern(row) for row in rows("programs.csv")}


@lru_cache(maxsize=256)
def rules(pattern: Pattern, day: date, days: int) -> tuple[Rule, ...]:
    """Return the rules that hold on the day for a week of so many days, in the order of the file."""
    held: dict[str, Rule] = {}
    for row in rows(f"{pattern.file}.csv"):
        if set(row["groups"].split(";")) & set(pattern.rules_of) and _holds(row, day, days):
            rule = _rule(pattern.file, row, days)
            held[rule.id] = _stricter(held[rule.id], rule) if rule.id in held else rule
    return tuple(held.values())


@cache
def units(scheme: str) -> dict[str, str]:
    """Return the unit of each component in which foods of the scheme are credited."""
    return {row["component"]: row["unit"] for row in rows("components.csv") if row["scheme"] == scheme}


@cache
def component_names(scheme: str) -> dict[str, str]:
    """Return the component that each accepted name stands for."""
    return {
        name: row["component"]
        for row in rows("components.csv")
        if row["scheme"] == scheme
        for name in (row["component"], *filter(None, row["also"].split(";")))
    }


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of a data file of this package."""
    with (files("menus.mealpattern.patterns") / "data" / name).open(encoding="utf-8") as lines:
        return tuple(csv.DictReader(lines))


def scaled(figure: Fraction, unit: str, days: int) -> Fraction:
    """Return a figure of a week of five days for one of so many days, rounded to the step of the unit, half up."""
    step = STEPS[unit]
    return (figure * days / NORMAL_WEEK / step + Fraction(1, 2)) // 1 * step


def _pattern(row: dict[str, str]) -> Pattern:
    return Pattern(
        program=row["program"],
        group=row["group"],
        title=row["title"],
        scheme=row["scheme"],
        file=row["file"],
        rules_of=tuple(row["rules_of"].split(";")),
        least_days=int(row["least_days"]),
        most_days=int(row["most_days"]),
        held_from=date.fromisoformat(row["held_from"]),
        read_on=date.fromisoformat(row["read_on"]),
    )


def _holds(row: dict[str, str], day: date, days: int) -> bool:
    dated = (row["from"] or date.min.isoformat()) <= day.isoformat() <= (row["to"] or date.max.isoformat())
    return dated and (row["scales"] == "yes" or not row["days"] or str(days) in row["days"].split(";"))


def _rule(file: str, row: dict[str, str], days: int) -> Rule:
    computed = row["scales"] == "yes" and days != NORMAL_WEEK

    def figure(cell: str) -> Fraction | None:
        if not cell:
            return None
        return scaled(Fraction(cell), row["unit"], days) if computed else Fraction(cell)

    return Rule(
        id=f"{file}/{row['rule']}",
        what=row["what"],
        per=Per(row["per"]),
        measure=row["measure"],
        of=row["of"],
        least=figure(row["least"]),
        most=figure(row["most"]),
        strict=row["strict"] == "yes",
        unit=row["unit"],
        force=Force(row["force"]),
        note=row["note"],
        source=row["source"],
        verified=row["verified"],
        computed=computed,
    )


def _stricter(one: Rule, other: Rule) -> Rule:
    """Return the rule that asks for what both ask for: one menu for two groups meets the figures of each."""
    least = max((figure for figure in (one.least, other.least) if figure is not None), default=None)
    most = min((figure for figure in (one.most, other.most) if figure is not None), default=None)
    return replace(one, least=least, most=most)
