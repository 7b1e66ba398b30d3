"""The menu: short ones show whole, long ones fold, and nothing of what a role is offered is lost."""

from __future__ import annotations

import pytest
from django.urls import reverse

from compliance.web.navigation import LONGEST_MENU, PAGES
from roster.models import Role
from tests.cast import Cast
from tests.web.pages import as_user, soup

pytestmark = pytest.mark.django_db


def test_a_long_menu_folds_and_offers_all_of_it(cast: Cast) -> None:
    """Licensed staff: fourteen pages, of which a phone shows the first before anything is unfolded."""
    page = soup(as_user(cast.hakim).get(reverse("referrals")))
    folded = {link["href"] for link in page.select(".menu details a")}
    shown = {link["href"] for link in page.select(".menu > ul a")}
    assert len(PAGES[Role.LICENSED]) > LONGEST_MENU and folded and not folded & shown
    assert folded | shown == {reverse(name) for name, _ in PAGES[Role.LICENSED]}


def test_where_one_is_always_shows(cast: Cast) -> None:
    """However far down the menu it stands."""
    page = soup(as_user(cast.hakim).get(reverse("import-fhir")))
    (here,) = page.select(".menu [aria-current]")
    assert here["href"] == reverse("import-fhir") and not here.find_parent("details")


def test_a_short_menu_shows_whole(cast: Cast) -> None:
    """A teacher's four pages."""
    page = soup(as_user(cast.rosa).get(reverse("today")))
    assert len(page.select(".menu > ul a")) == len(PAGES[Role.TEACHER]) and not page.select(".menu details")
