"""The pages for a suspected reaction: the one for everybody, and that of a child, one tap from all about it."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from kombu.exceptions import OperationalError

from compliance.tasks import record_reading
from compliance.web.gates import GATES
from roster.models import Action, EmergencyPlan, Verb
from roster.permits import Thing
from tests.cast import Cast
from tests.factories import EmergencyPlanFactory
from tests.web.doors import PAGES, World, address, after_a_night
from tests.web.pages import as_user, queries, soup, words

DRUGS = re.compile(r"\b(epinephrine|adrenaline|antihistamine|inhaler|injector|dose of|\d+ ?m[gl])\b")


@pytest.mark.django_db
def test_it_is_open_to_everybody_and_reads_nothing(django_assert_num_queries) -> None:
    """Somebody whose session ran out must not meet a password first."""
    with django_assert_num_queries(0):
        page = Client().get("/emergency/")
    assert "Follow the child's own emergency plan" in words(page)
    assert soup(page).find("a", href="tel:911")


def test_it_names_no_drug_and_no_dose() -> None:
    """It points to the child's plan instead (cautions 11 and 12)."""
    assert not DRUGS.findall(words(Client().get("/emergency/")).lower())


@pytest.mark.parametrize("address", ["/today/", "/treat/", "/treat/history/", "/sign-in/", "/"])
def test_it_is_one_tap_away_from_every_page(cast: Cast, address: str) -> None:
    """The link stands in the bar at the top."""
    client = Client() if address == "/sign-in/" else as_user(cast.rosa if address != "/" else cast.wren)
    assert soup(client.get(address)).select_one(".bar a[href='/emergency/']")


def plan(cast: Cast, **more) -> EmergencyPlan:
    return EmergencyPlanFactory(child=cast.mateo, recorded_by=cast.hakim, **more)


def of(cast: Cast, who: str, child: str = "mateo"):
    return as_user(getattr(cast, who)).get(reverse("child-emergency", args=[getattr(cast, child).pk]))


@pytest.mark.parametrize("who", ["rosa", "sefa", "greta", "tomas", "hakim", "june"])
def test_who_is_with_the_child_finds_the_plan(cast: Cast, who: str) -> None:
    """S96. Where it is, where what it asks for is, whom to call; no condition, no food, no drug, no dose."""
    plan(cast, carried=True)
    page = of(cast, who)
    told = words(page)
    assert "Red binder, front office" in told and "Cabinet by the sink. The child carries it too." in told
    assert "Mother, then grandfather" in told
    assert soup(page).find("a", href="tel:911")
    assert "peanut" not in told.lower() and not DRUGS.findall(told.lower())


@pytest.mark.parametrize("who", ["dmitri", "pavel", "ursula", "amara", "wren"])
def test_nobody_else_learns_that_there_is_one(cast: Cast, who: str) -> None:
    """404, with the steps for everybody still one tap away."""
    plan(cast)
    page = of(cast, who)
    assert page.status_code == 404 and soup(page).select_one(".bar a[href='/emergency/']")


def test_a_child_without_a_plan_is_told_of_as_such(cast: Cast) -> None:
    """Bao has nothing on record at all, and may react all the same (22 to 25 % had none; cautions, 13)."""
    assert "No plan of this child is on record." in words(of(cast, "rosa", "bao"))


def test_a_plan_past_its_date_is_shown_with_the_date(cast: Cast) -> None:
    """An old plan is what there is; who reads it is told."""
    old = timezone.localdate() - timedelta(days=500)
    plan(cast, dated=old, review_on=old + timedelta(days=365))
    told = words(of(cast, "rosa"))
    assert "Red binder, front office" in told and "a newer one was to come by" in told


def test_the_number_is_that_of_the_country(cast: Cast) -> None:
    """And where the country is not known there is none to tap."""
    cast.ferrowick.jurisdiction, cast.ferrowick.country = "anz", "AU"
    cast.ferrowick.save()
    assert soup(of(cast, "rosa")).find("a", href="tel:000")
    cast.ferrowick.country = ""
    cast.ferrowick.save()
    page = of(cast, "rosa")
    assert "Call your local emergency number." in words(page) and not soup(page).select("a[href^='tel:']")


def test_a_plan_that_is_kept_no_more_leads_nobody_astray(cast: Cast) -> None:
    """As if there had never been one."""
    EmergencyPlanFactory(child=cast.mateo, withdrawn=True, replaces=plan(cast), plan_place="")
    assert "Red binder" not in words(of(cast, "rosa"))


def test_each_reading_is_put_on_record_by_the_queue(
    cast: Cast, monkeypatch, django_capture_on_commit_callbacks
) -> None:
    """With the moment of the reading; the page itself writes nothing."""
    waiting: list[tuple] = []
    monkeypatch.setattr(record_reading, "apply_async", lambda said, **_: waiting.append(said))
    before = Action.objects.count()
    with django_capture_on_commit_callbacks(execute=True):
        of(cast, "rosa")
    assert Action.objects.count() == before and len(waiting) == 1
    record_reading(*waiting[0])
    entry = Action.objects.filter(verb=Verb.READ).latest("pk")
    assert (entry.actor, entry.child, entry.site) == (cast.rosa, cast.mateo, cast.ferrowick)
    assert "read_at" in entry.payload and "mateo" not in entry.payload.lower()


def test_a_queue_that_is_away_refuses_nobody(cast: Cast, monkeypatch, django_capture_on_commit_callbacks) -> None:
    """The page answers, and the reading is on record all the same."""

    def away(*_: object, **__: object) -> None:
        raise OperationalError("connection refused")

    monkeypatch.setattr(record_reading, "apply_async", away)
    with django_capture_on_commit_callbacks(execute=True):
        assert of(cast, "rosa").status_code == 200
    assert Action.objects.filter(verb=Verb.READ, actor=cast.rosa, child=cast.mateo).exists()


def test_it_is_read_with_few_queries(cast: Cast) -> None:
    """Session and person 2, gate 1, posts 1, sites 1, child 1, stay 1, plan 1, may 1, menu 1, site 2 at most."""
    plan(cast)
    rosa, at = as_user(cast.rosa), reverse("child-emergency", args=[cast.mateo.pk])
    assert queries(lambda: rosa.get(at)) <= 14


ABOUT_ONE_CHILD = {Thing.MEDICAL, Thing.REPORT, Thing.REFERRAL, Thing.EMERGENCY, Thing.INCIDENT}


@pytest.fixture
def world(cast: Cast) -> World:
    return after_a_night(cast)


def test_every_page_about_a_child_leads_to_that_childs_papers(world: World) -> None:
    """One tap, from every page that the gates call one about a child, and from any that will be added."""
    hakim, wanting, seen = as_user(world.cast.hakim), [], set()
    for name, door in PAGES.items():
        permit = GATES.get(name)
        if permit and permit.thing in ABOUT_ONE_CHILD and door.of and door.method == "get":
            page = hakim.get(address(name, world), follow=True)
            if not page.headers["Content-Type"].startswith("text/html"):
                continue  # a file to keep or to print
            bar = soup(page).select_one(".bar a.emergency")
            if not bar or not re.fullmatch(r"/children/\d+/emergency/", bar["href"]):
                wanting.append(name)
            seen.add(name)
    assert not wanting
    assert seen >= {"child", "child-report", "restriction", "statement", "referral", "incident", "child-plan"}


def test_lists_lead_from_each_child_to_its_papers(world: World) -> None:
    """Today's class with every child of it, the answer to a treat, the dish, the list of children, what is due."""
    cast = world.cast
    to = {child: reverse("child-emergency", args=[getattr(cast, child).pk]) for child in ("kofi", "noor", "bao")}
    lists = [
        (cast.rosa, reverse("today"), ["kofi", "noor", "bao"]),
        (cast.sefa, reverse("today"), ["kofi", "noor", "bao"]),
        (cast.rosa, address("treat-result", world), ["kofi"]),
        (cast.greta, reverse("serving", args=[cast.servings[0].pk]), ["noor"]),
        (cast.hakim, reverse("children"), ["kofi", "noor", "bao"]),
        (cast.hakim, reverse("due"), ["kofi"]),
    ]
    for user, at, children in lists:
        links = {link["href"] for link in soup(as_user(user).get(at)).select("a.urgent")}
        assert links >= {to[child] for child in children}, (user.username, at)


def test_the_page_that_says_something_broke_says_whom_to_call() -> None:
    """It is what is left when the database is away, so it reads nothing: here it would fail, there is none."""
    page = render_to_string("500.html")
    assert 'href="tel:911"' in page and "own plan" in page and not DRUGS.findall(page.lower())
