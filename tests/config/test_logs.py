"""No personal data in the log, whatever fails."""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator
from typing import Any

import pytest
from django.conf import settings
from django.db import IntegrityError, connection
from django.test import Client
from django.urls import reverse

from compliance.config.logs import PrivateFormatter
from compliance.web import children
from tests.cast import Cast

SECRET = "Noor Example, peanut"


@pytest.fixture
def log() -> Iterator[io.StringIO]:
    """What a handler with the formatter of the settings writes."""
    how = settings.LOGGING["formatters"]["private"]
    assert how["()"] == "compliance.config.logs.PrivateFormatter"
    out = io.StringIO()
    handler = logging.StreamHandler(out)
    handler.setFormatter(PrivateFormatter(how["format"], style=how["style"]))
    logging.getLogger().addHandler(handler)
    yield out
    logging.getLogger().removeHandler(handler)


def test_every_handler_writes_so_and_none_mails() -> None:
    """In the settings, and nothing of Django's own is left beside."""
    assert {handler["formatter"] for handler in settings.LOGGING["handlers"].values()} == {"private"}
    assert settings.LOGGING["loggers"]["django"]["handlers"] == []
    assert settings.DEBUG is False


def test_a_failing_page_is_told_without_what_was_in_it(
    cast: Cast, log: io.StringIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The kind of failure, the code and the pattern of the address; not the message, the query or the row."""

    def fail(*_: Any, **__: Any) -> None:
        try:
            raise IntegrityError(f"Key (name)=({SECRET}) already exists")
        except IntegrityError as error:
            raise ValueError(SECRET) from error

    monkeypatch.setattr(children, "render", fail)
    client = Client(raise_request_exception=False)
    client.force_login(cast.hakim)
    page = client.get(reverse("child", args=[cast.noor.pk]), {"q": SECRET})
    assert page.status_code == 500
    told = log.getvalue()
    assert "builtins.ValueError" in told and "caused by" in told and "IntegrityError" in told
    assert "/children/<int:pk>/" in told and "children.py" in told
    for body in (told, page.content.decode()):
        assert "Noor" not in body and "peanut" not in body
    assert "Traceback" not in page.content.decode()


def test_a_row_that_the_database_refuses(cast: Cast, log: io.StringIO) -> None:
    """The real thing: its message repeats what was written."""
    try:
        connection.cursor().execute("SELECT noor_example FROM nowhere")
    except Exception as error:
        logging.getLogger("x").exception("Task failed: %s", error)
    assert "Task failed: OperationalError" in log.getvalue() or "ProgrammingError" in log.getvalue()
    assert "noor_example" not in log.getvalue()


@pytest.mark.django_db
def test_an_address_that_is_not_there(log: io.StringIO) -> None:
    """People paste what they have into the address bar."""
    assert Client().get("/children/Noor Example/").status_code == 404
    assert "Noor" not in log.getvalue()


def test_what_we_say_ourselves_is_kept(log: io.StringIO) -> None:
    """Numbers and kinds are what a log is for."""
    logging.getLogger("x").warning("%s entries of the record were emptied.", 5)
    assert "WARNING x: 5 entries of the record were emptied." in log.getvalue()
