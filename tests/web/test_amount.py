"""How much a serving would bring: for licensed staff, with the formula and its cautions, and nothing kept."""

from __future__ import annotations

from decimal import Decimal

import pytest

from menus.kitchen.dose import doses
from tests.cast import Cast
from tests.web.pages import as_user, words


def asked(cast: Cast, **fields: str) -> str:
    given = {"substance": "peanut", "ppm": "40", "grams": "50", "basis": "protein"}
    return words(as_user(cast.hakim).get("/amount/", given | fields))


def test_the_formula_and_the_dose_stand_there(cast: Cast) -> None:
    """40 mg/kg of peanut protein in 50 g are 2 mg, the FAO/WHO reference dose (ED05, consultation of 2021, part 2)."""
    assert doses()["peanut"].mg == Decimal(2)
    said = asked(cast)
    assert "40 mg/kg × 50 g ÷ 1,000 × 1 = 2 mg of protein (peanut); ÷ 2 mg = 1 of the reference dose." in said
    assert "no limit below which nobody reacts" in said and "changes no outcome" in said


def test_nothing_is_worked_out_before_anything_is_asked(cast: Cast) -> None:
    """The bare page is the form alone."""
    said = words(as_user(cast.hakim).get("/amount/"))
    assert "In one serving" not in said and "Nothing was worked out" not in said


@pytest.mark.parametrize(
    "wrong",
    [{"ppm": "-1"}, {"ppm": "NaN"}, {"ppm": "much"}, {"grams": "0"}, {"grams": ""}, {"substance": "plutonium"}],
    ids=lambda wrong: "-".join(next(iter(wrong.items()))),
)
def test_what_is_no_amount_is_refused(cast: Cast, wrong: dict[str, str]) -> None:
    """With what was typed still there."""
    said = asked(cast, **wrong)
    assert "Nothing was worked out. What you typed is still here." in said
    assert "In one serving" not in said


def test_only_licensed_staff_see_it(cast: Cast) -> None:
    """A number could be taken for a permission."""
    for person in (cast.rosa, cast.greta, cast.june):
        assert as_user(person).get("/amount/").status_code == 404
