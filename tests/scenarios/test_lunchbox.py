"""Lunchboxes and textures as the scenarios tell them, with the small cases around the meal that the service answers."""

from __future__ import annotations

import pytest
from django.utils import timezone

from compliance.checks.lunchbox import BoxAnswer, judge_box
from compliance.rules.values import Outcome
from menus.services.labels import record_label
from roster.life.lunchbox import Packed
from roster.models import Child
from tests.factories import TextureLevelFactory, UserFactory, labelled
from tests.scenarios.stage import Stage, at_treat, dish_of
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db


def boxed(stage: Stage, child: Child, *packed: Packed) -> BoxAnswer:
    """Judge a box of today."""
    return judge_box(child, stage.classroom, stage.today, packed)


def test_s32_lupin_for_a_child_who_avoids_peanut() -> None:
    """S32. Basis: FDA on lupin (read). No conflict by itself: related foods are licensed staff's to weigh."""
    stage = Stage.set()
    child = stage.child("peanut")
    lupin = labelled("lupin flour, water", name="Lupin pasta")
    (food,) = boxed(stage, child, Packed("Lupin pasta", product=lupin)).foods
    assert food.outcome is not Outcome.WITHHOLD


def test_s57_a_texture_that_nobody_stated() -> None:
    """S57. Basis: IDDSI (read). Level 5 and a sandwich without one: ask, in the box and at a treat."""
    stage = Stage.set()
    child, other = stage.child(), stage.child()
    TextureLevelFactory(child=child, food_level=5, recorded_by=UserFactory())
    sandwich = Packed("Sandwich", words="rice flour, water, salt", seen_on=stage.today)
    assert boxed(stage, child, sandwich).outcome is Outcome.REFER
    assert boxed(stage, other, sandwich).outcome is Outcome.NONE_FOUND
    answer = stage.treat(labelled("rice flour, water, salt").labels.get(), food="Sandwich")
    assert [row["child_id"] for row in answer["texture"]] == [child.pk]
    assert (answer["children"], answer["none_found"]) == (2, 1)
    assert at_treat(answer, other) == "none-found"


def test_s57_on_the_teachers_page() -> None:
    """S57 as the teacher reads it: refer, with the level and no condition."""
    stage = Stage.set()
    TextureLevelFactory(child=stage.child(), food_level=5, recorded_by=UserFactory())
    stage.treat(labelled("rice, water").labels.get())
    (check,) = stage.classroom.treat_checks.all()
    page = words(as_user(stage.teacher).get(f"/treat/{check.pk}/"))
    assert "refer for its texture" in page and "Food of texture level 5" in page and "ysphagia" not in page


def test_s62_a_newer_label_is_the_one_that_counts_from_now() -> None:
    """S62 in part. Basis: design. Of two label versions the newest is read; lots side by side are not kept apart."""
    stage = Stage.set()
    child = stage.child("milk")
    bar = labelled("oats, sugar", name="Bar")
    assert boxed(stage, child, Packed("Bar", product=bar)).outcome is Outcome.NONE_FOUND
    record_label(product=bar, seen_on=timezone.localdate(), ingredients="oats, sugar, whey")
    assert boxed(stage, child, Packed("Bar", product=bar)).outcome is Outcome.WITHHOLD


def test_s95_another_dish_at_the_counter() -> None:
    """S95 in part. Basis: FAME (read). Asked as a treat, the other food has its recorded answer at once."""
    stage = Stage.set()
    child = stage.child("milk")
    product = labelled("whole milk, sugar", name="Pudding")
    stage.serve(dish_of(labelled("rice", name="Rice"), "Rice"))
    answer = stage.treat(product.labels.get(), food="Pudding")
    assert at_treat(answer, child) == "withhold"
    assert stage.classroom.treat_checks.count() == 1
