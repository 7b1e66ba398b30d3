"""A drink in place of milk: held against the regulation's table, with who may ask and sign, for licensed staff alone.

Figures: 7 CFR 210.10(d)(2)(ii) Table 2; who asks and signs: 210.10(d)(2) and (m)(1), 226.20(g)(1), P.L. 119-69.
"""

from __future__ import annotations

import pytest

from menus.mealpattern.milk_substitute import table
from tests.cast import Cast
from tests.web.pages import as_user, soup, words

ALMOND = {"calcium_mg": "450", "protein_g": "1"}
"""Label values of an invented drink: common practice, no source."""
FULL = {row["nutrient"]: row["least"] for row in table()}


def asked(cast: Cast, **fields: str) -> str:
    given = {"program": "nslp-lunch", "day": "2026-11-30", "need": "preference", "serving_ml": "240"}
    return words(as_user(cast.hakim).get("/meals/milk/", given | fields))


def test_what_it_misses_stands_first_and_by_how_much(cast: Cast) -> None:
    said = asked(cast, **ALMOND)
    assert "Not equivalent to milk Per cup it falls short in protein by 7 g." in said
    assert "Not stated on the label: vitamin A, vitamin D, magnesium" in said
    assert "cannot be claimed with this drink" in said


def test_a_drink_that_reaches_every_figure(cast: Cast) -> None:
    """At school lunch a family's own reason is enough then, with a written request."""
    said = asked(cast, **FULL)
    assert "Equivalent to milk by its label" in said and "short by" not in said
    assert "parent or guardian, or State licensed healthcare professional, or registered dietitian" in said
    assert "cannot be claimed" not in said


def test_what_is_not_stated_is_unknown_and_never_enough(cast: Cast) -> None:
    """No figure at all, and all but one: neither is equivalent."""
    assert "so nobody can tell whether it is equivalent" in asked(cast)
    said = asked(cast, **FULL | {"riboflavin_mg": ""})
    assert "The label does not state riboflavin," in said and "Until every figure is known" in said
    assert "not known: ask the maker" in said


def test_the_serving_is_scaled_to_the_cup(cast: Cast) -> None:
    """8 g in 480 ml are 4 g in a cup."""
    assert "protein by 4 g" in asked(cast, **FULL | {"protein_g": "8", "calcium_mg": "999", "serving_ml": "480"})


@pytest.mark.parametrize(
    ("program", "day", "signs"),
    [
        ("nslp-lunch", "2026-01-13", "State licensed healthcare professional, or registered dietitian The meal"),
        ("nslp-lunch", "2026-01-14", "licensed physician, or parent or guardian The meal"),
        ("cacfp-lunch", "2026-11-30", "State licensed healthcare professional, or registered dietitian The meal"),
    ],
)
def test_who_signs_goes_by_program_and_date(cast: Cast, program: str, day: str, signs: str) -> None:
    """P.L. 119-69 of 2026-01-14 lets a parent sign for the milk substitute at school lunch, and nowhere else."""
    said = asked(cast, program=program, day=day, need="disability", **ALMOND)
    assert signs in said and "may be claimed" in said


def test_milk_without_lactose_is_milk(cast: Cast) -> None:
    said = asked(cast, lactose_free="on")
    assert "It is cow's milk" in said and "Whoever must avoid milk itself must avoid it too." in said
    assert "No signature is needed." in said


def test_a_case_without_a_rule_is_said(cast: Cast) -> None:
    """No rule is held for child care that offers another drink to all."""
    assert "No rule is on file for this case." in asked(cast, program="cacfp-lunch", need="offered_to_all", **FULL)


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"protein_g": "-1"}, "greater than or equal to 0"),
        ({"protein_g": "much"}, "Enter a number"),
        ({"serving_ml": "0"}, "greater than or equal to 1"),
        ({"serving_ml": ""}, "This field is required"),
        ({"day": "soon"}, "This is no date"),
        ({"vitamin_d_ug": "2.5", "vitamin_d_iu": "100"}, "This stands in two units."),
    ],
    ids=lambda case: next(iter(case)) if isinstance(case, dict) else "",
)
def test_what_is_no_label_is_refused_and_kept(cast: Cast, wrong: dict[str, str], why: str) -> None:
    page = as_user(cast.hakim).get("/meals/milk/", {"program": "nslp-lunch", "need": "disability", **wrong})
    said = words(page)
    assert "Nothing was compared. What you typed is still here." in said and why in said
    name, typed = next(iter(wrong.items()))
    assert soup(page).find(attrs={"name": name}).get("value", "") == typed


def test_the_bare_page_compares_nothing(cast: Cast) -> None:
    said = words(as_user(cast.hakim).get("/meals/milk/"))
    assert "Who asks, who signs" not in said and "Nothing was compared" not in said


def test_only_licensed_staff_see_it(cast: Cast) -> None:
    for person in (cast.rosa, cast.greta, cast.tomas, cast.june):
        assert as_user(person).get("/meals/milk/").status_code == 404
