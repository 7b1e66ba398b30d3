"""Pages about children are not kept by browsers or proxies."""

from __future__ import annotations

from django.test import Client
from django.urls import reverse

from tests.cast import Cast


def test_a_signed_in_page_is_not_kept(cast: Cast, client: Client) -> None:
    """On a shared phone, “back” after signing out must not show a class."""
    client.force_login(cast.rosa)
    assert "no-store" in client.get(reverse("today"))["Cache-Control"]


def test_an_open_page_may_be_kept(client: Client) -> None:
    """What to do in a reaction is there when the network is not."""
    assert "no-store" not in client.get(reverse("emergency")).headers.get("Cache-Control", "")


def test_on_sign_out_the_browser_forgets(cast: Cast, client: Client) -> None:
    """What it kept of the pages all the same; and only then."""
    client.force_login(cast.rosa)
    assert "Clear-Site-Data" not in client.get(reverse("today")).headers
    answer = client.post(reverse("sign-out"))
    assert answer.headers["Clear-Site-Data"] == '"cache", "storage"'
    assert "Clear-Site-Data" not in Client().get(reverse("sign-in")).headers
