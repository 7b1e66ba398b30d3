"""The page for a suspected reaction."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from tests.cast import Cast
from tests.web.pages import as_user, soup, words


@pytest.mark.django_db
def test_it_is_open_to_everybody_and_reads_nothing(django_assert_num_queries) -> None:
    """Somebody whose session ran out must not meet a password first."""
    with django_assert_num_queries(0):
        page = Client().get("/emergency/")
    assert "Follow the child's own emergency plan" in words(page)
    assert soup(page).find("a", href="tel:911")


def test_it_names_no_drug_and_no_dose() -> None:
    """It points to the child's plan instead (cautions 11 and 12)."""
    page = words(Client().get("/emergency/")).lower()
    named = re.findall(r"\b(epinephrine|adrenaline|antihistamine|inhaler|injector|dose of|\d+ ?m[gl])\b", page)
    assert not named


@pytest.mark.parametrize("address", ["/today/", "/treat/", "/treat/history/", "/sign-in/", "/"])
def test_it_is_one_tap_away_from_every_page(cast: Cast, address: str) -> None:
    """The link stands in the bar at the top."""
    client = Client() if address == "/sign-in/" else as_user(cast.rosa if address != "/" else cast.wren)
    assert soup(client.get(address)).select_one(".bar a[href='/emergency/']")
