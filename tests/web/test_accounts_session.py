"""Sessions: a new key at sign-in, an end by role, an end everywhere when the owner says so."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.mail import EmailMessage
from django.test import Client
from django.utils import timezone

from compliance.checks.sending import send_due
from compliance.config import session_end
from roster.models import Role, User
from tests.cast import Cast
from tests.factories import PASSWORD, PostFactory
from tests.web.codes import is_in, signing_in
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db


def later(client: Client, **passed: float) -> Client:
    """The client, its session as old and untouched as that."""
    session, span = client.session, timedelta(**passed).total_seconds()
    for name in (session_end.BEGAN, session_end.SEEN, session_end.AT):
        session[name] -= span
    session.save()
    return client


def test_signing_in_gives_the_session_a_new_key(cast: Cast) -> None:
    """A key that somebody planted in the browser before opens nothing (session fixation)."""
    victim, attacker = Client(), Client()
    session = attacker.session
    session["left"] = "by the attacker"
    session.save()
    for each in (victim, attacker):
        each.cookies["sessionid"] = session.session_key
    signing_in(cast.rosa, client=victim)
    assert is_in(victim)
    assert victim.cookies["sessionid"].value != session.session_key
    assert not is_in(attacker)


def test_signing_in_as_somebody_else_keeps_nothing_of_the_session_before(cast: Cast) -> None:
    """Two people at one tablet."""
    client = signing_in(cast.rosa)
    session = client.session
    session["site"] = "ferrowick"
    session.save()
    client.force_login(cast.greta)
    assert "site" not in client.session


@pytest.mark.parametrize(
    ("who", "minutes", "open_still"),
    [
        ("hakim", 29, True),
        ("hakim", 31, False),
        ("june", 31, False),
        ("ursula", 31, False),
        ("amara", 31, False),
        ("wren", 31, False),
        ("rosa", 31, True),
        ("rosa", 239, True),
        ("rosa", 241, False),
        ("greta", 241, True),
    ],
)
def test_a_session_left_alone_ends_by_role(cast: Cast, who: str, minutes: int, open_still: bool) -> None:
    """After half an hour where health records or accounts are open, after four hours in a classroom."""
    client = later(as_user(getattr(cast, who)), minutes=minutes)
    assert is_in(client) is open_still


@pytest.mark.parametrize(("hours", "open_still"), [(11.5, True), (12.5, False)])
def test_a_session_that_is_used_ends_too(cast: Cast, hours: float, open_still: bool) -> None:
    """After half a day, in the kitchen as well."""
    client = as_user(cast.greta)
    session = later(client, hours=hours).session
    session[session_end.SEEN] = timezone.now().timestamp()
    session.save()
    assert is_in(client) is open_still


def test_the_strictest_of_several_roles_counts(cast: Cast) -> None:
    """A cook who also administers is signed out as an administrator."""
    PostFactory(user=cast.greta, role=Role.ADMINISTRATOR, site=cast.ferrowick)
    assert not is_in(later(as_user(cast.greta), minutes=31))


def test_a_post_given_meanwhile_counts_from_the_next_touch(cast: Cast) -> None:
    """The limits are looked up again as somebody goes on."""
    client = as_user(cast.greta)
    PostFactory(user=cast.greta, role=Role.ADMINISTRATOR, site=cast.ferrowick)
    assert is_in(later(client, minutes=5))
    assert not is_in(later(client, minutes=31))


def test_who_is_signed_out_is_told_why_and_led_back(cast: Cast) -> None:
    """To the page that they wanted."""
    client = later(as_user(cast.hakim), minutes=31)
    answer = client.get("/referrals/", follow=True)
    assert answer.redirect_chain == [("/sign-in/?next=/referrals/", 302)]
    assert "nothing was touched for 30 minutes" in words(answer)


def test_a_part_of_a_page_leads_the_whole_page_to_the_sign_in(cast: Cast) -> None:
    """Else the sign-in form would stand where the list of children stood."""
    client = later(as_user(cast.rosa), hours=5)
    headers = {"HX-Request": "true", "HX-Current-URL": "http://testserver/today/"}
    answer = client.get("/today/", headers=headers)
    assert answer.headers["HX-Redirect"] == "/sign-in/?next=%2Ftoday%2F"
    assert not answer.content


def test_a_page_that_fetches_itself_keeps_no_session_alive(cast: Cast) -> None:
    """A tablet left on the table asks every minute; a finger on it counts."""
    client = later(as_user(cast.rosa), hours=3)
    seen = client.session[session_end.SEEN]
    client.get("/today/", headers={"HX-Request": "true"})
    assert client.session[session_end.SEEN] == seen
    client.get("/today/")
    assert client.session[session_end.SEEN] > seen


def test_a_new_password_ends_every_other_session(cast: Cast, mailoutbox: list[EmailMessage]) -> None:
    """And leaves this one, under a new key; the owner gets a mail whose subject names nobody."""
    here, there = signing_in(cast.rosa), signing_in(cast.rosa)
    key = here.session.session_key
    filled = {"old_password": PASSWORD, "new_password1": "porridge on mondays", "new_password2": "porridge on mondays"}
    assert here.post("/account/password/", filled).url == "/account/"
    assert is_in(here) and not is_in(there)
    assert here.session.session_key != key
    send_due(timezone.now())
    (told,) = mailoutbox
    assert (told.subject, told.to) == ("Your account", ["rosa@example.org"])
    assert "password of your account was changed" in told.body
    assert is_in(signing_in(cast.rosa, "porridge on mondays")) and not is_in(signing_in(cast.rosa))


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"old_password": "guess"}, "This is not your password until now"),
        ({"new_password2": "another sentence"}, "The two passwords differ"),
        ({"new_password1": "rosa", "new_password2": "rosa"}, "too short"),
    ],
)
def test_a_password_that_cannot_be_is_refused(cast: Cast, typed: dict[str, str], told: str) -> None:
    """The old one stays."""
    sentence = "porridge on mondays"
    filled = {"old_password": PASSWORD, "new_password1": sentence, "new_password2": sentence, **typed}
    assert told in words(as_user(cast.rosa).post("/account/password/", filled))
    assert User.objects.get(pk=cast.rosa.pk).check_password(PASSWORD)


def test_signing_out_everywhere_else(cast: Cast) -> None:
    """A phone lost on the bus is shut out; whoever asks goes on."""
    here, phone = signing_in(cast.rosa), signing_in(cast.rosa)
    assert is_in(phone)
    here.post("/account/elsewhere/")
    assert is_in(here) and not is_in(phone)
    assert is_in(signing_in(cast.rosa))


def test_a_closed_account_is_out_at_once(cast: Cast) -> None:
    """At its next page, and its password opens nothing."""
    client = signing_in(cast.rosa)
    User.objects.filter(pk=cast.rosa.pk).update(is_active=False)
    assert not is_in(client)
    page = Client().post("/sign-in/", {"username": "rosa", "password": PASSWORD}, follow=True)
    assert "account is closed" in words(page)
