"""The benchmark of a treat check: what it makes of its times, and that it believes no form shown again."""

from __future__ import annotations

import pytest

from compliance.benchmarks.browser import Browser, Unanswered
from compliance.benchmarks.treat import CHILDREN, NAME, PASSWORD, figures, made_class, treat
from compliance.benchmarks.world.load import NotEmpty
from menus.models import Site
from roster.models import Child, Restriction, User
from tests.factories import SiteFactory


def test_figures_are_milliseconds_and_ratios() -> None:
    """The median and the 95th of a hundred; the check beside the page."""
    page = [0.010] * 90 + [0.020] * 10
    told = figures(page, [2 * each for each in page])
    assert told["page"] == {"p50_ms": 10.0, "p95_ms": 20.0}
    assert told["check"] == {"p50_ms": 20.0, "p95_ms": 40.0}
    assert told["ratio_p50"] == told["ratio_p95"] == 2.0


@pytest.mark.django_db
def test_a_database_with_sites_is_left_alone() -> None:
    """Before a teacher with a known password is put into it."""
    site = SiteFactory()
    with pytest.raises(NotEmpty):
        treat()
    assert list(Site.objects.all()) == [site]
    assert not User.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_teacher_signs_in_and_a_form_shown_again_is_no_answer(live_server) -> None:
    """Against the real pages: the right password leads on, a wrong one shows the form."""
    made_class()
    assert Child.objects.count() == CHILDREN
    assert Restriction.objects.count() == CHILDREN // 3
    browser = Browser()
    with pytest.raises(Unanswered, match="showed its form again"):
        browser.ask(f"{live_server.url}/sign-in/", {"username": NAME, "password": "wrong"})
    browser.ask(f"{live_server.url}/sign-in/", {"username": NAME, "password": PASSWORD})
    browser.ask(
        f"{live_server.url}/treat/", {"when": "now", "text": "wheat flour, milk", "name": "Buns", "by": "label"}
    )
