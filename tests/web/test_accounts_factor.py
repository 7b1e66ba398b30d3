"""The second factor: asked for at the sign-in, demanded of those whose posts say so, each code taken once."""

from __future__ import annotations

from typing import Any

import pytest
from allauth.mfa.models import Authenticator
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from compliance.config.second_factor import SETTING_UP
from roster.models import Action, SignIn, User, Verb, Way
from tests.cast import Cast
from tests.factories import PASSWORD
from tests.web.codes import code, has_app, is_in, recovery_codes, signing_in, still, with_app
from tests.web.doors import PAGES, after_a_night, knock
from tests.web.pages import as_user, soup, words

__all__ = ["still"]
pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("still")]

STEP = "/sign-in/second-step/"


@pytest.fixture
def demanded(settings) -> None:
    """As in real use."""
    settings.SECOND_FACTOR_ROLES = ["licensed", "administrator", "auditor"]


def test_the_password_alone_opens_nothing_of_an_account_with_a_second_factor(cast: Cast) -> None:
    """Until the code is typed, whoever is there is a stranger."""
    client = signing_in(with_app(cast.rosa))
    assert not is_in(client)
    assert "Code from your app" in words(client.get(STEP))
    assert client.post(STEP, {"code": code()}).url == "/"
    assert is_in(client)
    assert SignIn.objects.get(user=cast.rosa).way == Way.CODE


def test_the_page_that_was_asked_for_comes_after_the_second_step(cast: Cast) -> None:
    """A link in a mail leads on through both steps."""
    client, filled = Client(), {"username": "rosa", "password": PASSWORD, "next": "/treat/"}
    with_app(cast.rosa)
    assert client.post("/sign-in/", filled).url == STEP
    assert client.post(STEP, {"code": code()}).url == "/treat/"


def test_a_wrong_code_says_what_to_do_and_stands_in_the_history(cast: Cast) -> None:
    """Whoever has the password and not the phone is seen by the owner."""
    client = signing_in(with_app(cast.rosa))
    assert "Wait for the next one" in words(client.post(STEP, {"code": "000000"}))
    failed = SignIn.objects.get(user=cast.rosa)
    assert (failed.came_in, failed.way) == (False, Way.CODE)
    assert not is_in(client)


def test_a_code_is_taken_once(cast: Cast) -> None:
    """Whoever read it over the shoulder comes too late, from whatever device."""
    with_app(cast.rosa)
    assert signing_in(cast.rosa).post(STEP, {"code": code()}).status_code == 302
    late = signing_in(cast.rosa)
    assert "used already" in words(late.post(STEP, {"code": code()}))
    assert not is_in(late)
    assert "used already" in words(late.post(STEP, {"code": code(-1)}))  # nor one from before it
    assert late.post(STEP, {"code": code(1)}).status_code == 302


def test_a_code_of_another_time_or_person_is_none(cast: Cast) -> None:
    """Two steps away is too far."""
    client = signing_in(with_app(cast.rosa))
    for wrong in (code(2), code(-2), "", "１２３４５６", "' or 1=1 --"):
        assert client.post(STEP, {"code": wrong}).status_code == 200
    assert not is_in(client)


def test_a_recovery_code_opens_once(cast: Cast) -> None:
    """It stands in for the phone."""
    first, *_ = recovery_codes(with_app(cast.rosa))
    assert signing_in(cast.rosa).post(STEP, {"code": first}).status_code == 302
    assert SignIn.objects.get(user=cast.rosa).way == Way.RECOVERY
    assert signing_in(cast.rosa).post(STEP, {"code": first}).status_code == 200


def test_whoever_goes_back_begins_anew(cast: Cast) -> None:
    """The second step of one person is not shown to the next at the same screen."""
    client = signing_in(with_app(cast.rosa))
    assert client.get("/sign-in/").status_code == 200
    assert client.get(STEP).url == "/sign-in/"


def test_a_stranger_does_not_come_to_the_second_step(cast: Cast) -> None:
    """It follows the first."""
    assert Client().get(STEP).url == "/sign-in/"
    assert Client().post(STEP, {"code": code()}).url == "/sign-in/"


@pytest.mark.usefixtures("demanded")
@pytest.mark.parametrize("who", ["hakim", "june", "ursula"])
def test_who_must_have_one_is_led_to_set_it_up_before_any_page(cast: Cast, who: str) -> None:
    """Every page of the role leads there, and the API refuses."""
    world = after_a_night(cast)
    client = as_user(getattr(cast, who))
    for name in set(PAGES) - SETTING_UP:
        assert knock(client, world, name).headers["Location"] == "/account/second-factor/", name
    answer = client.get(reverse("api-treat-checks"))
    assert answer.status_code == 403 and "set one up" in answer.content.decode()
    assert "Before anything else" in words(client.get("/account/second-factor/"))


@pytest.mark.usefixtures("demanded")
def test_a_superuser_must_have_one_too(cast: Cast) -> None:
    """Whoever repairs can read everything."""
    mender = User.objects.create_superuser("mender", password=PASSWORD)
    client = as_user(mender)
    assert client.get("/repair/").headers["Location"] == "/account/second-factor/"
    with_app(mender)
    assert client.get("/repair/").status_code == 200


@pytest.mark.usefixtures("demanded")
@pytest.mark.parametrize("who", ["rosa", "greta", "sefa", "amara", "wren"])
def test_others_may_have_one_and_need_not(cast: Cast, who: str) -> None:
    """A teacher with a treat in hand is not sent for a phone."""
    assert "Before anything else" not in words(as_user(getattr(cast, who)).get("/account/second-factor/"))
    assert as_user(getattr(cast, who)).get("/rules/").status_code == 200


@pytest.mark.usefixtures("demanded")
def test_the_steps_in_an_emergency_stay_open(cast: Cast) -> None:
    """Nothing stands before them."""
    assert as_user(cast.hakim).get("/emergency/").status_code == 200


@pytest.mark.usefixtures("demanded")
def test_an_app_is_set_up_at_the_first_sign_in(cast: Cast, django_capture_on_commit_callbacks: Any) -> None:
    """Picture or text, one code, the recovery codes once; then the pages are open, and the session's key is new."""
    client = signing_in(cast.hakim)
    page = client.get("/account/second-factor/codes/")
    secret = soup(page).select_one(".secret").text.replace(" ", "")
    assert soup(page).select_one("img.qr")["src"].startswith("data:image/svg+xml")
    key = client.session.session_key
    made = code_of(secret)
    with django_capture_on_commit_callbacks(execute=True):
        answer = client.post("/account/second-factor/codes/", {"code": f"{made[:3]} {made[3:]}"})
    assert answer.url == "/account/second-factor/recovery/"
    assert client.session.session_key != key
    assert secret not in str(Authenticator.objects.get(user=cast.hakim, type="totp").data)
    shown = soup(client.get(answer.url)).select(".codes li")
    assert len(shown) == 10
    again = client.get(answer.url)
    assert shown[0].text not in again.content.decode() and "not shown again" in words(again)
    assert client.get("/referrals/").status_code == 200
    assert Action.objects.filter(verb=Verb.RECORDED, subject=f"second factor of user {cast.hakim.pk}").exists()
    assert "used already" in words(signing_in(cast.hakim).post(STEP, {"code": made}))


def code_of(secret: str) -> str:
    """The code of that secret now."""
    from allauth.mfa.totp.internal import auth

    return auth.format_hotp_value(auth.hotp_value(secret, int(auth.time.time()) // 30))


def test_setting_up_asks_who_it_is_unless_they_have_just_signed_in(cast: Cast) -> None:
    """At a screen left open nobody puts in a phone of their own."""
    left_open = as_user(cast.rosa)
    asked = left_open.get("/account/second-factor/codes/")
    assert asked.url == "/account/again/?next=%2Faccount%2Fsecond-factor%2Fcodes%2F"
    refused = left_open.post("/account/again/", {"password": "guess", "next": "/account/second-factor/codes/"})
    assert "neither your password" in words(refused)
    told = left_open.post("/account/again/", {"password": PASSWORD, "next": "/account/second-factor/codes/"})
    assert told.url == "/account/second-factor/codes/"
    assert left_open.get(told.url).status_code == 200
    assert signing_in(cast.greta).get("/account/second-factor/codes/").status_code == 200


def test_guessing_who_it_is_ends_the_session(cast: Cast) -> None:
    """And is on record."""
    client = as_user(cast.rosa)
    answers = [client.post("/account/again/", {"password": f"guess {n}"}).status_code for n in range(5)]
    assert answers == [200, 200, 200, 200, 403]
    assert not is_in(client)
    assert Action.objects.filter(verb=Verb.REFUSED, actor=cast.rosa, subject="who it is").count() == 5


@pytest.mark.parametrize("away", ["//elsewhere.example/", "https://elsewhere.example/", "javascript:alert(1)"])
def test_saying_who_one_is_leads_nowhere_else(cast: Cast, away: str) -> None:
    """As with the sign-in."""
    assert as_user(cast.rosa).post("/account/again/", {"password": PASSWORD, "next": away}).url == "/account/"


@pytest.mark.usefixtures("demanded")
def test_the_last_one_stays_where_it_is_demanded(cast: Cast) -> None:
    """Others may take theirs away; the recovery codes go with it."""
    with_app(cast.hakim)
    recovery_codes(with_app(cast.rosa))
    for user, stays in ((cast.hakim, True), (cast.rosa, False)):
        client = signing_in(user)
        client.post(STEP, {"code": code()})
        address = reverse("factor-remove", args=[Authenticator.objects.get(user=user, type="totp").pk])
        client.get(address)
        client.post(address)
        assert has_app(user) is stays
    assert not Authenticator.objects.filter(user=cast.rosa).exists()


def test_nobody_removes_or_sees_that_of_another(cast: Cast) -> None:
    """404, as for one that is not there."""
    theirs = Authenticator.objects.get(user=with_app(cast.hakim))
    client = signing_in(cast.rosa)
    assert client.get(reverse("factor-remove", args=[theirs.pk])).status_code == 404
    assert client.post(reverse("factor-remove", args=[theirs.pk])).status_code == 404
    assert client.get("/account/second-factor/recovery/").status_code == 404


def test_a_lost_one_is_forgotten_by_command(cast: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    """For the only administrator; sessions end with it, and it is on record."""
    client = signing_in(with_app(cast.june))
    client.post(STEP, {"code": code()})
    assert is_in(client)
    call_command("forget_second_factor", "june")
    assert "is taken away" in capsys.readouterr().out
    assert not has_app(cast.june) and not is_in(client)
    assert Action.objects.filter(verb=Verb.ENDED, subject=f"second factor of user {cast.june.pk}").exists()
