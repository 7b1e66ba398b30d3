"""Health records on the pages: received and kept sealed, tried out, taken over, seen to."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from compliance.models import Referral
from roster.models import Action, Child, HealthItem, HealthRecord, Restriction, Role, User, Verb
from tests.cast import Cast
from tests.factories import PostFactory, UserFactory
from tests.roster.fhir.entries import bundle, entry, patient, status, taken
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def kofi(cast: Cast) -> Child:
    cast.kofi.source, cast.kofi.source_id = "SAMPLE", "usr-7"
    cast.kofi.save()
    return cast.kofi


def brought(user: User, data: bytes) -> HttpResponse:
    upload = SimpleUploadedFile("kofi-example.json", data, "application/json")
    return as_user(user).post(reverse("import-fhir"), {"file": upload}, follow=True)


def took(user: User, **said: Any) -> HttpResponse:
    address = reverse("health-record", args=[HealthRecord.objects.get().pk])
    return as_user(user).post(address, {"take": "1", **said}, follow=True)


def standing(child: Child) -> set[str]:
    known = Restriction.objects.known(timezone.now()).filter(child=child)
    return {each.substance for each in known}


def test_a_file_is_tried_out_before_anything_is_taken_over(cast: Cast, kofi: Child) -> None:
    """It is kept, its reading is on record, and nothing is added yet."""
    page = brought(cast.hakim, bundle(patient(kofi), entry("Wheat"), entry("Egg")))
    said = words(page)
    assert "Kofi Example" in said and "Kept away, traces too: wheat" in said and "On record already" in said
    assert standing(kofi) == {"egg", "sesame"} and HealthRecord.objects.get().received_by == cast.hakim
    assert Action.objects.filter(verb=Verb.READ, actor=cast.hakim, child=kofi).exists()


def test_taking_it_over_protects_at_once(cast: Cast, kofi: Child) -> None:
    """And says how much it recorded."""
    brought(cast.hakim, bundle(patient(kofi), entry("Wheat")))
    assert "Recorded: 1, in force from now" in words(took(cast.hakim))
    assert standing(kofi) == {"egg", "sesame", "wheat"}
    assert "Nothing was to be added" in words(took(cast.hakim))


def test_unknown_words_become_a_referral(cast: Cast, kofi: Child) -> None:
    """Which stands on the list of licensed staff with the others, and can be opened."""
    brought(cast.hakim, bundle(patient(kofi), entry("zorbalex")))
    took(cast.hakim)
    asked = Referral.objects.get()
    assert (asked.child, asked.site, asked.asked_by) == (kofi, cast.ferrowick, cast.hakim)
    assert not asked.can_be_allowed
    listed = words(as_user(cast.hakim).get(reverse("referrals")))
    assert "“zorbalex”" in listed and "words that no list holds" in listed
    page = words(as_user(cast.hakim).get(reverse("referral", args=[asked.pk])))
    assert "Which foods are meant?" in page and "The kitchen can settle this" not in page
    took(cast.hakim)
    assert Referral.objects.count() == 1


def test_a_suggestion_is_added_when_it_is_ticked(cast: Cast, kofi: Child) -> None:
    """S75. A code that was not offered is passed over."""
    page = brought(cast.hakim, bundle(patient(kofi), entry("peanutt")))
    boxes = [box["value"] for box in soup(page).select("input[name=add]")]
    assert "entry 2|peanut" in boxes
    took(cast.hakim, add=["entry 2|peanut", "entry 2|milk", "|", "entry 9|egg"])
    assert standing(kofi) == {"egg", "sesame", "", "peanut"}


def test_a_name_is_confirmed_by_a_person(cast: Cast, kofi: Child) -> None:
    """Only one of those offered, and never another's child."""
    unnumbered = patient(kofi, identifier=[{"system": "urn:clinic", "value": "55"}])
    page = brought(cast.hakim, bundle(unnumbered, entry("Wheat")))
    offered = [radio["value"] for radio in soup(page).select("input[type=radio]")]
    assert offered == [str(kofi.pk), ""]
    took(cast.hakim, **{"who-0": str(cast.ravi.pk)})
    assert "wheat" not in standing(cast.ravi) | standing(kofi)
    assert HealthItem.objects.get().finding == "unmatched"
    took(cast.hakim, **{"who-0": str(kofi.pk)})
    assert "wheat" in standing(kofi) and HealthItem.objects.get().seen.seen_by == cast.hakim


def test_a_proposal_is_seen_to_and_ends_nothing(cast: Cast, kofi: Child) -> None:
    """S81: the way to the end of the restriction is offered beside it."""
    brought(cast.hakim, bundle(patient(kofi), entry("Sesame", clinicalStatus=status("clinical", "resolved"))))
    took(cast.hakim)
    page = as_user(cast.hakim).get(reverse("import-fhir"))
    sesame = Restriction.objects.known(timezone.now()).get(child=kofi, substance="sesame")
    assert soup(page).find("a", href=reverse("restriction-end", args=[sesame.pk]))
    item = HealthItem.objects.get()
    as_user(cast.hakim).post(reverse("health-item-seen", args=[item.pk]), {"note": "Asked the clinic."})
    assert "Nothing waits" in words(as_user(cast.hakim).get(reverse("import-fhir")))
    assert item.seen.note == "Asked the clinic." and "sesame" in standing(kofi)


@pytest.mark.parametrize(("data", "told"), [(b"", "empty"), (b"<x/>", "XML"), (b"%PDF-1.4", "no JSON")])
def test_what_is_no_fhir_is_refused_with_a_reason(cast: Cast, data: bytes, told: str) -> None:
    """And not kept."""
    assert told in words(brought(cast.hakim, data)) and not HealthRecord.objects.exists()


def test_licensed_staff_of_another_site_find_nobody_and_nothing(cast: Cast, kofi: Child) -> None:
    """Neither the file that somebody else brought, nor its items, nor the children of other sites."""
    brought(cast.hakim, bundle(patient(kofi), entry("Sesame", clinicalStatus=status("clinical", "resolved"))))
    took(cast.hakim)
    vera: Any = UserFactory.create(username="vera")
    PostFactory.create(user=vera, role=Role.LICENSED, site=cast.tansy_gate)
    record, item = HealthRecord.objects.get(), HealthItem.objects.get()
    assert as_user(vera).get(reverse("health-record", args=[record.pk])).status_code == 404
    assert as_user(vera).post(reverse("health-item-seen", args=[item.pk])).status_code == 404
    assert "Sesame" not in words(as_user(vera).get(reverse("import-fhir")))
    page = words(brought(vera, bundle(patient(kofi), entry("Wheat"))))
    assert "No child found" in page and "Kofi Example, Ferrowick" not in page


def test_hostile_words_are_words(cast: Cast, kofi: Child) -> None:
    """Neither script nor markup."""
    page = brought(cast.hakim, bundle(patient(kofi), entry("<script>alert(1)</script> *x* #read")))
    assert "<script>alert" not in page.content.decode() and "<script>alert(1)" in words(page)


def test_a_lost_key_is_told_and_not_an_empty_page(cast: Cast, kofi: Child, monkeypatch: pytest.MonkeyPatch) -> None:
    """The record stays, and so does what it added."""
    brought(cast.hakim, bundle(patient(kofi), entry("Wheat")))
    kept = HealthRecord.objects.get()
    kept.file.storage.delete(kept.file.name)
    assert as_user(cast.hakim).get(reverse("health-record", args=[kept.pk])).status_code == 404


def test_what_a_command_could_not_place_waits_for_who_signs_everywhere(cast: Cast, kofi: Child) -> None:
    """Nobody brought the file, so nobody of one site sees it."""
    taken(kofi, entry("Egg", patient={"reference": "Patient/nobody"}))
    vera: Any = UserFactory.create(username="vera")
    PostFactory.create(user=vera, role=Role.LICENSED, site=cast.ferrowick)
    assert "No child found" in words(as_user(cast.hakim).get(reverse("import-fhir")))
    assert "No child found" not in words(as_user(vera).get(reverse("import-fhir")))
