"""Incidents on the pages: opened in two taps, added to by whoever opened it, read by who looks after them."""

from __future__ import annotations

from typing import Any

import pytest
from django.core import mail
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from compliance.checks.incident import add_note
from compliance.checks.sending import send_due
from compliance.models import Incident, OutgoingMail
from compliance.tasks import send_mail
from roster.models import Action, Restriction, User, Verb
from tests.cast import Cast
from tests.web.doors import World, after_a_night
from tests.web.pages import as_user, queries, soup, words


@pytest.fixture
def world(cast: Cast) -> World:
    return after_a_night(cast)


def told(cast: Cast, *, by: User | None = None, **more: Any) -> HttpResponse:
    typed = {"kind": "reaction", "seen": "Blotches around the mouth.", "noticed_at": now(cast), **more}
    return as_user(by or cast.rosa).post(reverse("incident-new", args=[cast.bao.pk]), typed, follow=True)


def now(cast: Cast) -> str:
    return f"{timezone.now().astimezone(cast.ferrowick.zone):%Y-%m-%dT%H:%M}"


def of(user: User, name: str, incident: Incident) -> HttpResponse:
    return as_user(user).get(reverse(name, args=[incident.pk]))


def test_two_taps_lead_from_the_class_to_an_incident(cast: Cast) -> None:
    """S96. Today, the child, the form; one field to type, since the time and the kind are filled in."""
    rosa = as_user(cast.rosa)
    child = soup(rosa.get(reverse("today"))).select_one("#others a.urgent")["href"]
    form = soup(rosa.get(child)).find("a", string="Write down what happened")["href"]
    assert form == reverse("incident-new", args=[cast.bao.pk])
    shown = soup(rosa.get(form))
    assert shown.select_one("input[name=kind][checked]")["value"] == "reaction"
    assert shown.find(id="id_noticed_at")["value"] == now(cast)


def test_a_teacher_is_told_what_protects_the_child_now(cast: Cast) -> None:
    """S97. And who sees it; what was gathered is not for the class."""
    answer = told(cast, suspected="egg\nsesame")
    page = words(answer)
    assert "Kept away from now on, until licensed staff have looked: egg; sesame." in page
    assert "Blotches around the mouth." in page and "What was on record" not in page
    assert answer.redirect_chain[-1][0] == reverse("incident-note", args=[Incident.objects.get().pk])


def test_a_food_that_is_not_on_record_stops_nobody(cast: Cast) -> None:
    """In such a moment nobody looks up words: the child gets nothing without asking instead."""
    page = words(told(cast, suspected="blorfs"))
    assert "Serve nothing until licensed staff have said what" in page
    assert "blorfs" in Restriction.objects.get(child=cast.bao).note


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"seen": ""}, "Write in a few words what you saw"),
        ({"noticed_at": "2100-01-01T10:00"}, "still to come"),
        ({"noticed_at": "noon"}, "Give a day and a time"),
        ({"kind": "x"}, "Select a valid choice"),
    ],
)
def test_what_cannot_be_is_refused_and_stays_in_the_form(cast: Cast, more: dict[str, str], said: str) -> None:
    """Nothing typed is lost."""
    answer = told(cast, **{"food": "A pudding", **more})
    assert said in words(answer) and not Incident.objects.exists()
    assert soup(answer).find(id="id_food")["value"] == "A pudding"


def test_licensed_staff_read_all_of_it_and_that_is_on_record(world: World) -> None:
    """S96: dishes, labels, answers, checks; no diagnosis of ours."""
    cast = world.cast
    told(cast)
    incident = Incident.objects.get()
    page = words(of(cast.hakim, "incident", incident))
    for part in ("Peanut butter sandwich", "Oat bar, label 1", "Blotches", "Food without a label", incident.digest):
        assert part in page
    assert "What was kept away because of it stays so until licensed staff end it" in page
    read = Action.objects.filter(verb=Verb.READ, subject=f"incident {incident.pk}").get()
    assert (read.actor, read.child) == (cast.hakim, cast.bao)


@pytest.mark.parametrize("who", ["rosa", "sefa", "greta", "tomas", "dmitri", "ursula", "amara", "wren"])
def test_nobody_else_reads_what_was_gathered(world: World, who: str) -> None:
    """Neither as a page nor as a file, nor that there is one."""
    told(world.cast)
    incident = Incident.objects.get()
    for name in ("incident", "incident-report"):
        assert of(getattr(world.cast, who), name, incident).status_code == 404


def test_whoever_opened_it_adds_to_it_and_others_of_the_class_do_not(cast: Cast) -> None:
    """Their own words, and their own notes."""
    told(cast)
    incident = Incident.objects.get()
    add_note(incident=incident, text="From the nurse alone.", written_by=cast.hakim)
    address = reverse("incident-note", args=[incident.pk])
    page = words(as_user(cast.rosa).post(address, {"text": "The mother came.", "closes": "on"}, follow=True))
    assert "The mother came." in page and "From the nurse alone." not in page
    assert not Incident.objects.with_state().get().is_closed, "closing is not offered, and not taken"
    assert Client().get(address).status_code == 302
    for who in ("sefa", "greta", "tomas", "dmitri", "ursula", "amara", "wren"):
        assert as_user(getattr(cast, who)).get(address).status_code == 404, who


def test_licensed_staff_close_it_on_the_page(cast: Cast) -> None:
    """It stays on the list, after those that are open."""
    told(cast)
    incident = Incident.objects.get()
    address = reverse("incident-note", args=[incident.pk])
    page = words(as_user(cast.hakim).post(address, {"text": "Looked at.", "closes": "on"}, follow=True))
    assert "Closed." in page and "Looked at." in page
    assert "None waits." in words(as_user(cast.june).get(reverse("incidents")))
    assert "close it" not in words(of(cast.hakim, "incident-note", incident))


def test_an_incident_changed_behind_the_services_back_is_shown_as_such(cast: Cast) -> None:
    """On the page, for whoever reads it."""
    told(cast)
    Incident.objects.update(seen="Nothing at all.")
    page = words(of(cast.hakim, "incident", Incident.objects.get()))
    assert "This is not what was kept when the incident was opened." in page


def test_those_who_look_after_it_are_mailed_without_a_name(cast: Cast) -> None:
    """Licensed staff and administrators of the site; the child's name and what was seen stay behind the link."""
    told(cast)
    incident = Incident.objects.get()
    assert send_due(timezone.now()).sent == 2
    assert {each.to[0] for each in mail.outbox} == {"hakim@example.org", "june@example.org"}
    for each in mail.outbox:
        text = each.subject + each.body
        assert "Bao" not in text and "Blotches" not in text and f"/incidents/{incident.pk}/" in text


def test_the_mails_are_kept_with_the_incident(cast: Cast, monkeypatch, django_capture_on_commit_callbacks) -> None:
    """And sent when it is through; a queue that is away loses neither."""

    def away() -> None:
        raise ConnectionError

    monkeypatch.setattr(send_mail, "delay", away)
    with django_capture_on_commit_callbacks(execute=True):
        told(cast)
    assert Incident.objects.count() == 1 and OutgoingMail.objects.waiting().count() == 2


def test_the_list_costs_the_same_whatever_its_length(cast: Cast) -> None:
    """Session, person, gate, sites, page, count, menu."""
    june = as_user(cast.june)
    told(cast)
    few = queries(lambda: june.get(reverse("incidents")))
    for _ in range(3):
        told(cast, kind="shared")
    assert queries(lambda: june.get(reverse("incidents"))) == few


def test_the_pages_never_speak_of_safety(world: World) -> None:
    """Words that the service never shows, and no advice of its own."""
    told(world.cast)
    incident = Incident.objects.get()
    for name in ("incident", "incident-note"):
        shown = words(of(world.cast.hakim, name, incident)).lower()
        assert not any(word in shown for word in (" safe", "allergy-free", "ok to eat", "cleared", "guaranteed"))
