"""An incident as a PDF: whole, and nothing on it is taken for markup."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone

from compliance.checks.incident import add_note
from compliance.models import Incident
from compliance.reports.incident import IncidentReport, incident_data, incident_pdf
from menus.models import Product, Recipe
from roster.models import Action, Verb
from tests.cast import Cast
from tests.web.doors import World, after_a_night
from tests.web.pages import as_user

HOSTILE = '#read("/etc/passwd") *bold* $x$ <label> @ref \\ ]'


@pytest.fixture
def world(cast: Cast) -> World:
    return after_a_night(cast)


def report(incident: Incident, *, is_whole: bool = True) -> IncidentReport:
    return IncidentReport(incident, tuple(incident.notes.all()), timezone.now(), is_whole, ["It decides nothing."])


def test_it_holds_what_was_seen_gathered_and_added(world: World) -> None:
    """By dish and label version, with the digest."""
    add_note(incident=world.incident, text="Looked at.", written_by=world.cast.hakim, closes=True)
    data = incident_data(report(world.incident))
    assert "pudding" in dict(data["facts"])["What was seen"]
    assert "Oat bar, label 1" in str(data["servings"]) and data["runs"] and data["treats"]
    assert data["notes"][0].endswith("Hakim: Looked at. (closed)")
    assert world.incident.digest in data["whole"]
    assert "NOT" in incident_data(report(world.incident, is_whole=False))["whole"]


def test_names_are_data_and_never_markup(cast: Cast) -> None:
    """A dish, a product and a note may say anything."""
    Product.objects.update(name=HOSTILE)
    Recipe.objects.update(name=HOSTILE)
    incident = after_a_night(cast).incident
    add_note(incident=incident, text=HOSTILE, written_by=cast.hakim)
    assert incident_pdf(report(incident)).startswith(b"%PDF")


def test_that_it_was_handed_out_is_on_record(world: World) -> None:
    """To whom; the file's name tells nothing of the child."""
    answer = as_user(world.cast.june).get(reverse("incident-report", args=[world.incident.pk]))
    assert answer.content.startswith(b"%PDF") and "bao" not in str(answer.headers).lower()
    entry = Action.objects.filter(verb=Verb.EXPORTED).latest("pk")
    assert (entry.actor, entry.child) == (world.cast.june, world.cast.bao)
