"""What a person sees when a page cannot be had."""

from __future__ import annotations

import pytest
from django.conf import settings
from django.template.loader import render_to_string
from django.test import Client

from compliance.models import TreatCheck
from tests.cast import Cast
from tests.web.pages import as_user, soup, words


def test_a_page_that_is_not_theirs_says_so_and_where_to_go(cast: Cast) -> None:
    """Without telling whether there is such a page; the menu and the way to a suspected reaction are still there."""
    page = as_user(cast.rosa).get("/treat/999/")
    assert page.status_code == 404
    assert "ask an administrator for the post that lets you" in words(page)
    assert soup(page).select(".menu a") and soup(page).select(".emergency")


def test_a_stranger_s_wrong_address_is_answered_too(db: None) -> None:
    """No account is needed to be told that there is nothing."""
    assert Client().get("/nowhere/").status_code == 404


def test_a_form_from_elsewhere_is_not_taken(cast: Cast) -> None:
    """It says what to do, and nothing was checked."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.rosa)
    page = client.post("/treat/", {"when": "now", "no_label": "on"})
    assert page.status_code == 403
    assert "nothing was checked or saved" in words(page)
    assert not TreatCheck.objects.exists()


def test_megabytes_for_a_label_are_refused_in_words(cast: Cast) -> None:
    """Larger than a form may be at all, so that the page itself cannot answer."""
    text = "sugar, " * (settings.DATA_UPLOAD_MAX_MEMORY_SIZE // 6)
    page = as_user(cast.rosa).post("/treat/", f"when=now&text={text}", content_type=FORM)
    assert page.status_code == 400
    assert "Leave in only what is printed on the package" in words(page)


FORM = "application/x-www-form-urlencoded"


@pytest.mark.parametrize("name", ["400.html", "403_csrf.html", "500.html"])
def test_a_page_of_last_resort_needs_nothing(name: str) -> None:
    """Neither request nor database: it is shown when these are what failed."""
    assert "<h1>" in render_to_string(name)
