"""The guardian's forms: what is sent, what is refused with all that was typed, and what nobody slips in."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.html import escape

from compliance.checks.run import check_site
from compliance.models import Run
from roster.models import Action, Asks, Basis, GuardianAnswer, GuardianEntry, Restriction, Verb
from tests.cast import Cast
from tests.factories import PASSWORD
from tests.web.doors import a_family_form
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db

PAPER = b"%PDF-1.7\n1 0 obj << /Type /Catalog >> endobj\n%%EOF\n"
HOSTILE = "\"'><img src=x onerror=alert(1)>"


def need(cast: Cast, language: str = "en", **more: Any) -> HttpResponse:
    """What Amara fills in about Noor and sesame."""
    typed = {
        "substances": ["sesame"],
        "words": "",
        "basis": "reported",
        "strictness": "trace",
        "milk_reason": "",
        "instead": "Sunflower butter.",
        "contact": "555 0100",
        "signature": "Amara Example",
        "password": PASSWORD,
        **more,
    }
    address = reverse("guardian-need", args=[cast.noor.pk])
    return as_user(cast.amara).post(f"{address}?language={language}", typed, follow=True)


def request(cast: Cast, **more: Any) -> HttpResponse:
    """What Amara asks to have corrected."""
    typed = {
        "asks": "end",
        "about": "",
        "words": "The clinic says so.",
        "contact": "",
        "signature": "Amara Example",
        "password": PASSWORD,
        **more,
    }
    return as_user(cast.amara).post(reverse("guardian-request", args=[cast.noor.pk]), typed, follow=True)


def avoided(cast: Cast) -> set[str]:
    return {each.substance for each in Restriction.objects.known(timezone.now()).filter(child=cast.noor)}


def test_what_is_sent_protects_from_the_next_check(cast: Cast) -> None:
    """And stands on the family's page with its state."""
    page = need(cast, substances=["egg"], words="rice", kinds=["vegan"])
    assert "To keep away: egg; “rice”; Vegan" in words(page)
    assert "Received. What you named is kept away from now on" in words(page)
    assert "egg" in avoided(cast) and "Waits for licensed staff." in words(page)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    said = words(as_user(cast.amara).get(reverse("guardian-child", args=[cast.noor.pk])))
    assert "withhold Ham and rice" in said and "It holds rice." in said


def test_the_form_speaks_spanish_and_takes_spanish(cast: Cast) -> None:
    """Fields, ways of eating, errors of ours and of Django; foods by their Spanish names."""
    page = need(cast, language="es", substances=[], words="", signature="")
    said = words(page)
    assert "No se guardó nada." in said and "Esto se firma. Escriba su nombre." in said
    assert "leche" in said and "Vegetariana, con leche y huevo" in said
    need(cast, language="es", substances=[], words="cacahuates\nleche")
    assert {"peanut", "milk"} <= avoided(cast)
    assert GuardianEntry.objects.get().language == "es"


def test_a_paper_is_kept_and_handed_back_to_who_sent_it(cast: Cast) -> None:
    """As a file; licensed staff open it by their own door, and that is on record."""
    need(cast, file=SimpleUploadedFile("noor.pdf", PAPER))
    entry = GuardianEntry.objects.get()
    own = as_user(cast.amara).get(reverse("guardian-scan", args=[entry.pk]))
    assert b"".join(own.streaming_content) == PAPER
    assert own.headers["Content-Disposition"].startswith("attachment") and "noor" not in str(own.headers).lower()
    read = as_user(cast.hakim).get(reverse("from-guardian-scan", args=[entry.pk]))
    assert b"".join(read.streaming_content) == PAPER
    for reader in (cast.amara, cast.hakim):
        assert Action.objects.filter(verb=Verb.READ, actor=reader, child=cast.noor).exists()


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"substances": []}, "Tick or write at least one food"),
        ({"basis": ""}, "Choose why"),
        ({"basis": "statement"}, "Select a valid choice"),
        ({"strictness": "none"}, "Select a valid choice"),
        ({"substances": ["sesame", "nonsense"]}, "Select a valid choice"),
        ({"kinds": ["phenylketonuria"]}, "Select a valid choice"),
        ({"signature": " "}, "This is signed. Type your name."),
        ({"password": ""}, "A signature needs your password"),
        ({"password": "wrong"}, "This is not your password"),
        ({"words": "x" * 1001}, "at most 1000 characters"),
        ({"file": SimpleUploadedFile("paper.pdf", b"<script>alert(1)</script>")}, "no PDF, JPEG or PNG"),
        ({"file": SimpleUploadedFile("paper.pdf", b"%PDF-1.7 /JavaScript (x) %%EOF")}, "holds a program"),
        ({"file": SimpleUploadedFile("paper.pdf", b"%PDF-1.7 cut")}, "was cut off"),
        ({"file": SimpleUploadedFile("paper.pdf", b"")}, "no PDF, JPEG or PNG"),
        ({"file": SimpleUploadedFile("a.svg", b"<svg onload=alert(1)>", "image/jpeg")}, "no PDF, JPEG or PNG"),
    ],
)
def test_what_cannot_be_is_refused_and_stays_in_the_form(cast: Cast, more: dict[str, Any], told: str) -> None:
    """Nothing is kept of it, nothing typed is lost, and the child is protected from nothing new."""
    for value in more.values():
        if isinstance(value, SimpleUploadedFile):
            value.seek(0)
    page = need(cast, **more)
    assert told in words(page)
    assert "Sunflower butter." in soup(page).find(id="id_instead").get_text()
    assert not GuardianEntry.objects.exists() and avoided(cast) == {"gluten"}


def test_a_request_changes_nothing_and_goes_to_licensed_staff(cast: Cast) -> None:
    """S72. Basis: practice. The family asks, licensed staff decide."""
    gluten = cast.noor.restrictions.get()
    page = request(cast, about=gluten.pk)
    assert "Nothing has changed yet" in words(page) and avoided(cast) == {"gluten"}
    entry = GuardianEntry.objects.get()
    assert (entry.asks, entry.about, list(entry.restrictions.all())) == (Asks.END, gluten, [])
    assert "1 form from guardians waits too" in words(as_user(cast.hakim).get(reverse("referrals")))


@pytest.mark.parametrize("more", [{"words": ""}, {"asks": ""}, {"asks": "avoid"}, {"password": "wrong"}])
def test_half_a_request_is_none(cast: Cast, more: dict[str, Any]) -> None:
    """And what was typed stays."""
    page = request(cast, **more)
    assert page.status_code == 200 and not GuardianEntry.objects.exists()
    assert more.get("words") == "" or "The clinic says so." in soup(page).find(id="id_words").get_text()


def test_another_childs_restriction_cannot_be_named(cast: Cast) -> None:
    """Neither sent nor by the address of the page, which does not tell that it exists."""
    theirs = cast.mateo.restrictions.get()
    assert "Select a valid choice" in words(request(cast, about=theirs.pk))
    address = reverse("guardian-request", args=[cast.noor.pk])
    for about in (theirs.pk, "x", "9" * 30, "-1", "1 or 1=1"):
        shown = as_user(cast.amara).get(address, {"about": about})
        assert shown.status_code == 200 and not soup(shown).select("#id_about option[selected][value!='']")
        assert "Peanut" not in words(shown)


def test_fields_that_the_form_does_not_have_are_passed_over(cast: Cast) -> None:
    """Nobody reviews, answers, dates, or writes about another child by adding a field."""
    need(
        cast,
        child=cast.mateo.pk,
        sent_by=cast.hakim.pk,
        asks="end",
        about=cast.mateo.restrictions.get().pk,
        answer="1",
        review="1",
        statement="1",
        recorded_at="2020-01-01",
        scan="../../etc/passwd",
        restrictions=[cast.mateo.restrictions.get().pk],
        language="xx",
        is_medical="0",
        ends_on="2020-01-01",
    )
    entry = GuardianEntry.objects.get()
    assert (entry.child, entry.sent_by, entry.asks, entry.about) == (cast.noor, cast.amara, Asks.AVOID, None)
    assert entry.language == "en" and not entry.scan and entry.recorded_at.year >= timezone.now().year
    made = Restriction.objects.get(child=cast.noor, substance="sesame")
    assert (made.basis, made.review, made.statement, made.ends_on) == (Basis.REPORTED, None, None, None)
    assert not GuardianAnswer.objects.exists() and cast.mateo.restrictions.count() == 1


def test_what_is_typed_is_text_on_every_page(cast: Cast) -> None:
    """A script in every field: on the form again, on the family's page, on those of licensed staff, on the class's."""
    typed = dict.fromkeys(("words", "instead", "contact", "milk_reason", "signature"), HOSTILE)
    again = need(cast, **typed, password="wrong").content.decode()
    need(cast, **typed)
    request(cast, words=HOSTILE, contact=HOSTILE, signature=HOSTILE)
    hakim, amara, rosa = as_user(cast.hakim), as_user(cast.amara), as_user(cast.rosa)
    pages = [hakim.get(reverse("from-guardian", args=[entry.pk])) for entry in GuardianEntry.objects.all()]
    pages.append(hakim.get(reverse("from-guardians")))
    pages.append(amara.get(reverse("guardian-child", args=[cast.noor.pk])))
    for shown in (again, *(page.content.decode() for page in pages)):
        assert "<img src=x" not in shown
    assert all(escape(HOSTILE) in page.content.decode() for page in pages[:2])
    assert "<img src=x" not in rosa.get(reverse("today")).content.decode()


def test_five_wrong_passwords_sign_the_guardian_out(cast: Cast) -> None:
    """As for every signature."""
    amara, address = as_user(cast.amara), reverse("guardian-need", args=[cast.noor.pk])
    typed = {"substances": ["egg"], "basis": "reported", "strictness": "trace", "signature": "A", "password": "wrong"}
    answers = [amara.post(address, typed).status_code for _ in range(5)]
    assert answers == [200, 200, 200, 200, 403]
    assert amara.get(address).headers["Location"].startswith(reverse("sign-in"))


def test_another_guardians_paper_is_not_found(cast: Cast) -> None:
    """Ids are no secret."""
    entry = a_family_form(cast)
    GuardianEntry.objects.filter(pk=entry.pk).update(sent_by=cast.wren)
    assert as_user(cast.amara).get(reverse("guardian-scan", args=[entry.pk])).status_code == 404
    assert as_user(cast.amara).get(reverse("guardian-scan", args=[entry.pk + 1])).status_code == 404


@pytest.mark.parametrize("name", ["guardian-need", "guardian-request"])
def test_the_language_is_a_button_of_the_form_and_not_its_first(cast: Cast, name: str) -> None:
    """Without scripts a link would lose what was typed; the Enter key presses the first button of a form."""
    page = soup(as_user(cast.amara).get(reverse(name, args=[cast.noor.pk]), {"language": "en"}))
    form = page.find("form", id="family-form")
    assert form["action"] == reverse(name, args=[cast.noor.pk]), "without ?language=, which would turn it back"
    of_form = [each for each in page.find_all("button") if each.get("form") == "family-form" or form in each.parents]
    assert [(each.get("name"), each.get("value")) for each in of_form] == [(None, None), ("turn", "es"), (None, None)]


def test_a_half_filled_form_turned_into_spanish_keeps_what_was_typed(cast: Cast) -> None:
    """It is not tried: no error stands on it, no password is asked about, nothing is sent."""
    page = need(cast, turn="es", substances=["egg"], words="rice", kinds=["vegan"], signature="", password="wrong")
    said = soup(page)
    assert said.html["lang"] == "es" and not said.find(class_="errors")
    ticked = {each["value"] for each in said.find_all("input", checked=True)}
    assert ticked == {"egg", "vegan", "reported", "trace"}
    assert said.find(id="id_words").get_text().strip() == "rice"
    assert said.find(id="id_instead").get_text().strip() == "Sunflower butter."
    assert said.find(id="id_contact")["value"] == "555 0100" and not said.find(id="id_password").get("value")
    assert not GuardianEntry.objects.exists() and not Action.objects.filter(verb=Verb.REFUSED).exists()
    assert "Firmar y enviar" in words(page) and "A browser forgets" not in words(page)


def test_a_request_turned_into_spanish_keeps_what_it_is_about(cast: Cast) -> None:
    about = cast.noor.restrictions.get(substance="gluten")
    page = soup(request(cast, turn="es", asks="correct", about=str(about.pk)))
    assert page.find(id="id_about").find("option", selected=True)["value"] == str(about.pk)
    assert page.find("input", checked=True)["value"] == "correct"
    assert page.find(id="id_words").get_text().strip() == "The clinic says so."
    assert not GuardianEntry.objects.exists()


def test_a_language_that_there_is_none_of_turns_nothing(cast: Cast) -> None:
    """The form is sent as ever."""
    need(cast, turn="xx")
    assert GuardianEntry.objects.count() == 1
