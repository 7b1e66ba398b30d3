"""The form that says where an emergency plan is kept."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from roster.life.plan import plan_of
from roster.models import EmergencyPlan, User
from tests.cast import Cast
from tests.factories import EmergencyPlanFactory
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db


def page(cast: Cast, user: User | None = None) -> HttpResponse:
    return as_user(user or cast.hakim).get(reverse("child-plan", args=[cast.mateo.pk]))


def sent(cast: Cast, **more: Any) -> HttpResponse:
    typed = {"plan_place": "Red binder", "dated": timezone.localdate().isoformat(), **more}
    return as_user(cast.hakim).post(reverse("child-plan", args=[cast.mateo.pk]), typed, follow=True)


def test_it_is_kept_and_shown_where_it_is_needed(cast: Cast) -> None:
    """A year is taken where no day is given."""
    answer = sent(cast, medication_place="Cabinet", carried="on", call="Mother; number on the plan")
    assert "Whoever is with the child finds it from now on" in words(answer) and "Red binder" in words(answer)
    plan = plan_of(cast.mateo)
    assert plan and plan.review_on == timezone.localdate() + timedelta(days=365) and plan.carried


def test_the_form_says_that_it_holds_neither_drug_nor_dose(cast: Cast) -> None:
    """No filter of words could: whoever types is told."""
    assert "No drug, no dose, no condition." in words(page(cast))


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"plan_place": ""}, "Say where the plan is kept"),
        ({"dated": ""}, "Give the date that stands on the plan"),
        ({"dated": "2030-01-01"}, "is still to come"),
        ({"review_on": "2020-01-01"}, "run out before its own date"),
    ],
)
def test_what_points_nowhere_is_refused_and_stays_in_the_form(cast: Cast, more: dict[str, Any], told: str) -> None:
    """Nothing typed is lost."""
    answer = sent(cast, **{"call": "Aunt first", **more})
    assert told in words(answer) and not EmergencyPlan.objects.exists()
    assert soup(answer).find(id="id_call")["value"] == "Aunt first"


def test_a_plan_may_be_kept_no_more(cast: Cast) -> None:
    """Whatever else is typed then."""
    first = EmergencyPlanFactory(child=cast.mateo)
    sent(cast, withdrawn="on", under=first.pk)
    newest = plan_of(cast.mateo)
    assert newest and newest.withdrawn and newest.plan_place == ""
    assert "no plan is kept" in words(page(cast))


def test_a_version_saved_meanwhile_is_shown_before_anything_is_kept(cast: Cast) -> None:
    """Both stand on the page; sent again, the newer is replaced knowingly."""
    newer = EmergencyPlanFactory(child=cast.mateo, plan_place="Blue binder", recorded_by=cast.june)
    answer = sent(cast)
    assert "June recorded another version meanwhile" in words(answer) and "Blue binder" in words(answer)
    assert soup(answer).find(id="id_plan_place")["value"] == "Red binder"
    under = soup(answer).find(id="id_under")["value"]
    sent(cast, under=under)
    newest = plan_of(cast.mateo)
    assert newest and newest.plan_place == "Red binder" and newest.replaces == newer


@pytest.mark.parametrize("who", ["rosa", "sefa", "greta", "tomas", "june", "ursula", "amara", "wren"])
def test_nobody_else_opens_the_form(cast: Cast, who: str) -> None:
    """They read the pointer; they do not write it."""
    assert page(cast, getattr(cast, who)).status_code == 404


def test_what_is_due_and_what_is_missing_stand_on_the_list(cast: Cast) -> None:
    """A plan that ran out, and a child with an allergy and no plan; a family's wish asks for none."""
    old = timezone.localdate() - timedelta(days=400)
    EmergencyPlanFactory(child=cast.mateo, dated=old, review_on=old + timedelta(days=365))
    due = soup(as_user(cast.hakim).get(reverse("due"), {"site": "ferrowick"}))
    ending, missing = due.find(id="due-plans"), due.find(id="due-no-plan")
    assert "Mateo" in ending.parent.get_text() and "Mateo" not in missing.parent.get_text()
    assert "Kofi" in missing.parent.get_text() and "Yusuf" not in missing.parent.get_text()
