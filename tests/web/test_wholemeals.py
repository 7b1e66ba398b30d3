"""The page of meals for children with restrictions: worked out on request, read by the kitchen, printed."""

from __future__ import annotations

from typing import Any

import pytest
from django.http import HttpResponse

from compliance.models import MealPlan
from menus.models import Serving
from roster.models import Action, Basis, User
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import AlternativeFactory
from tests.ownlunch import checked, day_of_it, monday_of_it, on_hand, set_the_table
from tests.web.pages import as_user, queries, words

pytestmark = pytest.mark.django_db

PAGE = "/kitchen/meals/"
WORK = "/kitchen/meals/work-out/"


@pytest.fixture
def kitchen(cast: Cast) -> Cast:
    """Tomorrow's lunch, checked, and what is on hand beside it."""
    on_hand(cast.ferrowick, set_the_table(cast))
    checked(cast)
    return cast


def asked(**more: Any) -> dict[str, Any]:
    """Tomorrow at Ferrowick."""
    return {"site": "ferrowick", "day": day_of_it().isoformat(), **more}


def worked_out(user: User) -> HttpResponse:
    """Press the button and follow to the page."""
    return as_user(user).post(f"{WORK}?site=ferrowick&day={day_of_it().isoformat()}", follow=True)


def page(user: User) -> str:
    """The page in words."""
    return words(as_user(user).get(PAGE, asked()))


def test_before_anything_is_worked_out_the_page_says_so(kitchen: Cast) -> None:
    shown = page(kitchen.greta)
    assert "have not been worked out yet" in shown and "Dishes on hand (2)" in shown
    assert "Print tray cards" not in shown
    assert as_user(kitchen.greta).get("/kitchen/meals/cards.pdf", asked()).status_code == 404


def test_the_kitchen_sees_how_many_of_what_and_whose_tray(kitchen: Cast) -> None:
    shown = words(worked_out(kitchen.greta))
    assert "No menu was changed" in shown
    assert "7 of 7 children with something on record have a whole meal. 4 of them have the meal of all." in shown
    assert "2 Sunflower rice bowl Freezer, lowest shelf" in shown and "1 Soy drink" in shown
    assert "6 Beef and peanut rice not for 2 children" in shown
    assert "Mateo E. , Larks Keep away: peanut, traces too" in shown
    assert "Sunflower rice bowl , and of the menu: Apple, Milk" in shown
    assert "Proven for the week" in shown
    assert "Bao" not in shown


def test_what_was_swapped_is_for_licensed_staff(kitchen: Cast) -> None:
    """The kitchen reads what stands on a tray and what to keep away; in place of what, and why, reads the nurse."""
    worked_out(kitchen.greta)
    assert "In place of Beef and peanut rice (peanut: withhold)" in page(kitchen.hakim)
    assert "In place of" not in page(kitchen.greta)


def test_who_has_no_whole_meal_and_why_stands_in_words(cast: Cast) -> None:
    dishes = set_the_table(cast)
    AlternativeFactory(site=cast.ferrowick, recipe=dishes["sandwich"])
    checked(cast)
    shown = words(worked_out(cast.greta))
    assert "No whole meal for 2" in shown, "Mateo's main dish and Anneke's milk"
    assert "Nothing that may be given fills milk. “Milk” is kept away (milk: withhold)." in shown
    assert "“Peanut and rice cake” is kept away (peanut: withhold)" in shown


def test_the_page_says_when_it_is_out_of_date(kitchen: Cast) -> None:
    worked_out(kitchen.greta)
    assert "Out of date" not in page(kitchen.greta)
    record_restriction(child=kitchen.bao, substance="kiwi", basis=Basis.REPORTED)
    assert "Since this was worked out there is something new: a restriction." in page(kitchen.greta)
    worked_out(kitchen.greta)
    assert "Out of date" not in page(kitchen.greta) and MealPlan.objects.count() == 2


def test_working_out_leaves_the_plan_alone_and_is_on_record(kitchen: Cast) -> None:
    before = list(Serving.objects.order_by("pk").values())
    worked_out(kitchen.greta)
    assert list(Serving.objects.order_by("pk").values()) == before
    plan = MealPlan.objects.get()
    assert (plan.monday, plan.made_by) == (monday_of_it(), kitchen.greta)
    assert Action.objects.filter(verb="checked", actor=kitchen.greta, subject=f"meal plan {plan.pk}").exists()


@pytest.mark.parametrize("name", ["counts", "cards"])
def test_sheets_are_handed_out_and_on_record(kitchen: Cast, name: str) -> None:
    worked_out(kitchen.greta)
    answer = as_user(kitchen.greta).get(f"/kitchen/meals/{name}.pdf", asked())
    assert answer.status_code == 200 and answer.content.startswith(b"%PDF")
    assert "Mateo" not in answer.headers["Content-Disposition"]
    assert Action.objects.filter(verb="exported", actor=kitchen.greta).exists()


def test_an_administrator_reads_and_neither_works_out_nor_prints(kitchen: Cast) -> None:
    worked_out(kitchen.greta)
    shown = page(kitchen.june)
    assert "Sunflower rice bowl" in shown and "Work out meals" not in shown and "Print" not in shown
    assert worked_out(kitchen.june).status_code == 404


@pytest.mark.parametrize("who", ["rosa", "pavel", "amara", "wren"])
def test_others_do_not_come_in(kitchen: Cast, who: str) -> None:
    assert as_user(getattr(kitchen, who)).get(PAGE, asked()).status_code == 404
    assert worked_out(getattr(kitchen, who)).status_code == 404 and not MealPlan.objects.exists()


@pytest.mark.parametrize("day", ["", "yesterday", "2999-01-01", "2026-13-45"])
def test_a_day_that_is_none_shows_today(kitchen: Cast, day: str) -> None:
    assert "restrictions: today" in words(as_user(kitchen.greta).get(PAGE, {"site": "ferrowick", "day": day}))


def test_queries_do_not_grow_with_the_children(kitchen: Cast) -> None:
    worked_out(kitchen.greta)
    client = as_user(kitchen.greta)
    few = queries(lambda: client.get(PAGE, asked()))
    for child in (kitchen.bao, kitchen.kofi, kitchen.yusuf):
        record_restriction(child=child, substance="peanut", basis=Basis.REPORTED)
    worked_out(kitchen.greta)
    assert queries(lambda: client.get(PAGE, asked())) <= few


def test_no_page_says_that_a_meal_may_be_eaten(kitchen: Cast) -> None:
    shown = words(worked_out(kitchen.greta)).lower()
    assert "it checks nothing" in shown
    for word in ("safe", "allergy-free", "ok to eat", "cleared", "guaranteed"):
        assert word not in shown
