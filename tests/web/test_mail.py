"""The page of mails: what waits and what was given up, to whom and why; and nothing of what they say."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from compliance.models import OutgoingMail
from roster.models import Action, Role, User
from tests.cast import Cast
from tests.compliance.checks.mails import mail_to
from tests.factories import PostFactory, UserFactory
from tests.web.pages import as_user, queries, soup, words

pytestmark = pytest.mark.django_db
AWAY = "The mail server does not answer (TimeoutError). Mend EMAIL_HOST and its settings."


@pytest.fixture
def ansel(cast: Cast) -> Client:
    """The administrator of Tansy Gate alone."""
    user: User = UserFactory.create(username="ansel")
    PostFactory.create(user=user, role=Role.ADMINISTRATOR, site=cast.tansy_gate)
    return as_user(user)


def test_nothing_waits(cast: Cast) -> None:
    shown = words(as_user(cast.june).get("/mail/"))
    assert "None waits. 0 went in the last 24 hours." in shown and "Try all" not in shown


def test_what_waits_and_why_in_words(cast: Cast) -> None:
    """To whom, since when, how often it was tried, and when it is tried next; not what it says."""
    now = timezone.now()
    mail_to(
        cast.greta, made_at=now - timedelta(hours=3), attempts=2, error=AWAY, next_try_at=now + timedelta(hours=2.2)
    )
    mail_to(cast.hakim, attempts=0)
    shown = words(as_user(cast.june).get("/mail/"))
    assert "2 wait, the oldest for 3 hours." in shown
    assert f"what a check found. Written 3 hours ago, tried 2 times. {AWAY} Next try in 2 hours." in shown
    assert "Greta" in shown and "Hakim" in shown and "not tried yet. Next try within a minute." in shown
    assert "days ahead" not in shown and "Two." not in shown


def test_what_was_given_up_stands_first_and_is_tried_again(cast: Cast) -> None:
    """On record, without a name."""
    kept = mail_to(cast.greta, attempts=14, error=AWAY, given_up_at=timezone.now())
    client = as_user(cast.june)
    shown = words(client.get("/mail/"))
    assert soup(client.get("/mail/")).select_one(f'a[href="/people/{cast.greta.pk}/"]'), "where to mend it"
    assert "These people were not reached by mail." in shown and "None waits." in shown
    assert "1 mail will be tried" in words(client.post(f"/mail/{kept.pk}/again/", follow=True))
    kept.refresh_from_db()
    assert (kept.attempts, kept.given_up_at) == (0, None) and kept.next_try_at <= timezone.now()
    entry = Action.objects.latest("pk")
    assert (entry.actor, entry.subject, json.loads(entry.payload)["said"]) == (
        cast.june,
        "mail tried again",
        {"mails": 1},
    )


def test_all_are_tried_at_once(cast: Cast) -> None:
    """Those that wait, and those given up; a second press finds what is left."""
    later = timezone.now() + timedelta(hours=5)
    mail_to(cast.greta, given_up_at=timezone.now())
    mail_to(cast.hakim, next_try_at=later)
    went = mail_to(cast.tomas, sent_at=timezone.now(), next_try_at=later)
    assert "2 mails will be tried" in words(as_user(cast.june).post("/mail/again/", follow=True))
    assert OutgoingMail.objects.due(timezone.now()).count() == 2
    went.refresh_from_db()
    assert went.next_try_at == later


def test_a_mail_that_has_gone_is_not_sent_twice(cast: Cast) -> None:
    kept = mail_to(cast.greta, sent_at=timezone.now())
    assert "Nothing was sent twice." in words(as_user(cast.june).post(f"/mail/{kept.pk}/again/", follow=True))


def test_the_administrator_of_one_site_sees_its_people_alone(cast: Cast, ansel: Client) -> None:
    """Pavel's; neither Greta's nor that there is one."""
    greta, pavel = mail_to(cast.greta), mail_to(cast.pavel)
    shown = words(ansel.get("/mail/"))
    assert "1 waits" in shown and "Pavel" in shown and "Greta" not in shown
    assert ansel.post(f"/mail/{greta.pk}/again/").status_code == 404
    OutgoingMail.objects.update(given_up_at=timezone.now())
    ansel.post("/mail/again/")
    assert list(OutgoingMail.objects.waiting()) == [pavel]


def test_the_page_costs_the_same_however_many(cast: Cast) -> None:
    client = as_user(cast.june)
    mail_to(cast.greta)
    few = queries(lambda: client.get("/mail/"))
    for n in range(60):
        mail_to(cast.hakim, f"checks from {100 + n}")
    assert queries(lambda: client.get("/mail/")) == few
    assert "61 in all; the oldest are shown." in words(client.get("/mail/"))
