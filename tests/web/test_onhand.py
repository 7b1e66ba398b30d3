"""The page of dishes on hand: who says what there is, what is refused, and how it ends."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.utils import timezone

from menus.models import Alternative
from roster.models import Action
from tests.cast import Cast
from tests.factories import AlternativeFactory, RecipeFactory, cooked
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db

PAGE = "/kitchen/on-hand/"


def typed(cast: Cast, **more: Any) -> dict[str, Any]:
    """The yogurt cup from today on."""
    return {"recipe": cast.dishes.yogurt_cup.pk, "starts_on": timezone.localdate().isoformat(), **more}


def test_a_dish_is_put_on_hand_and_is_on_record(cast: Cast) -> None:
    more = {"portions": 12, "cost": "0.80", "meals": ["lunch"], "note": "Cold store"}
    shown = as_user(cast.greta).post(f"{PAGE}?site=ferrowick", typed(cast, **more), follow=True)
    assert "Yogurt cup is on hand" in words(shown)
    assert "For lunch." in words(shown) and "12 portions a week; 0.80 a portion" in words(shown)
    kept = Alternative.objects.get()
    assert (kept.site, kept.portions, kept.meals) == (cast.ferrowick, 12, ["lunch"])
    assert Action.objects.filter(verb="recorded", subject=f"alternative {kept.pk}", actor=cast.greta).exists()


def test_a_dish_on_hand_is_not_put_there_twice(cast: Cast) -> None:
    AlternativeFactory(site=cast.ferrowick, recipe=cast.dishes.yogurt_cup)
    shown = as_user(cast.greta).post(f"{PAGE}?site=ferrowick", typed(cast, note="By the door"))
    assert "already. End that entry first" in words(shown) and b"By the door" in shown.content
    assert Alternative.objects.count() == 1


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"recipe": ""}, "Choose the dish that is on hand."),
        ({"ends_on": "2020-01-01"}, "The last day lies before the first."),
        ({"portions": "-1"}, "greater than or equal to 0"),
        ({"starts_on": "soon"}, "This is no date."),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_typed_is_lost(cast: Cast, more: dict[str, Any], said: str) -> None:
    shown = as_user(cast.greta).post(f"{PAGE}?site=ferrowick", typed(cast, note="Shelf 4") | more)
    assert said in words(shown) and b"Shelf 4" in shown.content and not Alternative.objects.exists()


def test_what_stands_for_milk_say_licensed_staff(cast: Cast) -> None:
    as_user(cast.greta).post(f"{PAGE}?site=ferrowick", typed(cast, milk_cups="1"))
    assert Alternative.objects.get().milk_cups is None
    assert "cups of milk" not in words(as_user(cast.greta).get(PAGE))
    Alternative.objects.update(ends_on=timezone.localdate() - timedelta(days=1), starts_on=date(2020, 1, 1))
    as_user(cast.hakim).post(f"{PAGE}?site=ferrowick", typed(cast, milk_cups="1"))
    assert Alternative.objects.get(ends_on=None).milk_cups == 1


def test_a_dish_of_another_site_and_one_without_a_recipe_are_not_offered(cast: Cast) -> None:
    theirs = cooked("Gate porridge", cast.larder.rice, site=cast.tansy_gate)
    empty = RecipeFactory(name="Nothing in it")
    for recipe in (theirs, empty):
        as_user(cast.greta).post(f"{PAGE}?site=ferrowick", typed(cast, recipe=recipe.pk))
    assert not Alternative.objects.exists()


def test_it_ends_on_the_day_that_is_given(cast: Cast) -> None:
    entry = AlternativeFactory(site=cast.ferrowick, recipe=cast.dishes.yogurt_cup)
    address, today = f"{PAGE}{entry.pk}/end/", timezone.localdate().isoformat()
    assert "that is no day" in words(as_user(cast.greta).post(address, {"last_day": "soon"}, follow=True))
    assert "is on hand until" in words(as_user(cast.greta).post(address, {"last_day": today}, follow=True))
    assert "it has ended already" in words(as_user(cast.greta).post(address, {"last_day": today}, follow=True))
    entry.refresh_from_db()
    assert entry.ends_on == timezone.localdate()


@pytest.mark.parametrize("who", ["pavel", "june", "rosa", "ursula"])
def test_who_does_not_cook_there_changes_nothing(cast: Cast, who: str) -> None:
    entry = AlternativeFactory(site=cast.ferrowick, recipe=cast.dishes.yogurt_cup)
    client = as_user(getattr(cast, who))
    assert client.post(f"{PAGE}{entry.pk}/end/", {"last_day": "2026-01-01"}).status_code == 404
    assert client.get(PAGE, {"site": "ferrowick"}).status_code == 404
    entry.refresh_from_db()
    assert entry.ends_on is None
