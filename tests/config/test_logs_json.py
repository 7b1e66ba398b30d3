"""Log lines for a collector: one JSON object a line, with ids, and without personal data."""

from __future__ import annotations

import io
import json
import logging
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.db import IntegrityError
from django.http import HttpRequest
from django.test import Client
from django.urls import reverse

from compliance.checks import slices
from compliance.checks.run import check_site
from compliance.config import env, tasklog
from compliance.config.logs_json import PrivateJsonFormatter
from compliance.config.request_id import HEADER
from compliance.config.settings import LOG_LINES
from compliance.models import Run
from compliance.operations.about import AboutFilter, about, told
from compliance.web import children
from tests.cast import Cast

SECRET = "Noor Example, peanut"
LOG = logging.getLogger("tests.json")
Lines = Callable[[], list[dict[str, Any]]]


@pytest.fixture
def lines() -> Iterator[Lines]:
    """What a handler of the settings writes with LOG_FORMAT=json, parsed."""
    assert LOG_LINES["json"]["()"] == "compliance.config.logs_json.PrivateJsonFormatter"
    out = io.StringIO()
    handler = logging.StreamHandler(out)
    handler.setFormatter(PrivateJsonFormatter())
    handler.addFilter(AboutFilter())
    logging.getLogger().addHandler(handler)
    yield lambda: [json.loads(line) for line in out.getvalue().splitlines()]
    logging.getLogger().removeHandler(handler)


def test_a_line_is_an_object_with_what_we_said(lines: Lines) -> None:
    """Time in UTC, level, logger and message; a line break in the message does not begin a second line."""
    LOG.warning("%s photos\nwere discarded.", 5)
    (line,) = lines()
    assert line.pop("time").endswith("+00:00")
    assert line == {"level": "WARNING", "logger": "tests.json", "message": "5 photos\nwere discarded."}


def test_it_tells_what_the_work_was_about(lines: Lines) -> None:
    """Ids given around the work, the inner ones beside the outer; nothing once it is over."""
    with about(night=3, slice=7):
        with about(run=11):
            LOG.warning("in it")
        LOG.warning("beside it")
    LOG.warning("after it")
    inner, outer, after = lines()
    assert (inner["night"], inner["slice"], inner["run"]) == (3, 7, 11)
    assert outer["slice"] == 7 and "run" not in outer
    assert "night" not in after


def test_nothing_but_ids_is_told() -> None:
    """A name for what is no id is refused, so that no line tells of a person by that way."""
    with pytest.raises(ValueError, match="Log lines do not tell child"), about(child=1):
        raise AssertionError("not reached")


def test_what_somebody_hangs_on_a_line_is_left_out(lines: Lines) -> None:
    """Django hangs the request on its lines, with all that was sent; a mapping as message is left out as well."""
    request = HttpRequest()
    request.path = f"/children/{SECRET}/"
    LOG.warning("Not found: %s", request.path, extra={"request": request, "child": SECRET})
    LOG.warning({"child": SECRET})
    assert SECRET not in json.dumps(lines())
    assert lines()[0]["message"] == "Not found: an address that is not there"


def test_a_failure_is_told_without_its_words(lines: Lines) -> None:
    """Kinds and code lines, as in the plain log."""
    try:
        try:
            raise IntegrityError(f"Key (name)=({SECRET}) already exists")
        except IntegrityError as error:
            raise ValueError(SECRET) from error
    except ValueError as error:
        LOG.exception("Task failed: %s", error)
    (line,) = lines()
    assert line["message"] == "Task failed: ValueError"
    assert line["failure"].startswith("builtins.ValueError") and "IntegrityError" in line["failure"]
    assert "Noor" not in json.dumps(line) and "exc_info" not in line


def test_a_failing_page_is_told_with_the_id_that_its_answer_has(
    cast: Cast, lines: Lines, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So that what somebody reports can be found, and nothing of what was on the page."""

    def fail(*_: Any, **__: Any) -> None:
        raise ValueError(SECRET)

    monkeypatch.setattr(children, "render", fail)
    client = Client(raise_request_exception=False)
    client.force_login(cast.hakim)
    page = client.get(reverse("child", args=[cast.noor.pk]), {"q": SECRET})
    assert page.status_code == 500
    (line,) = [each for each in lines() if "failure" in each]
    assert line["request"] == page.headers[HEADER]
    assert "Noor" not in json.dumps(lines())


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("given", "taken"),
    [
        ("0f8fad5bd9cb469fa16570867728950e", True),
        ("7C9E6679-7425-40DE-944B-E07FC1F90AE7", True),
        ("Noor Example", False),
        ("abc", False),
        ("0f8fad5bd9cb469f\r\nSet-Cookie: x", False),
        ("0" * 65, False),
    ],
)
def test_the_id_of_a_proxy_is_kept_if_it_is_one(given: str, taken: bool) -> None:
    """Anybody may send the header; words in it would stand in the log."""
    answered = Client().get("/healthz", headers={HEADER: given}).headers[HEADER]
    assert (answered == given.lower()) is taken
    assert len(answered) >= 16


def test_a_task_tells_its_id(lines: Lines) -> None:
    """While it runs, and no longer; an end without a beginning is no error."""
    tasklog.begin(task_id="5c1d")
    LOG.warning("in it")
    tasklog.end(task_id="5c1d")
    tasklog.end(task_id="5c1d")
    assert lines()[0]["task"] == "5c1d"
    assert told() == {}


def test_a_check_that_fails_is_told_with_its_run(cast: Cast, lines: Lines, monkeypatch: pytest.MonkeyPatch) -> None:
    """So that its page can be opened, where those who may read it find the words that the log leaves out."""

    def fail(*_: Any, **__: Any) -> None:
        raise ValueError(SECRET)

    monkeypatch.setattr(slices, "judge_sites", fail)
    with pytest.raises(ValueError, match="Noor"):
        check_site(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    (line,) = [each for each in lines() if "run" in each]
    run = Run.objects.get()
    assert line["run"] == run.pk and line["message"] == f"The check of site {cast.ferrowick.pk} failed."
    assert "ValueError" in line["failure"] and "Noor" not in json.dumps(line)
    assert run.error == f"ValueError: {SECRET}"


def test_another_format_stops_the_start(monkeypatch: pytest.MonkeyPatch) -> None:
    """By name, with what it may be."""
    monkeypatch.setenv("LOG_FORMAT", "xml")
    with pytest.raises(Exception, match=r"LOG_FORMAT is 'xml'\. Set it to one of: text, json\."):
        env.choice("LOG_FORMAT", "text", "json")
    monkeypatch.setenv("LOG_FORMAT", "JSON")
    assert env.choice("LOG_FORMAT", "text", "json") == "json"
