"""A page in use asks whether it is out of date, and says so within a minute."""

from __future__ import annotations

from datetime import timedelta

import pytest
from bs4 import Tag
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from compliance.checks.run import check_site
from compliance.models import Run, TreatCheck
from compliance.web.uptodate import STOP_ASKING
from menus.models import Serving
from roster.life.allowance import withdraw_allowance
from roster.services import record_restriction
from tests.cast import Cast
from tests.compliance.checks.test_pageread import asked, today
from tests.factories import AllowanceFactory
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def pages(cast: Cast) -> dict[str, tuple[Client, str]]:
    """Each page that a teacher or a cook hands food out by, and who looks at it."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    serving = Serving.objects.get(site=cast.ferrowick, recipe=cast.dishes.oat_bar)
    return {
        "today": (as_user(cast.rosa), f"{reverse('today')}?class={cast.larks.pk}"),
        "treat": (as_user(cast.rosa), reverse("treat-result", args=[asked(cast).pk])),
        "serving": (as_user(cast.greta), reverse("serving", args=[serving.pk])),
        "kitchen": (as_user(cast.greta), f"{reverse('kitchen-day')}?site=ferrowick"),
    }


NAMES = ("today", "treat", "serving", "kitchen")


def state(page: HttpResponse) -> Tag:
    found = soup(page).find(id="state")
    assert isinstance(found, Tag)
    return found


@pytest.mark.parametrize("name", NAMES)
def test_a_page_asks_within_a_minute_and_hears_nothing_while_nothing_changes(pages, name: str) -> None:
    client, address = pages[name]
    asks = state(client.get(address))
    assert asks["hx-trigger"].startswith("every 45s")
    answer = client.get(asks["hx-get"])
    assert (answer.status_code, answer.content) == (204, b"")


@pytest.mark.parametrize("name", NAMES)
def test_a_page_hears_of_a_restriction_and_where_to_go(cast: Cast, pages, name: str) -> None:
    """The banner says what changed and leads to the page anew; htmx asks no more."""
    client, address = pages[name]
    asks = state(client.get(address))
    record_restriction(child=cast.bao, substance="milk")
    answer = client.get(asks["hx-get"])
    assert answer.status_code == STOP_ASKING
    banner = soup(answer)
    assert "This page is out of date: a restriction changed since it was made." in " ".join(banner.get_text().split())
    assert banner.select_one('[role="alert"]')
    again = client.get(banner.find("a")["href"])
    assert again.status_code == 200
    if name not in ("treat", "serving"):  # these speak of a check, which is made anew first
        fresh = state(again)
        assert client.get(fresh["hx-get"]).status_code == 204


@pytest.mark.parametrize("name", NAMES)
def test_the_banner_names_no_child_and_no_food(cast: Cast, pages, name: str) -> None:
    """It may be read over a shoulder, and its address is written down by servers."""
    client, address = pages[name]
    asks = state(client.get(address))["hx-get"]
    record_restriction(child=cast.bao, substance="milk")
    said = client.get(asks).content.decode().lower()
    assert not any(word in said + asks.lower() for word in ("bao", "milk", "mateo", "peanut"))


@pytest.mark.parametrize("name", NAMES)
def test_without_scripts_and_on_paper_it_says_that_it_does_not_renew_itself(pages, name: str) -> None:
    client, address = pages[name]
    page = soup(client.get(address))
    assert "Load it again before anything is handed out" in page.find("noscript").get_text()
    assert "Paper does not renew itself" in page.select_one("p.print-only").get_text()
    assert "As of" in page.get_text()


def test_an_answer_that_is_out_of_date_says_so_when_it_is_opened(cast: Cast) -> None:
    """A teacher who finds it in the history an hour later need not wait for a question."""
    check = asked(cast)
    record_restriction(child=cast.bao, substance="peanut")
    page = as_user(cast.rosa).get(reverse("treat-result", args=[check.pk]))
    assert "This page is out of date: a restriction changed" in words(page)
    link = state(page).find("a")
    assert (link.get_text(), link["href"]) == ("Check the treat again", f"{reverse('treat')}?class={cast.larks.pk}")
    assert "hx-get" not in state(page).attrs


def test_a_dish_whose_check_is_older_than_a_restriction_says_so_when_it_is_opened(cast: Cast, pages) -> None:
    """Until the site is checked again the page shows an answer that knows nothing of it."""
    client, address = pages["serving"]
    record_restriction(child=cast.bao, substance="milk")
    assert "a restriction changed since it was made. Load it again in a minute" in words(client.get(address))
    check_site(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
    page = client.get(address)
    assert "This page is out of date" not in words(page) and "Bao" in words(page)


def test_meals_whose_check_is_older_than_a_restriction_say_so(cast: Cast, pages) -> None:
    client, address = pages["today"]
    assert "Being checked again" not in words(client.get(address))
    record_restriction(child=cast.bao, substance="milk")
    assert "Being checked again: a restriction changed since the menu was checked" in words(client.get(address))
    check_site(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
    assert "Being checked again" not in words(client.get(address))


def test_meals_whose_check_has_read_an_allowance_withdrawn_since_say_so(cast: Cast, pages) -> None:
    """Until they are checked again nobody is to go by what was allowed."""
    allowance = AllowanceFactory(restriction=cast.anneke.restrictions.get(), signed_by=cast.hakim)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
    client, address = pages["today"]
    assert "Being checked again" not in words(client.get(address))
    withdraw_allowance(allowance=allowance, reason="Wrong.", withdrawn_by=cast.hakim, signature="H. Example, RN")
    assert "Being checked again: an allowance changed since the menu was checked" in words(client.get(address))


def test_an_answer_of_a_day_that_is_over_is_kept_as_it_was_given(cast: Cast) -> None:
    check = asked(cast)
    TreatCheck.objects.filter(pk=check.pk).update(served_at=timezone.now() - timedelta(days=2))
    record_restriction(child=cast.bao, substance="peanut")
    page = as_user(cast.rosa).get(reverse("treat-result", args=[check.pk]))
    assert soup(page).find(id="state") is None
    assert "out of date" not in words(page)


def test_an_answer_from_before_marks_were_kept_is_shown_without_one(cast: Cast) -> None:
    check = asked(cast)
    TreatCheck.objects.filter(pk=check.pk).update(result={k: v for k, v in check.result.items() if k != "read"})
    assert soup(as_user(cast.rosa).get(reverse("treat-result", args=[check.pk]))).find(id="state") is None


@pytest.mark.parametrize("name", NAMES)
def test_asking_is_cheap(pages, name: str) -> None:
    """Beside the person's session, account and posts: whether the page is theirs, and what it rests on."""
    client, address = pages[name]
    asks = state(client.get(address))["hx-get"]
    assert queries(lambda: client.get(asks)) <= 7


@pytest.mark.parametrize(
    ("address", "asks"),
    [
        ("today-state", {}),
        ("today-state", {"class": "x"}),
        ("today-state", {"class": "9" * 30}),
        ("kitchen-state", {}),
        ("kitchen-state", {"site": "ferrowick"}),
        ("kitchen-state", {"site": "ferrowick", "day": "2026-13-45"}),
        ("kitchen-state", {"site": "nowhere", "day": "2026-10-13"}),
    ],
)
def test_a_question_about_nothing_is_not_there(cast: Cast, address: str, asks: dict[str, str]) -> None:
    who = cast.rosa if address.startswith("today") else cast.greta
    assert as_user(who).get(reverse(address), asks).status_code == 404


def test_nobody_hears_of_a_class_or_kitchen_that_is_not_theirs(cast: Cast) -> None:
    """Not even that something changed there."""
    day = today(cast).isoformat()
    check = asked(cast)
    serving = Serving.objects.filter(site=cast.ferrowick).first()
    assert serving is not None
    teacher, cook = as_user(cast.dmitri), as_user(cast.pavel)
    assert teacher.get(reverse("today-state"), {"class": cast.larks.pk}).status_code == 404
    assert teacher.get(reverse("treat-state", args=[check.pk])).status_code == 404
    assert cook.get(reverse("kitchen-state"), {"site": "ferrowick", "day": day}).status_code == 404
    assert cook.get(reverse("serving-state", args=[serving.pk])).status_code == 404
    assert as_user(cast.rosa).get(reverse("kitchen-state"), {"site": "ferrowick", "day": day}).status_code == 404


def test_asking_about_one_class_does_not_change_which_class_opens_next(cast: Cast) -> None:
    """Two windows may be open."""
    client = as_user(cast.hakim)
    client.get(reverse("today"), {"class": cast.minnows.pk})
    client.get(reverse("today-state"), {"class": cast.larks.pk})
    assert cast.minnows.name in words(client.get(reverse("today")))


@pytest.mark.parametrize("read", ["", "x", "<script>", "c" * 500])
def test_a_mark_that_is_none_is_answered_with_the_banner(cast: Cast, read: str) -> None:
    answer = as_user(cast.rosa).get(reverse("today-state"), {"class": cast.larks.pk, "read": read})
    assert answer.status_code == STOP_ASKING
    assert b"<script>" not in answer.content
