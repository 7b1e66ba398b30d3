"""An account without a password, and the one-time link that sets one."""

from __future__ import annotations

from datetime import datetime, timedelta
from urllib.parse import urlsplit

import pytest
from django.contrib.auth.tokens import default_token_generator
from django.core.management import CommandError, call_command
from django.test import Client

from compliance.web.welcome import welcome_link
from roster.models import Post, Role, User
from tests.cast import Cast

pytestmark = pytest.mark.django_db

PASSWORD = "buns on a tuesday"


def invited(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Run the command and return the path of the link that it prints."""
    call_command("invite", *arguments)
    address = capsys.readouterr().out.splitlines()[-1]
    return urlsplit(address).path


def set_password(client: Client, path: str) -> object:
    """Follow the link and set the password, as a browser does."""
    page = client.get(path, follow=True)
    there = page.redirect_chain[-1][0] if page.redirect_chain else path
    return client.post(there, {"new_password1": PASSWORD, "new_password2": PASSWORD}, follow=True)


def signs_in(client: Client, name: str) -> bool:
    """Whether that name and the new password open the pages."""
    return client.post("/sign-in/", {"username": name, "password": PASSWORD}).status_code == 302


def test_the_first_administrator_sets_a_password_and_signs_in(
    client: Client, capsys: pytest.CaptureFixture[str]
) -> None:
    """From an empty database to a session, by one command and one link."""
    path = invited(capsys, "june", "--email", "june@school.example", "--role", "administrator")
    assert not User.objects.get(username="june").has_usable_password()

    set_password(client, path)

    assert signs_in(client, "june")
    assert Post.objects.get(user__username="june").role == Role.ADMINISTRATOR


def test_the_link_works_once(client: Client, capsys: pytest.CaptureFixture[str]) -> None:
    """Whoever finds it afterwards gets a page that says what to do, and no form."""
    path = invited(capsys, "june", "--role", "administrator")
    set_password(client, path)

    page = Client().get(path, follow=True)

    assert "This link no longer works" in page.content.decode()
    assert "new_password1" not in page.content.decode()


def test_the_link_dies_of_age(client: Client, capsys: pytest.CaptureFixture[str], settings, monkeypatch) -> None:
    """INVITATION_SECONDS after it was made."""
    path = invited(capsys, "june", "--role", "administrator")
    later = datetime.now() + timedelta(seconds=settings.PASSWORD_RESET_TIMEOUT + 1)  # noqa: DTZ005 - as Django counts
    monkeypatch.setattr(default_token_generator, "_now", lambda: later)

    assert "This link no longer works" in client.get(path, follow=True).content.decode()


@pytest.mark.parametrize("path", ["/welcome/MQ/abc-def/", "/welcome/%00/x/", "/welcome/zzzz/set-password/"])
def test_a_mistyped_link_gets_the_same_page(client: Client, path: str) -> None:
    """It says nothing of which accounts there are."""
    page = client.get(path, follow=True)
    assert page.status_code == 200
    assert "This link no longer works" in page.content.decode()


def test_a_weak_password_is_refused_with_the_reason(client: Client, capsys: pytest.CaptureFixture[str]) -> None:
    """And the account stays closed."""
    path = invited(capsys, "june", "--role", "administrator")
    there = client.get(path, follow=True).redirect_chain[-1][0]

    page = client.post(there, {"new_password1": "short", "new_password2": "short"})

    assert "at least 12 characters" in page.content.decode()
    assert not User.objects.get(username="june").has_usable_password()


def test_somebody_who_forgot_the_password_gets_a_new_link(cast: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing else about the account changes."""
    client = Client()
    set_password(client, invited(capsys, "rosa"))

    assert signs_in(client, "rosa")
    assert cast.rosa.posts.count() == 1


def test_a_teacher_is_invited_to_a_classroom(cast: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    """Named by site and room."""
    invited(capsys, "nils", "--role", "teacher", "--site", "ferrowick", "--classroom", "Larks")
    post = Post.objects.get(user__username="nils")
    assert (post.role, post.classroom, post.site) == (Role.TEACHER, cast.larks, None)


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["nils"], "There is no account nils. To make it, say its role"),
        (["rosa", "--role", "licensed"], "There is an account rosa already"),
        (["nils", "--role", "kitchen"], "A kitchen post names its site"),
        (["nils", "--role", "kitchen", "--site", "nowhere"], "There is no site 'nowhere'. The sites are: ferrowick, "),
        (["nils", "--role", "teacher", "--site", "ferrowick"], "A teacher's post names a classroom"),
        (["nils", "--role", "teacher", "--classroom", "Larks"], "Add --site CODE"),
        (["nils", "--role", "teacher", "--site", "ferrowick", "--classroom", "Owls"], "Its classrooms are: Larks"),
        (["ni ls", "--role", "licensed"], "Enter a valid username"),
        (["nils", "--role", "licensed", "--email", "nils"], "Enter a valid email address"),
    ],
)
def test_what_cannot_be_done_is_said_and_nothing_is_half_made(cast: Cast, arguments: list[str], why: str) -> None:
    """No account without a post."""
    before = User.objects.count(), Post.objects.count()
    with pytest.raises(CommandError, match=why):
        call_command("invite", *arguments)
    assert (User.objects.count(), Post.objects.count()) == before


def test_the_link_leads_to_the_address_that_people_type(cast: Cast, settings) -> None:
    """Not to the machine's own."""
    settings.SITE_ADDRESS = "https://menus.school.example"
    assert welcome_link(cast.rosa).startswith("https://menus.school.example/welcome/")
