"""What page tests share: a signed-in client and the page as soup."""

from __future__ import annotations

from collections.abc import Callable

from bs4 import BeautifulSoup
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext

from roster.models import User


def as_user(user: User) -> Client:
    """Return a client signed in as that person."""
    client = Client()
    client.force_login(user)
    return client


def soup(response: HttpResponse) -> BeautifulSoup:
    """Return the page that came back."""
    return BeautifulSoup(response.content, "html.parser")


def words(response: HttpResponse) -> str:
    """Return what the page says inside its main part, with single spaces."""
    main = soup(response).find("main")
    assert main is not None
    return " ".join(main.get_text(" ").split())


def queries(act: Callable[[], object]) -> int:
    """Return how many queries it takes once all that is read once a process has been read."""
    act()
    with CaptureQueriesContext(connection) as caught:
        act()
    return len(caught)
