"""Published sample weeks: their own totals, and what their own claims say must be found and must not be.

Sources: M01, M03: Louisiana Fit Kids, K-8 lunch menu week 3 and 9-12 lunch menu week 4 (about 2014-2018).
M07: Connecticut State Department of Education, sample menu 3, cold lunch and supper menus for child care (about
2008-2012), ages 3 to 5. M09: traditional lunch week, grades K-5, a state agency's form (about 2014). Amounts as
printed; what a sheet does not print (grains of most dishes, nutrients) is not in the rows, and is not judged here.
"""

from __future__ import annotations

from typing import Any

import pytest

from menus.mealpattern.patterns.answer import check_week
from tests.external.published import published

ROWS = published("sample_weeks.csv")
OF = {
    "M01": ("nslp-lunch", "K-8"),
    "M03": ("nslp-lunch", "9-12"),
    "M09": ("nslp-lunch", "K-5"),
    "M07": ("cacfp-lunch", "3-5"),
}


def answer(week: str) -> dict[str, Any]:
    days: dict[str, list[dict[str, Any]]] = {}
    for row in ROWS:
        if row["week"] == week:
            food = {"food": row["food"], "credits": {row["component"]: float(row["amount"])}}
            days.setdefault(row["day"], []).append(food)
    program, group = OF[week]
    return check_week({"program": program, "group": group, "date": "2026-11-30", "days": list(days.values())})


@pytest.mark.parametrize(
    ("week", "component", "printed"),
    [
        ("M01", "fruit", 2.5),
        ("M01", "milk", 5),
        ("M01", "vegetables.red_orange", 1.5),
        ("M01", "vegetables.starchy", 1.5),
        ("M01", "vegetables.beans_peas_lentils", 0.5),
        ("M01", "vegetables.other", 0.5),
        ("M03", "fruit", 5),
        ("M03", "milk", 5),
        ("M03", "vegetables", 6),
        ("M03", "vegetables.dark_green", 2),
        ("M03", "vegetables.red_orange", 1.75),
        ("M03", "vegetables.starchy", 1),
        ("M03", "vegetables.other", 0.75),
        ("M09", "meat_alternate", 8),
        ("M09", "vegetables.dark_green", 0.875),
        ("M09", "vegetables.red_orange", 1),
    ],
)
def test_totals_of_the_week(week: str, component: str, printed: float) -> None:
    """As printed on the sheet, or worked from it in the collection of examples."""
    assert answer(week)["totals"]["components"][component]["week"] == printed


@pytest.mark.parametrize("week", ["M01", "M03"])
def test_a_week_that_claims_to_meet_its_pattern_meets_it_where_it_prints_amounts(week: str) -> None:
    """Fruit, vegetables with each subgroup, and milk, by day and week, of two complete sample weeks."""
    found = {finding["rule"] for finding in answer(week)["findings"]}
    assert not {rule for rule in found if not rule.startswith(("nslp-lunch/grains", "nslp-lunch/meat-alternate"))}


def test_the_week_planned_to_eight_ounces_meets_what_it_was_planned_to() -> None:
    """M09: 8 oz eq of meat alternates a week and 1 a day, dark green, red-orange; not all other rows are legible."""
    met = {each["rule"] for each in answer("M09")["measures"] if each["is"] == "met"}
    short = {each["rule"] for each in answer("M09")["measures"] if each["is"] == "short"}
    for rule in ("meat-alternate-day", "meat-alternate-week", "dark-green-week", "red-orange-week", "beans-week"):
        assert f"nslp-lunch/{rule}" in met - short


def test_portions_for_three_to_five() -> None:
    """M07: meat, vegetable, fruit and milk as printed; the pattern of 2017 asks for fruit beside the vegetable.

    The second meal's banana is printed in pieces and not in cups, so its fruit is found short. Grains are not printed.
    """
    found = [(each["rule"].partition("/")[2], each["when"]) for each in answer("M07")["findings"]]
    assert found == [("grains-day", "day 1"), ("fruit-day", "day 2"), ("grains-day", "day 2")]
