"""Scenarios of an almond drink in place of milk, through the page that a dietitian uses and the check that protects.

S52 and S53. The table is 7 CFR 210.10(d)(2)(ii), claims go by 210.10(m)(1)-(2).
"""

from __future__ import annotations

import pytest

from roster.models import Role
from tests.factories import PostFactory
from tests.scenarios.stage import NONE_FOUND, Stage, dish_of, labelled_as
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db

DRINK = {"protein_g": "1", "calcium_mg": "450"}
WORDS = {
    "ingredients": "almonds, water, calcium carbonate",
    "contains": "Contains: almonds.",
    "precautionary": "",
    "claims": "",
}


def page(stage: Stage, need: str) -> str:
    dietitian = PostFactory(role=Role.LICENSED, site=stage.site, classroom=None).user
    asked = {"program": "cacfp-lunch", "day": stage.today.isoformat(), "need": need, **DRINK}
    return words(as_user(dietitian).get("/meals/milk/", asked))


def test_s52_a_drink_that_misses_protein_is_not_claimed_for_a_familys_own_reason() -> None:
    """Protein is 7 g short; what the label means for a child with a tree nut allergy is judged apart."""
    stage = Stage.set()
    said = page(stage, "preference")
    assert "falls short in protein by 7 g" in said and "cannot be claimed with this drink" in said
    allergic, other = stage.child("tree-nut"), stage.child("milk")
    drink = dish_of(labelled_as(WORDS), "Almond drink")
    stage.serve(drink)
    stage.check()
    assert stage.at_dish(allergic, "Almond drink") == "withhold"
    assert stage.at_dish(other, "Almond drink") == NONE_FOUND


def test_s53_the_same_drink_on_a_signed_statement_is_claimed_and_its_lack_stays_shown() -> None:
    said = page(Stage.set(), "disability")
    assert "may be claimed with that request or statement on file" in said
    assert "State licensed healthcare professional, or registered dietitian" in said
    assert "falls short in protein by 7 g" in said and "short by 7 g" in said
