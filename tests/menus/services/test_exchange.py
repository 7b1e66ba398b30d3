"""Another dish in the place of a planned one: written anew, refused where it cannot be, kept by planning."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from menus.models import CycleMenu, Deed, Recipe, Serving, Weekday
from menus.services.exchange import exchange_dish
from menus.services.kitchen import Doing, record_event, take_back
from menus.services.servings import plan_servings
from roster.models import Action
from tests.cast import Cast
from tests.factories import (
    ClosureFactory,
    CycleEntryFactory,
    CycleMenuFactory,
    RecipeFactory,
    ServingFactory,
    SurfaceFactory,
    cooked,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def cycle(cast: Cast) -> CycleMenu:
    """A cycle of one week with squash soup on Monday, put on the plan."""
    made: CycleMenu = CycleMenuFactory(site=cast.ferrowick, weeks=1)
    squash = cooked("Squash soup", cast.larder.rice)
    CycleEntryFactory(cycle=made, recipe=squash, weekday=Weekday.MONDAY, choice="soup")
    plan(made)
    return made


def day(cycle: CycleMenu) -> date:
    """The Monday of the week after the cycle began."""
    return cycle.starts_on + timedelta(weeks=1)


def plan(cycle: CycleMenu) -> int:
    return plan_servings(site=cycle.site, first=day(cycle), last=day(cycle))


def today(cast: Cast) -> date:
    return timezone.now().astimezone(cast.ferrowick.zone).date()


def on_plan(cycle: CycleMenu) -> list[str]:
    planned = Serving.objects.planned().filter(site=cycle.site, date=day(cycle))
    return sorted(planned.values_list("recipe__name", flat=True))


def exchanged(cast: Cast, cycle: CycleMenu, recipe: Recipe) -> Serving:
    [serving] = Serving.objects.planned().filter(site=cycle.site, date=day(cycle))
    return exchange_dish(serving=serving, recipe=recipe, today=today(cast))


def test_the_new_serving_says_where_it_stands(cast: Cast, cycle: CycleMenu) -> None:
    """The old one is withdrawn and kept; mark and cycle go over."""
    new = exchanged(cast, cycle, cast.dishes.ham_and_rice)
    assert new.in_place_of is not None
    assert (new.recipe, new.cycle, new.choice) == (cast.dishes.ham_and_rice, cycle, "soup")
    assert new.in_place_of.recipe.name == "Squash soup"
    assert Serving.objects.get(pk=new.in_place_of.pk).withdrawn_at is not None
    assert on_plan(cycle) == ["Ham and rice"]


def test_planning_leaves_it_there(cast: Cast, cycle: CycleMenu) -> None:
    """What the cycle calls for is not planned again beside it, however often dishes are exchanged."""
    exchanged(cast, cycle, cast.dishes.ham_and_rice)
    assert plan(cycle) == 0
    exchanged(cast, cycle, cast.dishes.oat_bar)
    assert plan(cycle) == 0
    assert on_plan(cycle) == ["Oat bar"]


def test_the_dish_of_the_cycle_put_back_is_as_if_nothing_had_been(cast: Cast, cycle: CycleMenu) -> None:
    """No trace but the withdrawn rows."""
    exchanged(cast, cycle, cast.dishes.ham_and_rice)
    back = exchanged(cast, cycle, Recipe.objects.get(name="Squash soup"))
    assert back.in_place_of is None and plan(cycle) == 0 and on_plan(cycle) == ["Squash soup"]


def test_it_goes_with_what_it_stands_for(cast: Cast, cycle: CycleMenu) -> None:
    """When the cycle no longer calls for the first dish, or the day is closed."""
    exchanged(cast, cycle, cast.dishes.ham_and_rice)
    cycle.entries.update(recipe=cast.dishes.oat_bar)
    assert plan(cycle) == 2 and on_plan(cycle) == ["Oat bar"]
    exchanged(cast, cycle, cast.dishes.ham_and_rice)
    ClosureFactory(site=cycle.site, first_day=day(cycle), last_day=day(cycle))
    assert plan(cycle) == 1 and on_plan(cycle) == []


def test_a_cycle_that_calls_for_the_new_dish_too_does_not_plan_it_twice(cast: Cast, cycle: CycleMenu) -> None:
    """The dish stands there already."""
    exchanged(cast, cycle, cast.dishes.ham_and_rice)
    CycleEntryFactory(cycle=cycle, recipe=cast.dishes.ham_and_rice, weekday=Weekday.MONDAY)
    assert plan(cycle) == 0 and on_plan(cycle) == ["Ham and rice"]


def test_a_dish_entered_by_hand_can_be_exchanged(cast: Cast) -> None:
    """It stays by hand."""
    new = exchange_dish(serving=cast.servings[0], recipe=a_bowl(cast), today=today(cast))
    assert new.cycle is None and new.in_place_of == cast.servings[0]
    plan_servings(site=cast.ferrowick, first=new.date, last=new.date)
    assert Serving.objects.planned().filter(pk=new.pk).exists()


def a_bowl(cast: Cast) -> Recipe:
    """A recipe with a line that stands nowhere yet."""
    return cooked("Rice bowl", cast.larder.rice)


@pytest.mark.parametrize(
    ("case", "says"),
    [
        ("withdrawn", "Somebody changed that meal meanwhile: “Peanut butter sandwich” is no longer on its plan"),
        ("past", "is past"),
        ("no lines", "has no lines"),
        ("other kitchen", "another kitchen's"),
        ("there", "“Oat bar” stands on that meal already"),
        ("same", "“Peanut butter sandwich” stands on that meal already"),
    ],
)
def test_what_cannot_be_is_refused_with_what_to_do(cast: Cast, case: str, says: str) -> None:
    """And nothing is written."""
    serving, recipe = cast.servings[0], a_bowl(cast)
    match case:
        case "withdrawn":
            Serving.objects.filter(pk=serving.pk).update(withdrawn_at=timezone.now())
        case "past":
            serving = ServingFactory(site=cast.ferrowick, date=today(cast) - timedelta(days=1))
        case "no lines":
            recipe = RecipeFactory()
        case "other kitchen":
            Recipe.objects.filter(pk=recipe.pk).update(site=cast.tansy_gate)
            recipe.refresh_from_db()
        case "there":
            recipe = cast.dishes.oat_bar
        case "same":
            recipe = serving.recipe
    before = list(Serving.objects.order_by("pk").values_list("pk", "withdrawn_at"))
    with pytest.raises(ValidationError, match=says):
        exchange_dish(serving=serving, recipe=recipe, today=today(cast))
    assert list(Serving.objects.order_by("pk").values_list("pk", "withdrawn_at")) == before


def test_a_dish_that_the_kitchen_has_begun_stays(cast: Cast) -> None:
    """Until the record is taken back."""
    board = SurfaceFactory(site=cast.ferrowick)
    serving, bowl = cast.servings[0], a_bowl(cast)
    used = record_event(site=cast.ferrowick, user=cast.greta, doing=Doing(Deed.USE, surface=board, serving=serving))
    with pytest.raises(ValidationError, match="has recorded work on “Peanut butter sandwich”"):
        exchange_dish(serving=serving, recipe=bowl, today=today(cast))
    take_back(event=used, user=cast.greta, note="another dish")
    assert exchange_dish(serving=serving, recipe=bowl, today=today(cast)).recipe == bowl


def test_a_mark_of_the_cycle_reaches_the_plan_and_leaves_the_serving(cast: Cast, cycle: CycleMenu) -> None:
    """What the kitchen recorded of the dish stands by its serving, so it is marked and not planned anew."""
    [serving] = Serving.objects.planned().filter(site=cycle.site, date=day(cycle))
    cycle.entries.update(choice="main dish")
    assert plan(cycle) == 1
    assert Serving.objects.get(pk=serving.pk).choice == "main dish"
    assert plan(cycle) == 0
    assert f'"{serving.pk}":"main dish"' in Action.objects.latest("pk").payload
