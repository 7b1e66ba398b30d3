"""Signing in and out, and the way in by role."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from compliance.web.navigation import PAGES
from roster.models import Role
from tests.cast import Cast
from tests.factories import PASSWORD, PostFactory, UserFactory
from tests.web.pages import as_user, soup, words

FIRST_PAGES = {"rosa": "/today/", "greta": "/cycle/check/", "hakim": "/referrals/", "june": "/exceptions/"}


def test_a_stranger_is_sent_to_sign_in_and_on_to_the_page_they_wanted(cast: Cast) -> None:
    """Nothing is shown before sign-in; afterwards the page that was asked for is."""
    client = Client()
    answer = client.get("/today/")
    assert answer.url == "/sign-in/?next=/today/"
    page = client.get(answer.url)
    assert soup(page).find("input", {"name": "next"})["value"] == "/today/"
    answer = client.post("/sign-in/", {"username": "rosa", "password": PASSWORD, "next": "/today/"})
    assert answer.url == "/today/"


def test_a_wrong_password_says_how_to_mend_it(cast: Cast) -> None:
    """The message does not tell whether the name exists."""
    wrong = Client().post("/sign-in/", {"username": "rosa", "password": "no"})
    unknown = Client().post("/sign-in/", {"username": "nobody", "password": "no"})
    assert "do not belong together" in words(wrong)
    assert words(wrong) == words(unknown)
    assert soup(wrong).find("input", {"name": "username"})["value"] == "rosa"


@pytest.mark.parametrize(("name", "address"), FIRST_PAGES.items())
def test_each_role_comes_to_its_first_page(cast: Cast, name: str, address: str) -> None:
    """Home sends teacher, kitchen, licensed staff and administrator each to their own page."""
    assert as_user(getattr(cast, name)).get("/").url == address


def test_somebody_without_a_post_sees_only_what_to_do_about_it(cast: Cast) -> None:
    """No post, no menu, no data."""
    page = as_user(cast.wren).get("/")
    assert "Ask an administrator to enter your post" in words(page)
    assert not soup(page).select(".menu li a")


def test_somebody_with_two_posts_can_turn_from_one_to_the_other(cast: Cast) -> None:
    """The other role stands in the menu; choosing it lasts until they choose again."""
    PostFactory(user=cast.rosa, role=Role.KITCHEN, site=cast.ferrowick)
    client = as_user(cast.rosa)
    roles = soup(client.get("/today/")).select(".roles a")
    assert [link.text for link in roles] == ["Kitchen"]
    assert client.get(roles[0]["href"]).url == "/cycle/check/"
    assert client.get("/").url == "/cycle/check/"
    assert client.get("/?role=teacher").url == "/today/"


def test_a_role_that_is_not_held_cannot_be_chosen(cast: Cast) -> None:
    """Asking for it leads to the role that is held."""
    assert as_user(cast.rosa).get("/?role=administrator").url == "/today/"


def test_every_page_in_the_menu_answers(cast: Cast) -> None:
    """No entry of any role's menu leads nowhere or to somebody else's page."""
    people = {
        Role.TEACHER: cast.rosa,
        Role.SUBSTITUTE: cast.sefa,
        Role.KITCHEN: cast.greta,
        Role.MANAGER: cast.tomas,
        Role.LICENSED: cast.hakim,
        Role.ADMINISTRATOR: cast.june,
        Role.AUDITOR: cast.ursula,
        Role.GUARDIAN: cast.amara,
    }
    for role, pages in PAGES.items():
        client = as_user(people[role])
        for name, _ in pages:
            assert client.get(reverse(name)).status_code == 200, f"{role}: {name}"


def test_signing_out_takes_a_post_and_closes_the_pages(cast: Cast) -> None:
    """A link elsewhere cannot sign anybody out."""
    client = as_user(cast.rosa)
    assert client.get("/sign-out/").status_code == 405
    assert client.post("/sign-out/").url == "/sign-in/"
    assert client.get("/today/").status_code == 302


@pytest.mark.parametrize("away", ["//elsewhere.example/", "https://elsewhere.example/today/", "javascript:alert(1)"])
def test_signing_in_leads_nowhere_else(cast: Cast, away: str) -> None:
    """A link to the sign-in page cannot send people on to another site."""
    answer = Client().post("/sign-in/", {"username": "rosa", "password": PASSWORD, "next": away})
    assert answer.status_code == 302
    assert answer.headers["Location"] == "/"


@pytest.mark.django_db
def test_the_first_administrator_is_led_to_the_class_list() -> None:
    """A new service knows no school: neither the way in nor any other page is a dead end."""
    june = UserFactory(username="june")
    PostFactory(user=june, role=Role.ADMINISTRATOR)
    client = as_user(june)
    for page in (client.get("/"), client.get("/exceptions/"), client.get("/runs/")):
        assert "No school is on record yet" in words(page)
        assert soup(page).select_one("main a[href='/imports/roster/']")
    assert client.get("/imports/roster/").status_code == 200


@pytest.mark.django_db
def test_others_are_told_who_begins() -> None:
    """The nurse of a new service may not import a class list."""
    hakim = UserFactory(username="hakim")
    PostFactory(user=hakim, role=Role.LICENSED)
    page = as_user(hakim).get("/")
    assert "An administrator begins with the class list" in words(page)
    assert not soup(page).select("main a[href='/imports/roster/']")
