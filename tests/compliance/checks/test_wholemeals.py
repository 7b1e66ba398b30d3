"""Whole meals from the database: what is chosen for whom, what bars the rest, and when it is out of date."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.utils import timezone

from compliance.checks.pageread import changed, read_of_meals
from compliance.checks.wholemeals.gather import gather
from compliance.checks.wholemeals.keep import work_out
from compliance.checks.wholemeals.standing import standing_on
from compliance.models import MealPlan
from menus.models import Alternative, Serving
from menus.services.patterns import set_pattern
from roster.models import Action, Basis, Child
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import AlternativeFactory, LabelFactory
from tests.ownlunch import checked, day_of_it, monday_of_it, on_hand, set_the_table

pytestmark = pytest.mark.django_db

LUNCH_DAY = timedelta(days=6)


def lunch(cast: Cast) -> dict[str, Any]:
    """Work the week out as Greta, and return tomorrow's lunch of it."""
    plan = work_out(site=cast.ferrowick, monday=monday_of_it(), user=cast.greta)
    [found] = [each for each in plan.result["meals"] if each["day"] == day_of_it().isoformat()]
    return dict(found)


def tray(found: dict[str, Any], child: Child) -> dict[str, Any]:
    """The tray of one child."""
    [found] = [each for each in found["trays"] if each["child"] == child.pk]
    return found


def test_who_may_not_have_a_dish_is_given_what_is_on_hand_for_it(cast: Cast) -> None:
    on_hand(cast.ferrowick, set_the_table(cast))
    checked(cast)
    found = lunch(cast)
    mateo, anneke, bao = (tray(found, child) for child in (cast.mateo, cast.anneke, cast.kofi))
    assert (mateo["keeps"], mateo["gets"]) == (["Apple", "Milk"], ["Sunflower rice bowl"])
    assert mateo["away"] == [{"dish": "Beef and peanut rice", "why": [["peanut", "withhold"]]}]
    assert (anneke["keeps"], anneke["gets"]) == (["Beef and peanut rice", "Apple"], ["Soy drink"])
    assert bao["gets"] == [] and bao["away"] == []
    assert [(row["name"], row["portions"], row["note"]) for row in found["extra"]] == [
        ("Sunflower rice bowl", 2, "Freezer, lowest shelf"),
        ("Soy drink", 1, ""),
    ]
    assert not any(each["open"] for each in found["trays"])
    assert cast.bao.pk not in [each["child"] for each in found["trays"]], "nothing is on record of Bao"
    assert [(row["name"], row["portions"], row["away"]) for row in found["planned"]] == [
        ("Beef and peanut rice", 6, 2),
        ("Apple", 8, 0),
        ("Milk", 7, 1),
    ]


def test_nobody_is_given_what_the_rules_hold_against_them(cast: Cast) -> None:
    """The only other dish holds peanut: Mateo has no whole meal, and it is said what would fill it and what bars it."""
    dishes = set_the_table(cast)
    AlternativeFactory(site=cast.ferrowick, recipe=dishes["sandwich"])
    checked(cast)
    found = lunch(cast)
    mateo, saoirse = tray(found, cast.mateo), tray(found, cast.saoirse)
    assert saoirse["gets"] == ["Peanut and rice cake"] and not saoirse["open"]
    assert mateo["gets"] == []
    assert [each["what"] for each in mateo["open"]] == ["grains", "meat alternate"]
    assert {each["dish"]: (each["bar"], each["why"]) for each in mateo["open"][0]["barred"]} == {
        "Beef and peanut rice": ("kept away", [["peanut", "withhold"]]),
        "Peanut and rice cake": ("kept away", [["peanut", "withhold"]]),
    }


def test_a_dish_that_was_not_checked_is_kept_from_every_restricted_child(cast: Cast) -> None:
    on_hand(cast.ferrowick, set_the_table(cast))
    found = lunch(cast)
    kofi = tray(found, cast.kofi)
    assert kofi["keeps"] == [] and {each["dish"] for each in kofi["away"]} == {"Beef and peanut rice", "Apple", "Milk"}
    assert kofi["away"][0]["why"] == [["", "refer"]]
    assert found["unchecked"] == ["Beef and peanut rice", "Apple", "Milk"]
    checked(cast)
    assert lunch(cast)["unchecked"] == []


def test_a_dish_on_hand_without_a_label_is_nobodys(cast: Cast) -> None:
    """Unread is never none found: an unknown ingredient is referred, and the dish is not chosen."""
    dishes = set_the_table(cast)
    AlternativeFactory(site=cast.ferrowick, recipe=dishes["bowl"])
    sunflower = dishes["bowl"].versions.get().lines.get(position=1).product
    LabelFactory(product=sunflower, ingredients="")
    checked(cast)
    assert tray(lunch(cast), cast.mateo)["gets"] == []


def test_what_is_on_hand_goes_as_far_as_it_goes(cast: Cast) -> None:
    dishes = set_the_table(cast)
    AlternativeFactory(site=cast.ferrowick, recipe=dishes["bowl"], portions=1)
    checked(cast)
    found = lunch(cast)
    trays = [tray(found, child) for child in (cast.mateo, cast.saoirse)]
    assert sorted(len(each["gets"]) for each in trays) == [0, 1]
    [without] = [each for each in trays if not each["gets"]]
    assert {each["bar"] for each in without["open"][0]["barred"]} == {"kept away", "used up"}


def test_a_dish_counts_on_the_days_on_which_it_is_on_hand(cast: Cast) -> None:
    dishes = set_the_table(cast)
    AlternativeFactory(site=cast.ferrowick, recipe=dishes["bowl"], ends_on=day_of_it() - timedelta(days=1))
    checked(cast)
    assert tray(lunch(cast), cast.mateo)["gets"] == []


def test_a_drink_stands_for_milk_where_that_is_said_of_it(cast: Cast) -> None:
    dishes = set_the_table(cast)
    AlternativeFactory(site=cast.ferrowick, recipe=dishes["soy"])
    checked(cast)
    found = lunch(cast)
    assert tray(found, cast.anneke)["open"][0]["what"] == "milk"
    assert ["Soy drink", ["Soy drink, fortified"]] in found["asked"]


def test_the_pattern_of_the_site_says_what_a_tray_needs(cast: Cast) -> None:
    """K-5 needs one ounce of meat alternate and one of grains a day, and the lunch offers no vegetable to anybody."""
    on_hand(cast.ferrowick, set_the_table(cast))
    set_pattern(site=cast.ferrowick, meal="lunch", program="nslp-lunch", group="K-5", starts_on=monday_of_it())
    checked(cast)
    found = lunch(cast)
    needs = {each["what"]: (each["least"], each["short"]) for each in found["needs"]}
    assert needs["grains"] == (1, False) and needs["vegetables"] == (0.75, True)
    assert found["program"].startswith("school lunch, K-5")
    assert not tray(found, cast.mateo)["open"], "what nobody is offered is no lack of one child"


def test_a_plan_is_on_record_and_says_when_facts_have_changed(cast: Cast) -> None:
    on_hand(cast.ferrowick, set_the_table(cast))
    checked(cast)
    lunch(cast)
    standing = standing_on(cast.ferrowick, day_of_it())
    assert standing is not None and standing.parts == (standing.plan,)
    plan = standing.plan
    assert Action.objects.filter(verb="checked", subject=f"meal plan {plan.pk}").exists()

    def differs() -> list[str]:
        return changed(plan.read, read_of_meals(cast.ferrowick, monday_of_it(), monday_of_it() + LUNCH_DAY))

    assert differs() == []
    record_restriction(child=cast.bao, substance="kiwi", basis=Basis.REPORTED)
    assert differs() == ["a restriction"]
    Alternative.objects.update(ends_on=date(2100, 1, 1))
    assert differs() == ["a restriction", "what is planned or on hand"]
    Serving.objects.filter(date=day_of_it()).update(withdrawn_at=timezone.now())
    assert "the check of the dish" in differs()


def test_working_out_changes_no_menu(cast: Cast) -> None:
    on_hand(cast.ferrowick, set_the_table(cast))
    checked(cast)
    before = list(Serving.objects.order_by("pk").values())
    lunch(cast)
    assert list(Serving.objects.order_by("pk").values()) == before
    assert MealPlan.objects.count() == 1


def test_another_sites_children_and_dishes_stay_out(cast: Cast) -> None:
    dishes = set_the_table(cast)
    AlternativeFactory(site=cast.tansy_gate, recipe=dishes["bowl"])
    checked(cast)
    week = gather(cast.ferrowick, monday_of_it(), monday_of_it() + LUNCH_DAY, timezone.now())
    for meal in week.meals:
        assert not meal.on_hand
        assert cast.ravi.pk not in meal.classrooms
