"""The settings of a site: what is taken, what is refused with all that was typed, and what goes on record."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.db import transaction
from django.http import HttpResponse
from django.urls import reverse

from compliance.checks import recheck
from menus.models import Site
from menus.services.sites import StaleSite, change_site, version_of
from roster.models import Action, Role, Verb
from tests.cast import Cast
from tests.factories import PostFactory, UserFactory
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db


def page(cast: Cast) -> HttpResponse:
    return as_user(cast.june).get(reverse("site-settings"), {"site": "ferrowick"})


def filled(site: Site, **more: Any) -> dict[str, Any]:
    """The form as the page shows it, with some of it changed."""
    return {
        "country": site.country,
        "time_zone": site.time_zone,
        "jurisdiction": site.jurisdiction,
        "nightly_hour": "",
        "forms_to": site.forms_to,
        "nondiscrimination": site.nondiscrimination,
        "opened": version_of(site),
        **more,
    }


def sent(cast: Cast, **more: Any) -> HttpResponse:
    typed = filled(cast.ferrowick, **more)
    return as_user(cast.june).post(f"{reverse('site-settings')}?site=ferrowick", typed, follow=True)


def test_it_is_saved_and_stands_on_record_before_and_after(cast: Cast) -> None:
    """Whoever audits sees who changed what, at which site."""
    answer = sent(cast, country="IE", names_conditions="on", forms_to="room 4")
    assert "Saved for Ferrowick Elementary School. The emergency number there is 112." in words(answer)
    stands = Site.objects.get(code="ferrowick")
    assert (stands.country, stands.names_conditions, stands.forms_to) == ("IE", True, "room 4")
    entry = Action.objects.latest("pk")
    assert (entry.verb, entry.actor, entry.site) == (Verb.RECORDED, cast.june, cast.ferrowick)
    said = json.loads(entry.payload)["said"]
    assert said["before"] == {"country": "", "names_conditions": False, "forms_to": ""}
    assert said["after"] == {"country": "IE", "names_conditions": True, "forms_to": "room 4"}


def test_nothing_changed_is_no_action(cast: Cast) -> None:
    """Pressing the button alone."""
    before = Action.objects.count()
    sent(cast)
    assert Action.objects.count() == before


def test_it_says_which_number_the_pages_show_and_what_naming_conditions_does(cast: Cast) -> None:
    said = words(page(cast))
    assert "The number on the pages now is 911 (US)." in said
    assert "whoever passes the sheet reads it" in said


def test_a_site_whose_country_nobody_knows_is_told_so(cast: Cast) -> None:
    """No number is better than a wrong one."""
    Site.objects.filter(pk=cast.ferrowick.pk).update(jurisdiction="codex")
    assert "No emergency number is known for this site." in words(page(cast))


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"country": "ZZ"}, "Select a valid choice"),
        ({"time_zone": "Mars/Olympus"}, "is no time zone"),
        ({"time_zone": ""}, "This field is required"),
        ({"nightly_hour": "24"}, "less than or equal to 23"),
        ({"jurisdiction": "moon"}, "Select a valid choice"),
    ],
)
def test_what_is_none_is_refused_and_the_rest_stays_in_the_form(cast: Cast, more: dict[str, Any], told: str) -> None:
    answer = sent(cast, **{"forms_to": "room 4", **more})
    assert told in words(answer) and Site.objects.get(code="ferrowick").forms_to == ""
    assert soup(answer).find(id="id_forms_to")["value"] == "room 4"


def test_another_food_law_asks_first_and_has_every_menu_checked_again(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The tick is not there until another law is chosen."""
    queued: list[Site] = []
    monkeypatch.setattr(recheck, "queue_recheck", lambda *, instance, **_: queued.append(instance))
    assert soup(page(cast)).find(id="id_law_confirmed") is None
    answer = sent(cast, jurisdiction="eu")
    assert "Ask licensed staff first" in words(answer) and soup(answer).find(id="id_law_confirmed")
    assert (Site.objects.get(code="ferrowick").jurisdiction, queued) == ("us", [])
    sent(cast, jurisdiction="eu", law_confirmed="on")
    assert (Site.objects.get(code="ferrowick").jurisdiction, queued) == ("eu", [cast.ferrowick])


def test_what_no_check_rests_on_has_nothing_checked_again(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    queued: list[Site] = []
    monkeypatch.setattr(recheck, "queue_recheck", lambda *, instance, **_: queued.append(instance))
    sent(cast, forms_to="room 4")
    assert queued == []


def test_what_somebody_saved_meanwhile_is_shown_beside_ones_own(cast: Cast) -> None:
    """Sent again from that page it is taken."""
    with transaction.atomic():
        change_site(site=cast.ferrowick, after=version_of(cast.ferrowick), forms_to="the office")
    answer = sent(cast, names_conditions="on")
    assert "somebody changed the settings of Ferrowick Elementary School meanwhile" in words(answer)
    theirs, mine = (block.get_text(" ", strip=True) for block in soup(answer).select(".both > div"))
    assert theirs == "On record now Printed lists name conditions no Where families hand forms in the office"
    assert mine == "What you chose Printed lists name conditions yes Where families hand forms in empty"
    assert soup(answer).find(id="id_names_conditions").has_attr("checked")
    sent(cast, names_conditions="on", opened=soup(answer).find("input", attrs={"name": "opened"})["value"])
    stands = Site.objects.get(code="ferrowick")
    assert (stands.names_conditions, stands.forms_to) == (True, "")


@pytest.mark.parametrize("version", ["", "x", "1"])
def test_a_form_that_does_not_say_what_it_was_opened_on_changes_nothing(cast: Cast, version: str) -> None:
    answer = sent(cast, forms_to="room 4", opened=version)
    assert "Nothing was saved" in words(answer) and Site.objects.get(code="ferrowick").forms_to == ""


def test_the_service_itself_refuses(cast: Cast) -> None:
    with pytest.raises(StaleSite):
        change_site(site=cast.ferrowick, after=None, forms_to="room 4")


def test_nothing_else_of_a_site_can_be_slipped_in(cast: Cast) -> None:
    """Its name and code are no settings, nor what its kitchen's air does."""
    sent(cast, name="Elsewhere", code="elsewhere", airborne="on", forms_to="room 4")
    stands = Site.objects.get(pk=cast.ferrowick.pk)
    assert (stands.name, stands.code) == (cast.ferrowick.name, "ferrowick")
    assert (stands.airborne, stands.forms_to) == (False, "room 4")


def test_an_administrator_of_one_site_does_not_reach_another(cast: Cast) -> None:
    """By no address; what is not theirs answers 404."""
    ada: Any = UserFactory(username="ada")
    PostFactory(user=ada, role=Role.ADMINISTRATOR, site=cast.tansy_gate)
    client, address = as_user(ada), f"{reverse('site-settings')}?site=ferrowick"
    assert client.get(address).status_code == 404
    assert client.post(address, filled(cast.ferrowick, forms_to="room 4")).status_code == 404
    assert "Settings of Tansy Gate" in client.get(reverse("site-settings")).content.decode()


@pytest.mark.parametrize("who", ["rosa", "sefa", "greta", "tomas", "hakim", "ursula", "amara", "wren"])
def test_nobody_else_comes_in(cast: Cast, who: str) -> None:
    assert as_user(getattr(cast, who)).get(reverse("site-settings")).status_code == 404
