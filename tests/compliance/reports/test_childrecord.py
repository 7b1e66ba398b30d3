"""A child's record and the guardian's copy: what they say, in which words, and that names are never markup."""

from __future__ import annotations

import csv
from dataclasses import replace
from importlib.resources import files

import pytest
from django.utils import timezone

from compliance.reports.childfile import ChildFile
from compliance.reports.childrecord import transfer_document
from compliance.reports.childrecord_pdf import Document, document_pdf
from compliance.reports.guardiancopy import MOST_ACTIONS, guardian_document, words_in
from compliance.web.handover import file_of
from roster.models import Basis, EmergencyPlan, Role, State, Verb
from roster.record.write import record
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import AllowanceFactory
from tests.web.doors import a_statement

pytestmark = pytest.mark.django_db
FORBIDDEN = (" safe", "allergy-free", "ok to eat", "cleared", "guaranteed")


def file_of_kofi(cast: Cast) -> ChildFile:
    """Egg under a statement, sesame reported, pork by religion, a pointer and an allowance."""
    statement = a_statement(cast)
    AllowanceFactory.create(restriction=statement.restrictions.get(), signed_by=cast.hakim)
    record_restriction(child=cast.kofi, substance="pork", basis=Basis.RELIGIOUS, strictness="ingredient")
    today = timezone.localdate()
    EmergencyPlan.objects.create(
        child=cast.kofi, plan_place="Red binder", dated=today, review_on=today, recorded_by=cast.hakim
    )
    return file_of(cast.kofi, timezone.now())


def said(document: Document) -> str:
    """All its words, one after the other."""
    parts = [document.heading, document.asof, *document.intro, *document.cautions, document.foot]
    for section in document.sections:
        parts += [section.heading, *section.text, *section.head, *(cell for row in section.rows for cell in row)]
        facts = [*section.facts, *(fact for part in section.parts for fact in part.facts)]
        parts += [part.heading for part in section.parts] + [word for fact in facts for word in fact]
    return " ".join(parts)


def test_the_record_says_what_on_whose_word_and_what_to_do(cast: Cast) -> None:
    """States, versions, dates, who signed; the statement's words without its scan; the pointer."""
    words = said(transfer_document(file_of_kofi(cast)))
    for told in (
        "Kofi Example",
        "Larks, Ferrowick Elementary School",
        "Statement received",
        "Reported, not yet signed",
        "Religious",
        "P. Example",
        "Egg in every form.",
        "Kept here; not part of this paper",
        "Signed A. Example, RD",
        "Red binder",
        "Ask the family for a new signed statement",
        "As of 20",
    ):
        assert told in words, told


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_copy_says_who_has_read_it_by_role(cast: Cast, language: str) -> None:
    """S88. No member of staff is named for reading, and what staff wrote for each other stays out."""
    record_restriction(child=cast.noor, substance="milk", note="Mother seemed unsure.", recorded_by=cast.hakim)
    record(Verb.READ, cast.noor, site=cast.ferrowick, child=cast.noor, by=cast.hakim.pk)
    record(Verb.EXPORTED, cast.noor, site=cast.ferrowick, child=cast.noor, by=cast.june.pk)
    record(Verb.READ, cast.mateo, site=cast.ferrowick, child=cast.mateo, by=cast.rosa.pk)
    words, say = said(guardian_document(file_of(cast.noor, timezone.now()), language)), words_in(language)
    assert say("v-read") in words and say("r-licensed") in words and say("r-administrator") in words
    assert say("r-teacher") not in words
    assert "Hakim" not in words and "June" not in words and "unsure" not in words


def test_the_copy_is_in_plain_words_of_its_language(cast: Cast) -> None:
    """Substances too, where a name is known."""
    file = file_of_kofi(cast)
    english, spanish = said(guardian_document(file, "en")), said(guardian_document(file, "es"))
    assert "Egg" in english and "No signed statement has come yet" in english
    assert "Huevo" in spanish and "Aún no ha llegado una declaración firmada" in spanish
    assert "Reported" not in spanish and guardian_document(file, "es").lang == "es"


def test_every_code_has_its_words_in_both_languages() -> None:
    """States, bases and roles; the Spanish is marked as waiting for a translator."""
    with (files("compliance.reports") / "data" / "guardian_copy.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    assert all(row["en"] and row["es"] and row["verified"] in {"memory", "read"} for row in rows)
    for language in ("en", "es"):
        say = words_in(language)
        for key in (*State.values, *(f"b-{basis}" for basis in Basis.values), *(f"r-{role}" for role in Role.values)):
            assert say(key)


def test_a_long_record_lists_the_newest_and_says_so(cast: Cast) -> None:
    """So that a copy can be printed."""
    file = file_of(cast.noor, timezone.now())
    longer = replace(file, actions=[*file.actions[:1]] * (MOST_ACTIONS + 1))
    section = guardian_document(longer, "en").sections[-1]
    assert len(section.rows) == MOST_ACTIONS and "more than 400" in " ".join(section.text)


def test_a_child_with_nothing_on_record_is_no_promise(cast: Cast) -> None:
    """In either paper."""
    file = file_of(cast.bao, timezone.now())
    assert "no promise" in said(transfer_document(file)) and "may still react" in said(guardian_document(file, "en"))


def test_they_never_speak_of_safety(cast: Cast) -> None:
    """Words that the service never shows."""
    file = file_of_kofi(cast)
    for document in (transfer_document(file), guardian_document(file, "en")):
        assert not any(word in said(document).lower() for word in FORBIDDEN)


def test_names_are_data_and_the_pdf_is_made(cast: Cast) -> None:
    """A child may be called anything."""
    cast.kofi.given_name = '#read("/etc/passwd") *bold* $x$ <l> @r \\ ]'
    cast.kofi.save()
    file = file_of_kofi(cast)
    for document in (transfer_document(file), guardian_document(file, "en"), guardian_document(file, "es")):
        made = document_pdf(document)
        assert made.startswith(b"%PDF") and b"pdfuaid" in made and len(made) < 200_000


def test_a_name_in_a_script_that_our_fonts_lack_is_printed_all_the_same(cast: Cast) -> None:
    """A paper in hand matters more than its tags."""
    cast.bao.given_name = "宝"
    cast.bao.save()
    assert document_pdf(transfer_document(file_of(cast.bao, timezone.now()))).startswith(b"%PDF")
