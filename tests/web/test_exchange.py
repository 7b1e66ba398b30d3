"""A dish that was tried out, taken over into the plan: asked first, with whom it concerns, then done or refused."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

import pytest
from django.http import HttpResponse
from django.utils import timezone

from compliance.checks.recheck import sites_touched
from menus.models import Deed, Recipe, Serving
from menus.services.kitchen import Doing, record_event
from menus.signals import facts_changed
from roster.models import Action, User, Verb
from tests.cast import Cast
from tests.factories import PlanStepFactory, ServingFactory, SurfaceFactory, cooked
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db

PAGE = "/meals/exchange/"


@pytest.fixture
def bowl(cast: Cast) -> Recipe:
    """Rice alone, which concerns nobody of the cast."""
    return cooked("Rice bowl", cast.larder.rice)


def asked(serving: Serving, recipe: Recipe, **more: Any) -> str:
    given = {"site": serving.site.code, "meal": serving.meal, "try": f"{serving.pk}:{recipe.code}", "take": serving.pk}
    return urlencode(given | more, doseq=True)


def look(user: User, serving: Serving, recipe: Recipe, **more: Any) -> HttpResponse:
    return as_user(user).get(f"{PAGE}?{asked(serving, recipe, **more)}")


def take_over(user: User, serving: Serving, recipe: Recipe, looked: str = "1", **more: Any) -> HttpResponse:
    return as_user(user).post(f"{PAGE}?{asked(serving, recipe, **more)}", {"looked": looked})


def on_plan(serving: Serving) -> list[str]:
    planned = Serving.objects.planned().filter(site=serving.site, date=serving.date, meal=serving.meal)
    return sorted(planned.values_list("recipe__name", flat=True))


def test_it_asks_first_and_says_whom_the_dish_concerns(cast: Cast) -> None:
    """Ham in place of a sandwich: two children of whom nobody thought; nothing is written by looking."""
    sandwich = cooked("Ham sandwich", cast.larder.ham)
    before = Serving.objects.count()
    said = words(look(cast.hakim, cast.servings[0], sandwich))
    assert "Serve Ham sandwich in place of Peanut butter sandwich?" in said
    assert "2 children are not given Ham sandwich" in said
    assert "Saoirse Example (meat of mammals) : withhold Yusuf Example (pork) : withhold" in said
    assert "Peanut butter sandwich, as planned, concerns 2 children." in said
    assert "This meal is today." in said
    assert Serving.objects.count() == before


def test_none_found_is_said_as_such(cast: Cast, bowl: Recipe) -> None:
    said = words(look(cast.tomas, cast.servings[0], bowl))
    assert "No child is concerned, in the records checked" in said
    assert "“None found” means no conflict found in the records checked." in said


def test_what_it_leaves_on_equipment_is_said_of_the_other_dishes(cast: Cast, bowl: Recipe) -> None:
    """The oat bar goes over the board before the rice; taken off the plan, it leaves nothing there."""
    board = SurfaceFactory(site=cast.ferrowick)
    day = timezone.now().astimezone(cast.ferrowick.zone).date() + timedelta(days=1)
    bar, rice = (ServingFactory(site=cast.ferrowick, date=day, recipe=each) for each in (cast.dishes.oat_bar, bowl))
    for hour, recipe in enumerate((bar.recipe, rice.recipe), start=9):
        PlanStepFactory(surface=board, recipe=recipe, at=f"{hour:02}:00")
    said = words(look(cast.hakim, bar, cooked("Rice cake", cast.larder.rice)))
    assert "Other dishes of the day: what disappears" in said
    assert said.index("what disappears") < said.index("Anneke Example")


def test_taken_over_it_is_on_the_plan_on_record_and_checked_again(cast: Cast, bowl: Recipe) -> None:
    """The old serving is kept; the day waits to be read again; other trials stay in the address."""
    heard: list[Serving] = []

    def hear(instance: Serving, **_: Any) -> None:
        heard.append(instance)

    facts_changed.connect(hear, sender=Serving)
    old, ham = cast.servings[0], cast.servings[2]
    others = [f"{old.pk}:{bowl.code}", f"{ham.pk}:{bowl.code}"]
    answer = take_over(cast.tomas, old, bowl, **{"try": others})
    assert answer.status_code == 302
    there = urlsplit(answer["Location"])
    assert there.path == "/meals/" and parse_qs(there.query)["try"] == others[1:]
    assert on_plan(old) == ["Ham and rice", "Oat bar", "Rice bowl"]
    new = Serving.objects.get(recipe=bowl)
    entry = Action.objects.filter(verb=Verb.RECORDED, subject=f"serving {new.pk}").get()
    assert entry.actor == cast.tomas and f'"in_place_of":{old.pk}' in entry.payload
    assert heard == [new] and list(sites_touched(new)) == [cast.ferrowick]


def test_without_the_tick_nothing_is_changed(cast: Cast, bowl: Recipe) -> None:
    answer = take_over(cast.tomas, cast.servings[0], bowl, looked="")
    assert answer.status_code == 200 and "Tick the box once you have looked at it." in words(answer)
    assert "Rice bowl" not in on_plan(cast.servings[0])


def test_a_plan_that_somebody_changed_meanwhile_is_shown(cast: Cast, bowl: Recipe) -> None:
    """Two who take over for one place: the second is told, and sees what stands there now."""
    take_over(cast.tomas, cast.servings[0], bowl)
    answer = take_over(cast.hakim, cast.servings[0], cooked("Pasta", cast.larder.bread))
    said = words(answer)
    assert "Pasta was not put on the plan" in said and "Somebody changed that meal meanwhile" in said
    assert "Rice bowl" in said and on_plan(cast.servings[0]) == ["Ham and rice", "Oat bar", "Rice bowl"]


@pytest.mark.parametrize("when", ["past", "begun"])
def test_what_was_served_stays(cast: Cast, bowl: Recipe, when: str) -> None:
    """A day gone by, or a dish that the kitchen has begun with: refused when looked at and when sent."""
    serving = cast.servings[0]
    if when == "past":
        serving = ServingFactory(site=cast.ferrowick, date=serving.date - timedelta(days=2))
    else:
        board = SurfaceFactory(site=cast.ferrowick)
        record_event(site=cast.ferrowick, user=cast.greta, doing=Doing(Deed.USE, surface=board, serving=serving))
    for answer in (look(cast.tomas, serving, bowl), take_over(cast.tomas, serving, bowl)):
        assert "Nothing was changed." in words(answer)
    assert serving.recipe.name in on_plan(serving)


def test_only_who_plans_menus_comes_here_and_only_to_their_site(cast: Cast, bowl: Recipe) -> None:
    """Kitchen managers, licensed staff, administrators. Another site's serving answers 404 to a manager."""
    assert [look(user, cast.servings[0], bowl).status_code for user in (cast.tomas, cast.hakim, cast.june)] == [200] * 3
    assert {look(user, cast.servings[0], bowl).status_code for user in (cast.greta, cast.rosa, cast.amara)} == {404}
    yogurt = cast.servings[-1]
    assert look(cast.tomas, yogurt, bowl).status_code == 404
    assert look(cast.tomas, yogurt, bowl, site="ferrowick").status_code == 404
    assert take_over(cast.greta, cast.servings[0], bowl).status_code == 404


def test_nothing_tried_out_is_nothing_to_take_over(cast: Cast, bowl: Recipe) -> None:
    """A recipe that is not there, a serving that is not tried out, no number."""
    for wrong in ({"try": f"{cast.servings[0].pk}:no-such"}, {"take": cast.servings[1].pk}, {"take": "x"}):
        assert look(cast.tomas, cast.servings[0], bowl, **wrong).status_code == 404


def test_the_meals_lead_there(cast: Cast, bowl: Recipe) -> None:
    """For who plans menus; a cook is told whom to ask."""
    trial = f"/meals/?{asked(cast.servings[0], bowl)}"
    link = soup(as_user(cast.tomas).get(trial)).find("a", string="Take it over into the plan …")
    assert link is not None and as_user(cast.tomas).get(link["href"]).status_code == 200
    cook = words(as_user(cast.greta).get(trial))
    assert "Take it over" not in cook and "Ask whoever plans the menus to take it over" in cook
