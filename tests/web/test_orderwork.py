"""The page on which a kitchen looks for a better order of work, takes it over, puts it back, and prints it."""

from __future__ import annotations

import re
from datetime import time, timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.utils import timezone

from compliance.web.orderwork_token import GOOD_FOR, unsealed
from menus.models import PlanStep, Recipe, Surface
from roster.models import Action
from tests.cast import Cast
from tests.factories import PlanStepFactory, RecipeFactory, ServingFactory, SurfaceFactory, cooked, labelled
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db

PAGE = "/kitchen/order/"


@pytest.fixture
def kitchen(cast: Cast) -> Cast:
    """Tomorrow's lunch at Ferrowick: the peanut sandwich on a board, and then the ham and rice."""
    board = SurfaceFactory(site=cast.ferrowick, name="Board", kind=Surface.Kind.BOARD)
    for recipe, at in ((cast.dishes.peanut_sandwich, time(9, 0)), (cast.dishes.ham_and_rice, time(9, 30))):
        ServingFactory(site=cast.ferrowick, recipe=recipe, date=timezone.localdate() + timedelta(days=1))
        PlanStepFactory(surface=board, recipe=recipe, at=at)
    return cast


def asked(**more: Any) -> dict[str, Any]:
    """Tomorrow's lunch."""
    return {"day": (timezone.localdate() + timedelta(days=1)).isoformat(), "meal": "lunch", **more}


def looked(kitchen: Cast) -> HttpResponse:
    """The page after a search, as Greta sees it."""
    return as_user(kitchen.greta).get(PAGE, asked(look="1"))


def token_on(page: HttpResponse) -> str:
    """The proposal that the page leads on with."""
    link = soup(page).find("a", string=re.compile("Take this order over"))
    return link["href"].split("order=")[1]


def plan() -> list[tuple[str, str]]:
    """The plan as it stands."""
    rows = PlanStep.objects.filter(withdrawn_at=None).select_related("recipe").order_by("at")
    return [(f"{row.at:%H:%M}", row.recipe.name if row.recipe else row.method) for row in rows]


def test_the_present_order_stands_there_with_whom_it_concerns(kitchen: Cast) -> None:
    """Without a search: the steps in order, and the children whom carry-over takes a dish from."""
    page = words(as_user(kitchen.greta).get(PAGE, asked()))
    assert page.index("09:00 Peanut butter sandwich") < page.index("09:30 Ham and rice")
    assert "Mateo Example (peanut) : withhold" in page and "Noor Example (gluten) : withhold" in page
    assert "Order proposed" not in page and "up to 8 seconds" in page


def test_the_order_found_stands_beside_it_with_what_disappears(kitchen: Cast) -> None:
    """Both orders, what moved, what was proven, and what becomes of each exception."""
    page = words(looked(kitchen))
    assert "2 exceptions fewer" in page and "No order of these steps leaves fewer children" in page
    now, then = page.split("Order proposed")
    assert now.index("Peanut butter sandwich") < now.index("Ham and rice")
    assert then.index("Ham and rice") < then.index("Peanut butter sandwich")
    assert "Moved: was" in then
    assert "Mateo Example (peanut) : withhold now, then none found" in then
    assert "Saoirse" not in page


def test_who_sees_no_child_there_is_told_numbers(kitchen: Cast) -> None:
    """Pavel cooks elsewhere: the page of this kitchen is not his at all."""
    assert as_user(kitchen.pavel).get(PAGE, asked(site="ferrowick")).status_code == 404
    assert as_user(kitchen.rosa).get(PAGE, asked()).status_code == 404
    assert as_user(kitchen.hakim).get(PAGE, asked(site="ferrowick")).status_code == 200


def test_an_order_is_taken_over_after_a_look_at_raw_food(kitchen: Cast) -> None:
    """First what changes on the days ahead, then the tick, then the plan; the order until then stays on record."""
    client, order = as_user(kitchen.greta), token_on(looked(kitchen))
    question = words(client.get("/kitchen/order/change/", {"order": order}))
    assert "No child loses a dish by it on the days looked at." in question
    assert "Mateo Example" in question and "raw food before ready-to-eat" in question
    before = plan()
    assert "Nothing was changed." in words(client.post("/kitchen/order/change/", {"order": order}))
    assert plan() == before
    answer = client.post("/kitchen/order/change/", {"order": order, "looked": "1"}, follow=True)
    assert "The order of work is changed from now on" in words(answer)
    assert [name for _, name in plan()] == ["Ham and rice", "Peanut butter sandwich"]
    assert PlanStep.objects.exclude(withdrawn_at=None).count() == 2
    assert "Mateo Example" not in words(client.get(PAGE, asked()))


def test_the_order_before_is_put_back(kitchen: Cast) -> None:
    """By the page, with the change that it names; a second time it is too late."""
    client, before = as_user(kitchen.greta), plan()
    client.post("/kitchen/order/change/", {"order": token_on(looked(kitchen)), "looked": "1"})
    form = soup(client.get(PAGE, asked())).find("form", action=re.compile("restore"))
    fields = {each["name"]: each["value"] for each in form.find_all("input")}
    assert "is the plan again" in words(client.post("/kitchen/order/restore/", fields, follow=True))
    assert plan() == before
    done = Action.objects.filter(subject="order of work", actor=kitchen.greta, site=kitchen.ferrowick)
    assert ["put_back" in each.payload for each in done] == [False, True]
    assert "changed again since" in words(client.post("/kitchen/order/restore/", fields, follow=True))
    wrong = fields | {"changed_at": "yesterday"}
    assert "This change is not known" in words(client.post("/kitchen/order/restore/", wrong, follow=True))
    assert plan() == before


def test_a_proposal_is_good_for_its_own_kitchen_and_plan_only(kitchen: Cast) -> None:
    """Forged, of another kitchen, or overtaken: nothing changes, and the page says why."""
    order, before = token_on(looked(kitchen)), plan()
    greta, hakim = as_user(kitchen.greta), as_user(kitchen.hakim)
    for client, asked_for in ((greta, {"order": order[:-2]}), (greta, {"order": ""}), (greta, {})):
        page = client.post("/kitchen/order/change/", {**asked_for, "looked": "1"}, follow=True)
        assert "too old, or of another kitchen" in words(page)
    page = hakim.post("/kitchen/order/change/?site=tansy-gate", {"order": order, "looked": "1"}, follow=True)
    assert "of another kitchen" in words(page) and plan() == before
    PlanStep.objects.update(withdrawn_at=timezone.now())
    page = greta.post("/kitchen/order/change/", {"order": order, "looked": "1"}, follow=True)
    assert "changed meanwhile" in words(page) and plan() == []


def test_a_proposal_grows_old(kitchen: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """After a day it is no longer taken."""
    order = token_on(looked(kitchen))
    assert unsealed(order)
    later = timezone.now().timestamp() + GOOD_FOR + 1
    monkeypatch.setattr("django.core.signing.time.time", lambda: later)
    assert unsealed(order) is None


def test_times_that_no_order_keeps_are_said(kitchen: Cast) -> None:
    """The sentence of the search; nonsense stays in the form with a sentence of its own."""
    client = as_user(kitchen.greta)
    page = words(client.get(PAGE, asked(look="1", start="09:00", by="09:15")))
    assert "No order was found." in page and "ends by 09:15. The earliest end found is 09:20." in page
    page = words(client.get(PAGE, asked(look="1", start="09:00", by="08:00")))
    assert "This is before the work begins. Give a later time." in page
    assert "This is no date" in words(client.get(PAGE, {"day": "tomorrow"}))
    assert "more than 14 days from today" in words(client.get(PAGE, {"day": "2000-01-01"}))


def test_a_meal_without_steps_says_so(kitchen: Cast) -> None:
    """No search is offered where there is nothing to order."""
    page = as_user(kitchen.greta).get(PAGE, asked(meal="supper", look="1"))
    assert "holds no step for this meal" in words(page)
    assert not soup(page).find("button", attrs={"name": "look"})


@pytest.mark.parametrize("proposed", [False, True])
def test_the_cooks_sheet_is_a_pdf(kitchen: Cast, proposed: bool) -> None:
    """Of the plan, and of the order proposed."""
    more = {"order": token_on(looked(kitchen))} if proposed else {}
    answer = as_user(kitchen.greta).get("/kitchen/order/sheet.pdf", asked(**more))
    assert answer.headers["Content-Type"] == "application/pdf" and answer.content.startswith(b"%PDF")
    assert "cooks-sheet-ferrowick-" in answer.headers["Content-Disposition"]


def test_a_sheet_of_a_proposal_that_is_gone_is_refused(kitchen: Cast) -> None:
    """No sheet of the plan in its place: the cook would take it for the other one."""
    page = as_user(kitchen.greta).get("/kitchen/order/sheet.pdf", asked(order="nonsense"), follow=True)
    assert "There is no such sheet any more" in words(page)


def test_the_queries_do_not_grow_with_the_steps(kitchen: Cast) -> None:
    """The same number for two steps and for twelve."""
    client = as_user(kitchen.greta)
    few = queries(lambda: client.get(PAGE, asked()))
    board = Surface.objects.get()
    for number in range(10):
        recipe: Recipe = cooked(f"Soup {number}", labelled("carrots"))
        ServingFactory(site=kitchen.ferrowick, recipe=recipe, date=timezone.localdate() + timedelta(days=1))
        PlanStepFactory(surface=board, recipe=recipe, at=time(10, number))
    RecipeFactory()
    assert queries(lambda: client.get(PAGE, asked())) == few
