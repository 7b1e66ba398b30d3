"""Single sign-on: it opens an account that is there, and makes none. Against a provider that runs inside the test.

Source: OpenID Connect Core 1.0, sections 3.1.3.7 (what of a token is checked), 5.3.2 (the same subject in both parts of
the answer) and 5.7 (the subject, not the address, is who somebody is); RFC 7636 (the proof that goes with the code).
"""

from __future__ import annotations

import time
from collections.abc import Iterator

import pytest
from allauth.socialaccount.models import SocialAccount
from django.test import Client

from compliance.config.accounts_checks import check_accounts
from roster.models import Post, SignIn, User, Way
from tests.cast import Cast
from tests.web.codes import code, is_in, still, with_app
from tests.web.pages import soup, words
from tests.web.provider import Provider, go_through, providing

__all__ = ["still"]
pytestmark = pytest.mark.django_db


@pytest.fixture
def provider(settings) -> Iterator[Provider]:
    """The provider, set as the environment would set it, with Rosa signed in there."""
    with providing() as running:
        settings.SOCIALACCOUNT_PROVIDERS = running.settings()
        settings.SSO_NAME = "the school's sign-on"
        running.claims = {
            "sub": "person-17",
            "email": "rosa@example.org",
            "email_verified": True,
            "name": "R. Elsewhere",
        }
        yield running


def test_an_account_is_opened_by_its_verified_address(cast: Cast, provider: Provider) -> None:
    """And leads to the page that was asked for; the password stays as it was, and nothing told is kept."""
    client = Client()
    assert go_through(client, provider, "/treat/").url == "/treat/"
    assert is_in(client)
    assert SignIn.objects.get(user=cast.rosa).way == Way.SSO
    cast.rosa.refresh_from_db()
    assert cast.rosa.has_usable_password() and cast.rosa.first_name == "Rosa"
    kept = SocialAccount.objects.get()
    assert (kept.user, kept.uid, kept.extra_data) == (cast.rosa, "person-17", {})


def test_from_then_on_the_lasting_name_counts_not_the_address(cast: Cast, provider: Provider) -> None:
    """An address that passes to somebody else takes no account with it."""
    go_through(Client(), provider)
    provider.claims |= {"email": "rosa.new@example.org"}
    came = Client()
    go_through(came, provider)
    assert is_in(came)
    provider.claims = {"sub": "person-99", "email": "rosa@example.org", "email_verified": True}
    other = Client()
    assert "no account here has your address" in words(other.get(go_through(other, provider).url))
    assert not is_in(other)


@pytest.mark.parametrize(
    "told",
    [
        {"email": "somebody@example.org"},
        {"email_verified": False},
        {"email_verified": "false"},
        {"email": ""},
        {"email": "wren@example.org", "email_verified": False, "role": "administrator", "groups": ["administrator"]},
    ],
)
def test_nobody_else_comes_in_and_no_account_is_made(cast: Cast, provider: Provider, told: dict[str, object]) -> None:
    """Not for an address that is not verified, nor for one that nobody here has."""
    before = User.objects.count(), Post.objects.count()
    provider.claims |= told
    client = Client()
    assert "Ask an administrator to invite you" in words(client.get(go_through(client, provider).url))
    assert not is_in(client)
    assert (User.objects.count(), Post.objects.count()) == before
    assert not SocialAccount.objects.exists()


def test_an_address_of_two_accounts_opens_neither(cast: Cast, provider: Provider) -> None:
    """Whose it is cannot be told."""
    User.objects.filter(pk=cast.greta.pk).update(email="Rosa@example.org")
    client = Client()
    go_through(client, provider)
    assert not is_in(client)


def test_a_role_that_the_provider_claims_is_none(cast: Cast, provider: Provider) -> None:
    """Posts are given here."""
    provider.claims |= {"role": "administrator", "groups": ["admins"], "is_superuser": True, "is_staff": True}
    client = Client()
    go_through(client, provider)
    cast.rosa.refresh_from_db()
    assert not cast.rosa.is_superuser and cast.rosa.posts.count() == 1
    assert client.get("/people/").status_code == 404


def test_a_closed_account_stays_closed(cast: Cast, provider: Provider) -> None:
    """Before the first time and after it."""
    User.objects.filter(pk=cast.rosa.pk).update(is_active=False)
    client = Client()
    go_through(client, provider)
    assert not is_in(client)
    User.objects.filter(pk=cast.rosa.pk).update(is_active=True)
    go_through(Client(), provider)
    User.objects.filter(pk=cast.rosa.pk).update(is_active=False)
    client = Client()
    assert "account is closed" in words(client.get(go_through(client, provider).url))
    assert not is_in(client)


@pytest.mark.parametrize(
    "token",
    [
        {"sub": "person-1"},
        {"aud": "another service"},
        {"iss": "https://elsewhere.example"},
        {"exp": int(time.time()) - 3600},
    ],
)
def test_an_answer_that_is_not_for_us_opens_nothing(cast: Cast, provider: Provider, token: dict[str, object]) -> None:
    """Another subject, audience or issuer, or a token that is over."""
    provider.token = token
    client = Client()
    assert go_through(client, provider).url == "/sign-in/"
    assert not is_in(client)


def test_an_answer_that_nobody_asked_for_opens_nothing(cast: Cast, provider: Provider) -> None:
    """A state from elsewhere, none at all, one used before, or a refusal."""
    client = Client()
    assert go_through(client, provider, state="planted").url == "/sign-in/"
    assert Client().get("/sign-in/single/back/", {"code": "once"}).url == "/sign-in/"
    refused = Client()
    assert "did not work" in words(refused.get(go_through(refused, provider, error="access_denied").url))
    assert not is_in(client) and not is_in(refused)


@pytest.mark.parametrize("away", ["//elsewhere.example/", "https://elsewhere.example/", "javascript:alert(1)"])
def test_it_leads_nowhere_else(cast: Cast, provider: Provider, away: str) -> None:
    """As with the sign-in."""
    assert go_through(Client(), provider, away).url == "/"


@pytest.mark.usefixtures("still")
def test_the_second_factor_is_asked_for_here_too(cast: Cast, provider: Provider) -> None:
    """Whatever the provider has asked for."""
    with_app(cast.rosa)
    client = Client()
    assert go_through(client, provider).url == "/sign-in/second-step/"
    assert not is_in(client)
    client.post("/sign-in/second-step/", {"code": code()})
    assert is_in(client)
    assert SignIn.objects.get(user=cast.rosa).way == Way.SSO_CODE


def test_who_has_no_password_can_set_up_an_app_right_after_signing_in(cast: Cast, provider: Provider) -> None:
    """There is no password to ask for; a quarter of an hour later they sign in once more."""
    cast.rosa.set_unusable_password()
    cast.rosa.save()
    client = Client()
    go_through(client, provider)
    assert client.get("/account/second-factor/codes/").status_code == 200
    assert client.get("/account/password/").status_code == 404


def test_the_way_there_is_offered_where_there_is_one(cast: Cast, provider: Provider, settings) -> None:
    """Without a provider there is no link, and its addresses are not there."""
    link = soup(Client().get("/sign-in/?next=/treat/")).find("a", string="Sign in by the school's sign-on")
    assert link["href"] == "/sign-in/single/?next=%2Ftreat%2F"
    settings.SOCIALACCOUNT_PROVIDERS = {}
    assert "school's sign-on" not in words(Client().get("/sign-in/"))
    assert Client().get("/sign-in/single/").status_code == 404
    assert Client().get("/sign-in/single/back/").status_code == 404


@pytest.mark.parametrize(
    ("issuer", "found"), [("http://sso.example", ["compliance.E020"]), ("https://sso.example", [])]
)
def test_a_provider_without_https_stops_the_start(settings, issuer: str, found: list[str]) -> None:
    """What it tells is believed because of that line alone."""
    settings.SSO_ISSUER = issuer
    settings.SOCIALACCOUNT_PROVIDERS = {"openid_connect": {"APPS": [{"client_id": "menus", "secret": "x"}]}}
    assert [message.id for message in check_accounts()] == found
