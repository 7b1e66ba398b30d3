"""Statements on the pages: taken in with a scan, read on record, reviewed and ended with signature and password."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from roster.models import Action, Restriction, Review, State, Statement, User, Verb
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import PASSWORD
from tests.web.doors import a_statement
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db

PAPER = b"%PDF-1.7\n1 0 obj << /Type /Catalog >> endobj\n%%EOF\n"


def egg(cast: Cast) -> Restriction:
    return Restriction.objects.known(timezone.now()).get(child=cast.kofi, substance="egg")


def typed(*under: Restriction, **more: Any) -> dict[str, Any]:
    """What Hakim types of a statement for Kofi."""
    return {
        "under": [version.pk for version in under],
        "further": "",
        "impairment": "An immune reaction.",
        "accommodate": "Leave it out.",
        "omit": "Egg in every form.",
        "instead": "A bean patty.",
        "signatory": "P. Example",
        "credential": "prescriber",
        "licence_state": "Illinois",
        "signed_on": (timezone.localdate() - timedelta(days=3)).isoformat(),
        "program": "nslp",
        **more,
    }


def taken_in(cast: Cast, *under: Restriction, **more: Any) -> HttpResponse:
    address = reverse("statement-new", args=[cast.kofi.pk])
    return as_user(cast.hakim).post(address, typed(*under, **more), follow=True)


def reviewed(cast: Cast, statement: Statement, **more: Any) -> HttpResponse:
    filled = {
        f"reach-{egg(cast).pk}": "trace",
        "wanting": "",
        "note": "",
        "signature": "Hakim, RN",
        "password": PASSWORD,
        **more,
    }
    return as_user(cast.hakim).post(reverse("statement-review", args=[statement.pk]), filled, follow=True)


def test_a_statement_is_taken_in_with_its_scan(cast: Cast) -> None:
    """What it names stands under it; it runs out after a year where it does not say."""
    page = taken_in(cast, egg(cast), file=SimpleUploadedFile("kofi.pdf", PAPER))
    assert "Received and kept" in words(page)
    statement = Statement.objects.get()
    assert (statement.received_by, statement.scan_type) == (cast.hakim, "application/pdf")
    assert statement.review_on == statement.signed_on + timedelta(days=365)
    assert egg(cast).statement == statement and egg(cast).state_on(timezone.localdate()) == State.RECEIVED


def test_the_scan_is_handed_out_as_a_file_and_each_reading_is_on_record(cast: Cast) -> None:
    """A browser runs nothing that is in it, and keeps nothing of it."""
    taken_in(cast, egg(cast), file=SimpleUploadedFile("kofi.pdf", PAPER))
    statement = Statement.objects.get()
    before = Action.objects.filter(verb=Verb.READ).count()
    answer = as_user(cast.hakim).get(reverse("statement-scan", args=[statement.pk]))
    assert b"".join(answer.streaming_content) == PAPER
    assert answer.headers["Content-Disposition"].startswith("attachment") and "kofi" not in str(answer.headers).lower()
    assert answer.headers["X-Content-Type-Options"] == "nosniff" and "no-store" in answer.headers["Cache-Control"]
    read = Action.objects.filter(verb=Verb.READ).latest("pk")
    assert Action.objects.filter(verb=Verb.READ).count() == before + 1
    assert (read.actor, read.child, read.site) == (cast.hakim, cast.kofi, cast.ferrowick)


@pytest.mark.parametrize("who", ["rosa", "greta", "june", "wren"])
def test_nobody_else_reads_it(cast: Cast, who: str) -> None:
    """Not even that it is there."""
    statement = a_statement(cast)
    for name in ("statement", "statement-scan", "statement-review"):
        assert as_user(getattr(cast, who)).get(reverse(name, args=[statement.pk])).status_code == 404
    assert not Action.objects.filter(verb=Verb.READ).exists()


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"signed_on": "2030-01-01"}, "is still to come"),
        ({"signed_on": ""}, "Give the day of the signature"),
        ({"under": []}, "Tick what the statement speaks of"),
        ({"further": "sesamee"}, "sesame"),
        ({"credential": "friend"}, "Select a valid choice"),
        ({"review_on": "2020-01-01"}, "run out before"),
        ({"file": SimpleUploadedFile("kofi.pdf", b"<script>alert(1)</script>")}, "no PDF, JPEG or PNG"),
        ({"file": SimpleUploadedFile("kofi.pdf", b"")}, "no PDF, JPEG or PNG"),
    ],
)
def test_what_cannot_be_is_refused_and_stays_in_the_form(cast: Cast, more: dict[str, Any], told: str) -> None:
    """Nothing is kept of it, and nothing typed is lost."""
    for value in more.values():
        if isinstance(value, SimpleUploadedFile):
            value.seek(0)
    page = taken_in(cast, egg(cast), **more)
    assert told in words(page)
    assert "A bean patty." in soup(page).find(id="id_instead").get_text()
    assert not Statement.objects.exists() and egg(cast).statement is None


def test_a_child_of_another_site_cannot_be_slipped_in(cast: Cast) -> None:
    """Neither another child's restriction nor another child's statement."""
    theirs = cast.mateo.restrictions.get()
    assert "Select a valid choice" in words(taken_in(cast, theirs))
    statement = a_statement(cast)
    address = reverse("statement-new", args=[cast.mateo.pk])
    page = as_user(cast.hakim).post(address, typed(theirs, replaces=statement.pk))
    assert "Another statement took its place" in words(page)


def test_a_review_puts_it_in_force(cast: Cast) -> None:
    """With the reviewer's signature and password."""
    statement = a_statement(cast)
    page = reviewed(cast, statement)
    assert "Signed and kept." in words(page)
    assert egg(cast).state_on(timezone.localdate()) == State.IN_FORCE
    review = Review.objects.get()
    assert (review.reviewed_by, review.signature) == (cast.hakim, "Hakim, RN")


def test_what_the_statement_lacks_is_proposed_as_what_to_ask_for(cast: Cast) -> None:
    """FNS SP 59-2016: this one says only what to leave out."""
    statement = a_statement(cast)
    page = as_user(cast.hakim).get(reverse("statement-review", args=[statement.pk]))
    assert "What must be done" in words(page)
    proposed = soup(page).find(id="id_wanting").get_text()
    assert "what must be done" in proposed and "foods to give instead" in proposed
    reviewed(cast, statement, wanting=proposed)
    due = words(as_user(cast.hakim).get(reverse("due"), {"site": "ferrowick"}))
    assert "A better statement was asked for" in due


@pytest.mark.parametrize("password", ["", "a tray of biscuits"])
def test_without_the_password_nothing_is_signed(cast: Cast, password: str) -> None:
    """A screen left open signs nothing; a wrong one is on record."""
    statement = a_statement(cast)
    page = reviewed(cast, statement, password=password)
    assert "password" in words(page) and not Review.objects.exists()
    assert Action.objects.filter(verb=Verb.REFUSED, actor=cast.hakim).exists() is bool(password)
    assert password == "" or password not in page.content.decode()


def test_who_gets_the_password_wrong_too_often_is_signed_out(cast: Cast) -> None:
    """Five times; then not even the right one signs."""
    statement = a_statement(cast)
    hakim = as_user(cast.hakim)
    address = reverse("statement-review", args=[statement.pk])
    filled = {f"reach-{egg(cast).pk}": "trace", "signature": "Hakim, RN"}
    answers = [hakim.post(address, {**filled, "password": "wrong"}).status_code for _ in range(5)]
    assert answers == [200, 200, 200, 200, 403]
    assert hakim.post(address, {**filled, "password": PASSWORD}).headers["Location"].startswith(reverse("sign-in"))
    assert not Review.objects.exists()


def end(cast: Cast, version: Restriction, client: Client | None = None, **more: Any) -> HttpResponse:
    filled = {
        "last_day": timezone.localdate().isoformat(),
        "reason": "Outgrown, by the clinic's letter.",
        "signature": "Hakim, RN",
        "password": PASSWORD,
        **more,
    }
    return (client or as_user(cast.hakim)).post(reverse("restriction-end", args=[version.pk]), filled, follow=True)


def test_a_restriction_ends_with_a_reason_and_a_signature(cast: Cast) -> None:
    """After its last day; the reason stays readable."""
    tomorrow = timezone.localdate() + timedelta(days=1)
    assert "It protects up to and including" in words(end(cast, egg(cast), last_day=tomorrow.isoformat()))
    assert egg(cast).holds_on(tomorrow) and not egg(cast).holds_on(tomorrow + timedelta(days=1))
    shown = words(as_user(cast.hakim).get(reverse("restriction", args=[egg(cast).pk])))
    assert "Outgrown, by the clinic's letter. Signed Hakim, RN." in shown


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"reason": ""}, "Say why it ends"),
        ({"last_day": "2026-01-01"}, "cannot lie before today"),
        ({"signature": ""}, "This is signed"),
        ({"password": "wrong"}, "This is not your password"),
    ],
)
def test_half_an_end_is_none(cast: Cast, more: dict[str, str], told: str) -> None:
    """It goes on protecting."""
    version = egg(cast)
    assert told in words(end(cast, version, **more))
    assert egg(cast) == version


def test_an_end_of_what_somebody_changed_meanwhile_is_refused_with_both_versions(cast: Cast) -> None:
    """The nurse saw version 1; a colleague has recorded version 2."""
    seen = egg(cast)
    record_restriction(
        child=cast.kofi, substance="egg", replaces=seen, note="Reacted on Friday again.", recorded_by=cast.june
    )
    page = words(end(cast, seen))
    assert "June recorded version 2 of this restriction meanwhile, and what you saw was version 1" in page
    assert "What you saw: version 1" in page and "What is on record now: version 2" in page
    assert "Reacted on Friday again." in page
    assert egg(cast).ends_on is None


def test_a_statement_about_an_older_version_is_refused_then_taken(cast: Cast) -> None:
    """With both versions shown and all that was typed; sent again, it is about the newer one."""
    seen = egg(cast)
    newer = record_restriction(child=cast.kofi, substance="egg", replaces=seen, note="Reacted on Friday again.")
    page = taken_in(cast, seen)
    assert "What is on record now: version 2" in words(page)
    ticked = [box["value"] for box in soup(page).select("input[name=under][checked]")]
    assert ticked == [str(newer.pk)] and not Statement.objects.exists()
    taken_in(cast, newer)
    assert egg(cast).statement == Statement.objects.get()


def test_a_review_of_an_older_version_is_refused_then_taken(cast: Cast) -> None:
    """The answer given for the older version stands beside the newer, to be signed anew."""
    statement = a_statement(cast)
    seen = egg(cast)
    newer = record_restriction(child=cast.kofi, substance="egg", replaces=seen, note="Reacted on Friday again.")
    page = reviewed(cast, statement, **{f"reach-{seen.pk}": "ingredient", f"reach-{newer.pk}": ""})
    assert not Review.objects.exists()
    filled = {f"reach-{seen.pk}": "ingredient", "signature": "Hakim, RN", "password": PASSWORD, "wanting": "More."}
    address = reverse("statement-review", args=[statement.pk])
    page = as_user(cast.hakim).post(address, filled)
    assert "What is on record now: version 3" in words(page)
    chosen = soup(page).select(f"input[name=reach-{newer.pk}][checked]")
    assert [radio["value"] for radio in chosen] == ["ingredient"] and not Review.objects.exists()
    assert "More." in soup(page).find(id="id_wanting").get_text()
    assert reviewed(cast, statement).status_code == 200 and Review.objects.exists()


def test_a_statement_says_when_a_newer_one_took_its_place(cast: Cast) -> None:
    """So that nobody acts on the old paper."""
    first = a_statement(cast)
    taken_in(cast, egg(cast), replaces=first.pk)
    page = as_user(cast.hakim).get(reverse("statement", args=[first.pk]))
    assert "A newer statement took its place" in words(page)


def test_the_pages_never_speak_of_safety(cast: Cast) -> None:
    """Words that the service never shows."""
    statement = a_statement(cast)
    pages = ("statement", "statement-review"), ("child", "child-report", "statement-new")
    users: User = cast.hakim
    for name in (*pages[0], *pages[1]):
        pk = statement.pk if name in pages[0] else cast.kofi.pk
        shown = words(as_user(users).get(reverse(name, args=[pk]))).lower()
        assert not any(word in shown for word in (" safe", "allergy-free", "ok to eat", "cleared", "guaranteed"))
