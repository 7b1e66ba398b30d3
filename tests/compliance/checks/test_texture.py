"""Levels of texture beside the dishes of a day: who needs which, and what is said of it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from compliance.checks.texture import dish_textures, levels_asked, levels_by_site
from compliance.checks.texturesaid import levels_counted, meal_lines, texture_lines
from menus.models import Serving
from tests.cast import Cast
from tests.factories import EnrolmentFactory, ServingFactory, TextureLevelFactory, cooked, recook

pytestmark = pytest.mark.django_db


def said(serving: Serving) -> list[str]:
    """What stands beside the dish in its kitchen today."""
    now, day = timezone.now(), timezone.localdate()
    levels = levels_by_site([serving.site_id], day, now)
    dish = dish_textures([serving], levels, now).get(serving.pk)
    return [str(each) for each in texture_lines(dish)] if dish else []


@pytest.fixture
def mash(cast: Cast) -> Serving:
    """A dish that states no level."""
    return ServingFactory.create(site=cast.ferrowick, recipe=cooked("Mash", cast.larder.rice))


def test_a_dish_that_states_no_level_is_a_question(cast: Cast, mash: Serving) -> None:
    for child in (cast.kofi, cast.bao):
        TextureLevelFactory(child=child, drink_level=2)
    assert said(mash) == [
        "2 at food level 5; 2 at drink level 2. This dish states no level: do not serve it as it is. Prepare it to the "
        "level set and ask licensed staff."
    ]


@pytest.mark.parametrize(
    ("stated", "words"),
    [
        (7, "made to level 7: do not serve it as it is. Prepare it to the level set."),
        (4, "made to level 4, which is not the level set: ask licensed staff"),
        (5, ""),
    ],
)
def test_what_the_dish_states_counts(cast: Cast, mash: Serving, stated: int, words: str) -> None:
    """As the recipe stands now, and not as it once stood."""
    TextureLevelFactory(child=cast.kofi)
    recook(mash.recipe, [cast.larder.rice], texture=5 if stated != 5 else None)
    recook(mash.recipe, [cast.larder.rice], texture=stated)
    assert [words in line for line in said(mash)] == ([True] if words else [])


def test_a_new_recipe_has_to_state_it_again(cast: Cast, mash: Serving) -> None:
    """Silence is not absence."""
    TextureLevelFactory(child=cast.kofi)
    recook(mash.recipe, [cast.larder.rice], texture=5)
    assert said(mash) == []
    recook(mash.recipe, [cast.larder.rice, cast.larder.ham])
    assert "states no level" in said(mash)[0]


@pytest.mark.parametrize("level", [{"food_level": 7}, {"food_level": None, "drink_level": 0}])
def test_ordinary_food_and_thin_drink_ask_nothing(cast: Cast, mash: Serving, level: dict[str, int | None]) -> None:
    TextureLevelFactory(child=cast.kofi, **level)
    assert said(mash) == [] and levels_asked([cast.kofi.pk], timezone.now()) == {}


def test_an_ended_level_asks_nothing_and_one_past_its_date_does(cast: Cast, mash: Serving) -> None:
    """Past its date it goes on holding, until licensed staff end it."""
    day = timezone.localdate()
    old = TextureLevelFactory(child=cast.kofi, signed_on=day - timedelta(days=500), review_on=day - timedelta(days=1))
    assert len(said(mash)) == 1
    TextureLevelFactory(
        child=cast.kofi, replaces=old, ended=True, end_reason="Reviewed.", food_level=None, signatory="",
        signed_on=None, review_on=None,
    )  # fmt: skip
    assert said(mash) == []


def test_only_children_who_are_there_count(cast: Cast, mash: Serving) -> None:
    """Neither another site's, nor one who left; a child in two classes counts once."""
    TextureLevelFactory(child=cast.ravi)
    gone = EnrolmentFactory(classroom=cast.larks, ends_on=timezone.localdate() - timedelta(days=1))
    TextureLevelFactory(child=gone.child)
    assert said(mash) == []
    TextureLevelFactory(child=cast.bao)
    EnrolmentFactory(child=cast.bao, classroom=cast.ferrowick.classrooms.create(name="Wrens"))
    assert said(mash)[0].startswith("1 at food level 5. ")


def test_the_kitchen_counts_by_level(cast: Cast) -> None:
    """Food first, each level once, in words."""
    for child, food, drink in ((cast.kofi, 5, None), (cast.bao, 5, 2), (cast.noor, 4, None)):
        TextureLevelFactory(child=child, food_level=food, drink_level=drink)
    levels = levels_by_site([cast.ferrowick.pk], timezone.localdate(), timezone.now())
    assert levels_counted(levels) == [
        "1 at food level 4 (smooth and thick, no lumps, no chewing)",
        "2 at food level 5 (soft and moist, with small soft lumps)",
        "1 at drink level 2 (flows from a spoon more slowly than water)",
    ]


def test_a_kitchen_that_feeds_several_sites_says_for_which(cast: Cast, mash: Serving) -> None:
    there = ServingFactory.create(site=cast.tansy_gate, recipe=mash.recipe)
    TextureLevelFactory(child=cast.ravi)
    found = meal_lines([mash, there], timezone.localdate(), timezone.now(), {})
    assert [dish for dish, _ in found] == ["Mash, for Tansy Gate Daycare"]


def test_two_queries_and_one_where_nobody_has_a_level(cast: Cast, mash: Serving, django_assert_num_queries) -> None:
    """However many children and dishes."""
    day, now = timezone.localdate(), timezone.now()
    with django_assert_num_queries(1):
        assert meal_lines([mash], day, now, {}) == []
    for child in (cast.kofi, cast.bao, cast.noor):
        TextureLevelFactory(child=child)
    servings = list(Serving.objects.filter(site=cast.ferrowick).select_related("recipe", "site"))
    with django_assert_num_queries(2):
        assert len(meal_lines(servings, day, timezone.now(), {})) == len(servings)
