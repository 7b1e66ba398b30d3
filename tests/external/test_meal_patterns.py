"""The figures of the meal patterns, each with its paragraph, against 7 CFR 210.10, 220.8 and 226.20 as tabulated.

The rows were copied from tables of the regulation, not from our data files; `source` names the paragraph or the page.
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from menus.mealpattern.patterns.counted import parts
from menus.mealpattern.patterns.rule import Per, Rule
from menus.mealpattern.patterns.tables import patterns, rules
from tests.external.published import published

FIGURES = published("meal_pattern_figures.csv")
SNACKS = published("snack_amounts.csv")


def name(row: dict[str, str]) -> str:
    return f"{row['program']} {row['group']} {row['rule']} {row['days']}d {row['date']}"


def held(program: str, group: str, day: str, days: int) -> dict[str, Rule]:
    found = rules(patterns()[program, group], date.fromisoformat(day), days)
    return {rule.id.partition("/")[2]: rule for rule in found}


def figure(cell: str) -> Fraction | None:
    return Fraction(cell) if cell else None


@pytest.mark.parametrize("row", FIGURES, ids=map(name, FIGURES))
def test_figure(row: dict[str, str]) -> None:
    """The rule of that date asks for exactly what the table prints, in its unit."""
    rule = held(row["program"], row["group"], row["date"], int(row["days"]))[row["rule"]]
    assert (rule.least, rule.most, rule.unit) == (figure(row["at_least"]), figure(row["at_most"]), row["unit"])
    assert rule.verified == row["verified"] == "read"


@pytest.mark.parametrize("program", ["nslp-lunch", "sbp-breakfast"])
@pytest.mark.parametrize("group", ["K-5", "6-8", "9-12"])
def test_no_figure_of_ours_is_without_a_published_one(program: str, group: str) -> None:
    """What a week of five days is held to in 2026 and in 2027 stands in the tables."""
    shown = {row["rule"] for row in FIGURES if row["program"] == program and row["group"] == group}
    for day in ("2026-11-30", "2027-11-29"):
        ours = {key for key, rule in held(program, group, day, 5).items() if rule.per not in (Per.SAID, Per.FLOOR)}
        assert ours <= shown


@pytest.mark.parametrize("row", SNACKS, ids=lambda row: f"{row['program']} {row['group']} {row['component']}")
def test_snack_amount(row: dict[str, str]) -> None:
    """What a component of a snack must come to before it is one of the two."""
    rule = held(row["program"], row["group"], "2026-11-30", 5)["two-components-day"]
    assert parts(rule.measure)[row["component"]] == Fraction(row["amount"])
    assert rule.least == 2
