"""The page on the meals of a week: what is short, the bars, and a dish tried out in place of another."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from urllib.parse import quote

import pytest
from django.http import HttpResponse

from menus.models import Meal, Recipe, Serving
from menus.services.patterns import set_pattern
from roster.models import User
from tests.cast import Cast
from tests.factories import ServingFactory
from tests.web.meals_weeks import Kitchen, a_kitchen, next_monday, planned
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db

PAGE = "/meals/"
LUNCH = ("Turkey sandwich", "Pears", "Garden salad", "1% milk")
CHILI = {
    "food": "Bean chili",
    "credits": {"vegetables.beans_peas_lentils": 0.5, "vegetables.starchy": 0.5, "meat_alternate": 2},
    "nutrients": {"energy_kcal": 250, "sodium_mg": 300, "saturated_fat_g": 2},
}


@pytest.fixture
def kitchen(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> Kitchen:
    """A lunch of four dishes at Ferrowick on each day of the coming week."""
    made = a_kitchen(monkeypatch, CHILI)
    planned(cast.ferrowick, *LUNCH)
    planned(cast.ferrowick, "Bean chili", days=0)
    return made


def page(user: User, **asked: Any) -> HttpResponse:
    given = {"site": "ferrowick", "meal": "lunch", "from": next_monday().isoformat()} | asked
    return as_user(user).get(PAGE, given)


def first(name: str) -> Serving:
    return Serving.objects.filter(recipe__name=name, date=next_monday()).get()


def recipe(name: str) -> Recipe:
    return Recipe.objects.get(name=name)


def code(name: str) -> str:
    return recipe(name).code


def bars(response: HttpResponse, number: int) -> list[str]:
    """What the bars of a day say."""
    day = soup(response).select(".meal-day")[number]
    return [" ".join(each.get_text(" ").split()) for each in day.select(".bar-words")]


def test_words_first_then_the_days_with_their_bars(cast: Cast, kitchen: Kitchen) -> None:
    found = page(cast.greta)
    said = words(found)
    assert "2 figures are not met" in said
    assert "The week, starchy vegetables. 1/2 cup short: 0 cup. The rule: at least 1/2 cup." in said
    assert "Held against: school lunch, K-5" in said and "7 CFR 210.10(c) Table 1" in said
    assert len(soup(found).select(".meal-day")) == 5
    assert "Fruit 1/2 of 1/2 cup" in bars(found, 0)
    assert said.index("not met") < said.index("Fruit 1/2")


def test_each_dish_shows_its_credits_and_their_arithmetic(cast: Cast, kitchen: Kitchen) -> None:
    said = words(page(cast.greta))
    assert "Dark green vegetables: 1/4 cup" in said
    assert "By the recipe: vegetables.dark_green 1/4" in said


def test_a_dish_that_nobody_can_credit_is_to_be_asked(cast: Cast, kitchen: Kitchen) -> None:
    """And what it does not state is left open in the charts."""
    planned(cast.ferrowick, "Mystery bake", days=1)
    found = page(cast.greta)
    assert "Not credited, ask: gravy of Mystery bake" in words(found)
    assert "20 of 21 foods state" in words(found)
    assert soup(found).select(".chart .bar-open")


def test_a_dish_tried_out_moves_the_bars_and_saves_nothing(cast: Cast, kitchen: Kitchen) -> None:
    before = list(Serving.objects.order_by("pk").values_list("pk", "recipe", "withdrawn_at"))
    trial = f"{first('Garden salad').pk}:{code('Bean chili')}"
    found = page(cast.greta, **{"try": trial})
    said = words(found)
    assert "A trial: nothing is saved" in said and "Bean chili in place of Garden salad, Monday." in said
    assert "The week, starchy vegetables: 0 → 1/2 cup; short before, met now." in said
    assert "Vegetables 1 of 3/4 cup" in bars(found, 0) and "Vegetables 3/4 of 3/4 cup" in bars(found, 1)
    assert soup(found).select(".bar-was")
    assert list(Serving.objects.order_by("pk").values_list("pk", "recipe", "withdrawn_at")) == before


def test_of_two_choices_the_bars_show_both_ends(cast: Cast, kitchen: Kitchen) -> None:
    """Sandwich or chili: whoever takes the chili goes without grain, in words first and in the bars."""
    planned(cast.ferrowick, "Bean chili")
    Serving.objects.filter(recipe__name__in=("Turkey sandwich", "Bean chili")).update(choice="main dish")
    found = page(cast.greta)
    said = words(found)
    assert "1 oz eq short: 0 oz eq for whoever takes least of it; whoever chooses otherwise gets up to 2 oz eq." in said
    assert "of dishes with the same mark of choice, one" in said
    assert "Turkey sandwich choice of main dish" in said
    assert "Grains 0 to 2, by choice, of 1 oz eq: 1 oz eq short" in bars(found, 0)
    assert "Fruit 1/2 of 1/2 cup" in bars(found, 0)
    day = soup(found).select(".meal-day")[0]
    grains = next(each for each in day.select(".bar-row") if "Grains" in each.get_text())
    assert "bar-short" in grains["class"] and grains.select(".bar-open")


def test_nutrients_of_choices_go_from_least_to_most(cast: Cast, kitchen: Kitchen) -> None:
    """250 or 300 kcal beside 260: the chart says both."""
    planned(cast.ferrowick, "Bean chili")
    Serving.objects.filter(recipe__name__in=("Turkey sandwich", "Bean chili")).update(choice="main dish")
    assert "510 to 560 kcal a meal, by choice: not known whether it is met." in words(page(cast.greta))


def test_the_form_adds_to_what_is_tried_already(cast: Cast, kitchen: Kitchen) -> None:
    """As a browser without scripts sends it: the trials so far as hidden fields, the new one as two."""
    trial = f"{first('Garden salad').pk}:{code('Bean chili')}"
    found = page(cast.greta, **{"try": trial, "serving": first("Pears").pk, "recipe": code("1% milk")})
    hidden = [each["value"] for each in soup(found).select("form input[name=try]")]
    assert hidden == [trial, f"{first('Pears').pk}:{code('1% milk')}"]
    back = [each["href"] for each in soup(found).select(".trial a.button") if each.string == "Take it back"]
    assert len(back) == 2 and quote(trial, safe="") not in back[0] and quote(trial, safe="") in back[1]


def test_a_trial_that_cannot_be_is_said(cast: Cast, kitchen: Kitchen) -> None:
    """A recipe that does not exist, a serving of another place, a word in place of a number."""
    elsewhere = planned(cast.tansy_gate, "Porridge", days=1)["Porridge"]
    foreign = Serving.objects.get(recipe=elsewhere)
    pears = code("Pears")
    for trial in (
        f"{first('Pears').pk}:no-such",
        f"{foreign.pk}:{pears}",
        f"x:{pears}",
        "",
        ":",
        f"{'9' * 30}:{pears}",
    ):
        said = words(page(cast.greta, **{"try": trial}))
        assert "A dish could not be tried out." in said
        assert "A trial: nothing is saved" not in said


def test_a_recipe_of_another_site_cannot_be_tried(cast: Cast, kitchen: Kitchen) -> None:
    planned(cast.tansy_gate, "Porridge", days=1)
    Recipe.objects.filter(name="Porridge").update(site=cast.tansy_gate)
    found = page(cast.greta, **{"try": f"{first('Pears').pk}:{code('Porridge')}"})
    assert "A dish could not be tried out." in words(found) and "Porridge" not in words(found)


def test_without_a_pattern_nothing_is_judged(cast: Cast, kitchen: Kitchen) -> None:
    kitchen.follows.clear()
    said = words(page(cast.greta))
    assert "Not judged. It is not said which program and age group the lunch of Ferrowick" in said
    assert "Turkey sandwich" in said and "not met" not in said


@pytest.mark.parametrize(
    ("days", "why"),
    [(0, "Nothing of this meal is on the plan in this week."), (2, "2 days are on the plan")],
)
def test_a_week_too_short_is_not_judged(cast: Cast, monkeypatch: pytest.MonkeyPatch, days: int, why: str) -> None:
    """A school week has three days at least; the rest goes to the week before or after (7 CFR 210.2)."""
    a_kitchen(monkeypatch)
    planned(cast.ferrowick, *LUNCH, days=days)
    assert why in words(page(cast.greta))


def test_a_week_before_the_rules_is_not_judged(cast: Cast, kitchen: Kitchen) -> None:
    """Rules of school lunch are held from 2024-07-01 on."""
    ServingFactory(site=cast.ferrowick, recipe=recipe("Pears"), meal=Meal.LUNCH, date=date(2020, 11, 30))
    assert "this week is older" in words(page(cast.greta, **{"from": "2020-11-30"}))


def test_what_recipes_and_labels_say_is_judged(cast: Cast) -> None:
    """Without anything foretold: a recipe of bread and peanut butter, by the service that reads recipes."""
    set_pattern(site=cast.ferrowick, meal="lunch", program="nslp-lunch", group="K-5", starts_on=date(2026, 1, 1))
    for n in range(3):
        day = next_monday() + timedelta(days=n)
        ServingFactory(site=cast.ferrowick, recipe=cast.dishes.peanut_sandwich, meal=Meal.LUNCH, date=day)
    found = page(cast.greta)
    assert "Monday, Tuesday, Wednesday, milk. 1 cup short: 0 cup." in words(found)
    tried = page(cast.greta, **{"try": f"{Serving.objects.filter(date=day).get().pk}:{cast.dishes.oat_bar.code}"})
    assert "Oat bar in place of Peanut butter sandwich, Wednesday." in words(tried)


def test_the_balance_of_the_day_counts_its_other_meals(cast: Cast, kitchen: Kitchen) -> None:
    """Lunch without milk: the snack brings it later, and the advice says so."""
    Serving.objects.filter(recipe__name="1% milk").delete()
    assert "Not found on the day: milk or its alternative." in words(page(cast.greta))
    planned(cast.ferrowick, "1% milk", meal=Meal.SNACK)
    said = words(page(cast.greta))
    assert "Later that day: milk or its alternative." in said
    assert "Not found on the day: milk or its alternative." not in said


@pytest.mark.parametrize(
    "asked", [{"from": "soon"}, {"from": "9999-12-31"}, {"meal": "brunch"}, {"from": "2026-02-30"}]
)
def test_a_mistyped_address_still_answers(cast: Cast, kitchen: Kitchen, asked: dict[str, str]) -> None:
    assert page(cast.greta, **asked).status_code == 200


def test_who_may_look_and_where_it_leads(cast: Cast, kitchen: Kitchen) -> None:
    """Teachers read; the check of the cycle is for the kitchen, licensed staff and administrators."""
    assert soup(page(cast.greta)).find("a", href=f"/servings/{first('Pears').pk}/")
    teacher = page(cast.rosa)
    assert teacher.status_code == 200 and "/servings/" not in str(soup(teacher).find("main"))
    for user in (cast.amara, cast.wren, cast.ursula):
        assert page(user).status_code == 404
    assert page(cast.pavel).status_code == 404  # cooks at another site
    trial = {"try": f"{first('Pears').pk}:{code('1% milk')}"}
    assert soup(page(cast.tomas, **trial)).find("a", href="/imports/cycle/")
    assert not soup(page(cast.greta, **trial)).find("a", href="/imports/cycle/")


def test_no_child_stands_on_it(cast: Cast, kitchen: Kitchen) -> None:
    found = page(cast.hakim).content.decode()
    assert not any(child.given_name in found for child in (cast.noor, cast.mateo, cast.ifeoma))


def test_queries_do_not_grow_with_the_week(cast: Cast, kitchen: Kitchen) -> None:
    few = queries(lambda: page(cast.greta))
    planned(cast.ferrowick, "Bean chili", "Rice", "Peas")
    assert queries(lambda: page(cast.greta)) <= few
