"""From guardians: what licensed staff read of a family's form, and the answer that they sign."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from roster.life.guardian import send_in
from roster.models import Action, Asks, Basis, GuardianAnswer, GuardianEntry, Restriction, Role, Statement, Verb
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import PASSWORD, PostFactory, UserFactory
from tests.web.doors import a_family_form
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db


def sent(cast: Cast, **said: Any) -> GuardianEntry:
    fields = {"asks": Asks.AVOID, "basis": Basis.REPORTED, "language": "es", "signature": "Amara E.", **said}
    return send_in(child=cast.noor, sent_by=cast.amara, scan=None, **fields)


def answer(cast: Cast, entry: GuardianEntry, **more: Any) -> HttpResponse:
    typed = {
        "further": "",
        "told": "We keep it away; please send the clinic's statement.",
        "note": "Called at noon.",
        "signature": "Hakim, RN",
        "password": PASSWORD,
        **more,
    }
    return as_user(cast.hakim).post(reverse("from-guardian", args=[entry.pk]), typed, follow=True)


def known(cast: Cast) -> dict[str, Restriction]:
    found = Restriction.objects.known(timezone.now()).filter(child=cast.noor)
    return {each.substance or each.told: each for each in found}


def test_a_form_is_read_as_sent_with_what_it_was_taken_for(cast: Cast) -> None:
    """Doubtful words are marked, unknown ones too; the reading is on record."""
    entry = sent(cast, substances=["milk"], words="nueces\nel guiso de la abuela", instead="Arroz.")
    page = words(as_user(cast.hakim).get(reverse("from-guardian", args=[entry.pk])))
    assert "Taken as peanut and tree nuts. These words may mean something else: confirm it." in page
    assert "el guiso de la abuela Nobody knows these words" in page and "Arroz." in page
    assert "Milk : also possible presence and traces; reported, not yet signed" in page
    assert Action.objects.filter(verb=Verb.READ, actor=cast.hakim, subject=f"guardian entry {entry.pk}").exists()


def test_the_answer_adds_names_the_kind_and_reaches_the_guardian(cast: Cast) -> None:
    """The note does not."""
    entry = sent(cast, words="leche\nel guiso de la abuela")
    milk = known(cast)["milk"]
    page = answer(cast, entry, further="celery", **{f"kind-{milk.pk}": "milk-allergy"})
    assert "Signed and kept." in words(page) and "No form waits for you." in words(page)
    assert known(cast)["milk"].kind == "milk-allergy" and "celery" in known(cast)
    shown = words(as_user(cast.amara).get(reverse("guardian-child", args=[cast.noor.pk])))
    assert "We keep it away; please send the clinic's statement." in shown and "Called at noon." not in shown


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"told": ""}, "Say what the guardian is to read"),
        ({"signature": ""}, "This is signed"),
        ({"password": "wrong"}, "This is not your password"),
        ({"further": "sesamee"}, "sesame"),
    ],
)
def test_half_an_answer_is_none(cast: Cast, more: dict[str, str], told: str) -> None:
    """What was typed is still there."""
    page = answer(cast, a_family_form(cast), **more)
    assert told in words(page) and "Called at noon." in page.content.decode()
    assert not GuardianAnswer.objects.exists()


def test_two_answers_at_once_the_second_is_refused_with_the_first_shown(cast: Cast) -> None:
    """Nobody's words are lost: those of the second are still in the form."""
    entry = a_family_form(cast)
    vera = UserFactory.create(username="vera", first_name="Vera")
    PostFactory.create(user=vera, role=Role.LICENSED, site=cast.ferrowick, classroom=None)
    typed = {"told": "Vera's words.", "signature": "Vera, RDN", "password": PASSWORD}
    as_user(vera).post(reverse("from-guardian", args=[entry.pk]), typed)
    page = answer(cast, entry)
    assert "Vera answered meanwhile: “Vera's words.”" in words(page)
    assert GuardianAnswer.objects.get().told == "Vera's words."


def test_a_request_to_end_leads_to_the_restriction_and_ends_nothing(cast: Cast) -> None:
    """The end has a page, a reason and a signature of its own."""
    gluten = known(cast)["gluten"]
    entry = sent(cast, asks=Asks.END, about=gluten, words="Ya no hace falta.", basis="")
    page = as_user(cast.hakim).get(reverse("from-guardian", args=[entry.pk]))
    assert reverse("restriction", args=[gluten.pk]) in page.content.decode() and "Ya no hace falta." in words(page)
    answer(cast, entry, told="Send us the clinic's letter, please.")
    assert known(cast)["gluten"] == gluten and gluten.ends_on is None


def test_the_paper_is_received_as_a_statement_without_leaving_the_service(cast: Cast) -> None:
    """Chosen already when one comes from the form; the same bytes, and a file sent beside it counts more."""
    entry = a_family_form(cast)
    address = reverse("statement-new", args=[cast.noor.pk])
    hakim = as_user(cast.hakim)
    shown = soup(hakim.get(address, {"paper": entry.pk}))
    assert [each["value"] for each in shown.select("#id_paper option[selected]")] == [str(entry.pk)]
    typed = {
        "under": [known(cast)["kiwi"].pk],
        "signatory": "P. Example",
        "credential": "prescriber",
        "licence_state": "Illinois",
        "signed_on": timezone.localdate().isoformat(),
        "program": "nslp",
        "paper": entry.pk,
    }
    hakim.post(address, typed)
    statement = Statement.objects.get()
    assert (statement.scan_sha256, statement.scan_type) == (entry.scan_sha256, "application/pdf")
    assert statement.scan.name != entry.scan.name and known(cast)["kiwi"].statement == statement


def test_another_childs_paper_is_not_offered(cast: Cast) -> None:
    """Nor taken, by its number."""
    entry = a_family_form(cast)
    page = as_user(cast.hakim).post(reverse("statement-new", args=[cast.kofi.pk]), {"paper": entry.pk})
    assert not Statement.objects.exists() and not soup(page).select("#id_paper")
    assert "Or the paper that the family sent : Select a valid choice" in words(page)


def test_the_list_counts_what_waits(cast: Cast) -> None:
    """The oldest first; answered ones below."""
    first, second = sent(cast, substances=["milk"]), sent(cast, substances=["egg"])
    page = words(as_user(cast.hakim).get(reverse("from-guardians")))
    assert "2 forms wait for you" in page and "in Spanish" in page
    answer(cast, first)
    page = words(as_user(cast.hakim).get(reverse("from-guardians")))
    assert "1 form waits for you" in page and "signed Hakim, RN" in page
    assert GuardianEntry.objects.filter(answer=None).get() == second


def test_licensed_staff_of_another_site_do_not_find_it(cast: Cast) -> None:
    """Neither on the list nor by its number."""
    entry = a_family_form(cast)
    vera = UserFactory.create(username="vera")
    PostFactory.create(user=vera, role=Role.LICENSED, site=cast.tansy_gate, classroom=None)
    assert "Noor" not in as_user(vera).get(reverse("from-guardians")).content.decode()
    for name in ("from-guardian", "from-guardian-scan"):
        assert as_user(vera).get(reverse(name, args=[entry.pk])).status_code == 404


@pytest.mark.parametrize("who", ["rosa", "sefa", "greta", "tomas", "june", "ursula", "amara", "wren"])
def test_nobody_else_reads_it(cast: Cast, who: str) -> None:
    """Not even the family, by this door: it shows what the words were taken for."""
    entry = a_family_form(cast)
    for name, args in (("from-guardians", []), ("from-guardian", [entry.pk]), ("from-guardian-scan", [entry.pk])):
        assert as_user(getattr(cast, who)).get(reverse(name, args=args)).status_code == 404


def test_what_has_ended_is_not_said_to_protect(cast: Cast) -> None:
    """Nor is its kind asked for: that would bring it back to life unasked."""
    entry = sent(cast, substances=["milk"])
    milk = entry.restrictions.get()
    yesterday = timezone.localdate() - timedelta(days=1)
    Restriction.objects.filter(pk=milk.pk).update(ends_on=yesterday)
    page = soup(as_user(cast.hakim).get(reverse("from-guardian", args=[entry.pk])))
    assert page.find(attrs={"name": f"kind-{milk.pk}"}) is None


def test_a_kind_chosen_for_a_version_that_is_no_longer_the_newest_is_not_lost_unseen(cast: Cast) -> None:
    """Somebody recorded the next version while the page stood open: nothing is saved, and what was typed stays."""
    entry = sent(cast, substances=["milk"])
    milk = entry.restrictions.get()
    record_restriction(child=cast.noor, substance="milk", replaces=milk)
    page = answer(cast, entry, **{f"kind-{milk.pk}": "milk-allergy"})
    assert "got a new version or its kind meanwhile" in words(page) and "Called at noon." in words(page)
    assert not GuardianAnswer.objects.exists()
