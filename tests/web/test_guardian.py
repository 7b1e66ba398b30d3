"""Guardians: what they read of their own child and of no other, in their own language."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from compliance.checks.run import check_site
from compliance.models import Run
from roster.life.statement import end_restriction
from roster.models import Child, Restriction, Role, User
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import AllowanceFactory, PostFactory
from tests.web.doors import a_family_form, a_statement
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db

OTHERS = ("Mateo", "Anneke", "Ifeoma", "Yusuf", "Saoirse", "Kofi", "Bao", "Ravi", "Petra")


def page(user: User, child: Child, **asked: str) -> HttpResponse:
    return as_user(user).get(reverse("guardian-child", args=[child.pk]), asked)


def guards(user: User, child: Child) -> None:
    PostFactory.create(user=user, role=Role.GUARDIAN, site=None, classroom=None, child=child)


def test_the_way_in_leads_to_ones_own_children(cast: Cast) -> None:
    """By name, with the school; no class is named, and no other child."""
    shown = as_user(cast.amara).get(reverse("home"), follow=True)
    said = words(shown)
    assert "My children" in said and str(cast.noor) in said and "Ferrowick" in said
    assert not any(name in shown.content.decode() for name in (*OTHERS, "Larks"))


def test_what_is_on_record_stands_there_in_plain_words(cast: Cast) -> None:
    """What is kept away, since when, on what paper."""
    said = words(page(cast.amara, cast.noor))
    assert "Gluten" in said and "Traces count too." in said
    assert f"On record since {timezone.now():%Y-%m-%d}" in said
    assert "Signed statements The school holds none." in said


def test_the_words_of_staff_are_not_shown(cast: Cast) -> None:
    """Neither notes nor why something ended, nor who wrote it."""
    egg = record_restriction(child=cast.noor, substance="egg", note="Father at the door", recorded_by=cast.rosa)
    today = timezone.localdate()
    end_restriction(version=egg, last_day=today, reason="Clinic's letter", ended_by=cast.hakim, signature="Hakim, RN")
    record_restriction(child=cast.noor, substance="milk", note="Vomits within the hour", recorded_by=cast.rosa)
    shown = page(cast.amara, cast.noor).content.decode()
    assert "Milk" in shown and "Egg" in shown
    assert not any(each in shown for each in ("Vomits", "Father", "Clinic", "Rosa", "Hakim"))


def test_the_family_is_asked_for_what_is_wanting(cast: Cast) -> None:
    """A report without a statement asks for one, and says that it protects meanwhile."""
    guards(cast.amara, cast.kofi)
    said = words(page(cast.amara, cast.kofi))
    assert "What the school asks of you" in said
    assert "Egg, Sesame: please send a signed medical statement. It protects meanwhile." in said
    a_statement(cast)
    said = words(page(cast.amara, cast.kofi))
    assert "licensed staff have not reviewed it yet" in said and "Signed on" in said


def test_a_statement_that_runs_out_asks_for_a_new_one(cast: Cast) -> None:
    """And goes on protecting once it has."""
    guards(cast.amara, cast.kofi)
    a_statement(cast)
    egg = Restriction.objects.known(timezone.now()).get(child=cast.kofi, substance="egg")
    past = timezone.localdate() - timedelta(days=1)
    record_restriction(child=cast.kofi, substance="egg", replaces=egg, review_on=past)
    assert "has run out. Please send a new one. It goes on protecting meanwhile." in words(page(cast.amara, cast.kofi))


def test_a_signed_exception_is_told_with_its_days_alone(cast: Cast) -> None:
    """Which food it covers is for licensed staff to explain: half of it would be taken for the whole."""
    gluten = cast.noor.restrictions.get()
    AllowanceFactory.create(restriction=gluten, signed_by=cast.hakim, signature="Hakim, RN")
    shown = page(cast.amara, cast.noor)
    assert "Licensed staff signed a narrow exception, from" in words(shown) and "Hakim" not in shown.content.decode()


def test_coming_meals_show_what_is_not_served_to_the_own_child(cast: Cast) -> None:
    """The dish, the day and a plain reason; nothing of what others may not have."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    shown = page(cast.amara, cast.noor)
    said = words(shown)
    assert "withhold Peanut butter sandwich" in said and "It holds gluten." in said
    assert "The school decides; ask it." in said
    assert "Ham and rice" not in said
    assert not any(name in shown.content.decode() for name in OTHERS)


def test_nothing_found_is_no_promise(cast: Cast) -> None:
    """Bao is the control."""
    guards(cast.amara, cast.bao)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    said = words(page(cast.amara, cast.bao))
    assert "No conflict was found in the records checked." in said and "It is no promise" in said


def test_the_page_is_spanish_for_who_asks_for_it_and_stays_so(cast: Cast) -> None:
    """The page says its language; days, names of foods and our sentences follow it."""
    amara = as_user(cast.amara)
    shown = amara.get(reverse("guardian-child", args=[cast.noor.pk]), {"language": "es"})
    tree = soup(shown)
    assert tree.html["lang"] == "es"
    assert "Lo que no se le sirve" in words(shown) and "ingrediente" not in words(shown).split()[:3]
    again = soup(amara.get(reverse("guardian")))
    assert again.html["lang"] == "es" and "Mis hijos" in again.get_text()
    assert soup(amara.get(reverse("guardian"), {"language": "en"})).html["lang"] == "en"


def test_the_browser_chooses_until_somebody_does(cast: Cast) -> None:
    """A third language gets English."""
    for asked, lang in (("es-MX,es;q=0.9", "es"), ("fr", "en"), ("", "en")):
        answer = as_user(cast.amara).get(reverse("guardian"), headers={"accept-language": asked})
        assert soup(answer).html["lang"] == lang
    assert soup(as_user(cast.amara).get(reverse("guardian"), {"language": "../x"})).html["lang"] == "en"


def test_staff_pages_stay_english(cast: Cast) -> None:
    """Whatever the browser asks."""
    shown = as_user(cast.hakim).get(reverse("referrals"), headers={"accept-language": "es"})
    assert soup(shown).html["lang"] == "en" and "Signed in as" in shown.content.decode()


@pytest.mark.parametrize("name", ["guardian-child", "guardian-need", "guardian-request"])
def test_another_child_is_not_found(cast: Cast, name: str) -> None:
    """In every address that takes a child, for reading and for writing."""
    for child in (cast.mateo, cast.kofi, cast.ravi):
        for method in ("get", "post"):
            answer = getattr(as_user(cast.amara), method)(reverse(name, args=[child.pk]), {"words": "x"})
            assert answer.status_code in (404, 405), (name, method)
    assert not cast.mateo.guardian_entries.exists()


def test_who_is_no_guardian_any_more_sees_nothing(cast: Cast) -> None:
    """The day after the post ended."""
    cast.amara.posts.update(ends_on=timezone.localdate() - timedelta(days=2))
    assert page(cast.amara, cast.noor).status_code == 404


@pytest.mark.parametrize("who", ["rosa", "greta", "hakim", "june", "ursula", "wren"])
def test_staff_do_not_come_in_by_the_familys_door(cast: Cast, who: str) -> None:
    """They have pages of their own, each with its rules."""
    entry = a_family_form(cast)
    staff = as_user(getattr(cast, who))
    assert staff.get(reverse("guardian-child", args=[cast.noor.pk])).status_code == 404
    assert staff.get(reverse("guardian-scan", args=[entry.pk])).status_code == 404


def test_staff_pages_are_shut_to_guardians(cast: Cast) -> None:
    """Of their own child too: the child's page of licensed staff holds notes."""
    for name in ("child", "child-report", "statement-new"):
        assert as_user(cast.amara).get(reverse(name, args=[cast.noor.pk])).status_code == 404
