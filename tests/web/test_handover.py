"""What is handed over of a child: record, guardian's copy, FHIR. Each is on record, and no name tells whose."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from compliance.checks.referrals import answer_referrals
from compliance.checks.treatfood import Said, check_said
from compliance.models import Referral
from compliance.web.handover import file_of
from roster.life.allowance import withdraw_allowance
from roster.models import Action, Allowance, User, Verb
from tests.cast import Cast
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db

FILES = {
    "child-record": ("application/pdf", "record-ferrowick-"),
    "guardian-copy": ("application/pdf", "copy-ferrowick-"),
    "child-fhir": ("application/fhir+json", "restrictions-ferrowick-"),
}


def got(user: User, name: str, pk: int, **asked: Any) -> HttpResponse:
    return as_user(user).get(reverse(name, args=[pk]), asked)


@pytest.mark.parametrize("name", FILES)
def test_each_download_is_on_record_and_names_no_child(cast: Cast, name: str) -> None:
    """Not in its file name, nor in its address."""
    answer = got(cast.hakim, name, cast.noor.pk)
    content_type, begins = FILES[name]
    assert answer.headers["Content-Type"] == content_type
    assert f'filename="{begins}' in answer.headers["Content-Disposition"]
    assert "noor" not in str(answer.headers).lower() and "no-store" in answer.headers["Cache-Control"]
    exported = Action.objects.get(verb=Verb.EXPORTED)
    assert (exported.actor, exported.child, exported.site) == (cast.hakim, cast.noor, cast.ferrowick)


def test_the_guardian_gets_the_copy_of_their_own_child_alone(cast: Cast) -> None:
    """S88. Nothing else is theirs to take."""
    assert got(cast.amara, "guardian-copy", cast.noor.pk, language="es").content.startswith(b"%PDF")
    assert got(cast.amara, "guardian-copy", cast.mateo.pk).status_code == 404
    for name in ("child-handover", "child-record", "child-fhir"):
        assert got(cast.amara, name, cast.noor.pk).status_code == 404
    exported = Action.objects.get(verb=Verb.EXPORTED)
    assert exported.actor == cast.amara and '"language":"es"' in exported.payload


def test_the_page_says_what_goes_out_and_what_stays(cast: Cast) -> None:
    """A religious diet is no allergy, and is told on paper."""
    page = words(got(cast.hakim, "child-handover", cast.yusuf.pk))
    assert "Nothing of that kind is on record" in page and "Pork (religious)" in page
    assert "Goes out: gluten" in words(got(cast.hakim, "child-handover", cast.noor.pk))


def test_the_bundle_holds_the_child_and_its_restrictions(cast: Cast) -> None:
    """As FHIR R4."""
    bundle = json.loads(got(cast.hakim, "child-fhir", cast.kofi.pk).content)
    assert bundle["resourceType"] == "Bundle" and bundle["entry"][0]["resource"]["name"][0]["given"] == ["Kofi"]
    assert {each["resource"]["code"]["text"] for each in bundle["entry"][1:]} == {"egg", "sesame"}


@pytest.mark.parametrize("name", ["child-handover", *FILES])
@pytest.mark.parametrize("who", ["rosa", "greta", "june", "ursula", "wren"])
def test_nobody_else_takes_anything(cast: Cast, name: str, who: str) -> None:
    """Not even that the child is there."""
    assert got(getattr(cast, who), name, cast.noor.pk).status_code == 404
    assert not Action.objects.filter(verb=Verb.EXPORTED).exists()


def test_a_withdrawn_allowance_is_not_handed_on(cast: Cast) -> None:
    """The next school must not read “allow” where nobody allows it any more."""
    check_said(user=cast.rosa, classroom=cast.larks, served_at=timezone.now(), said=Said(text="gelatin", name="Jelly"))
    answer_referrals(
        referrals=Referral.objects.waiting().filter(child=cast.yusuf),
        user=cast.hakim,
        answer="allow",
        note="",
        ends_on=timezone.localdate(),
        signature="H. Example, RN",
    )
    assert len(file_of(cast.yusuf, timezone.now()).answers) == 1
    for allowance in Allowance.objects.all():
        withdraw_allowance(allowance=allowance, reason="Wrong.", withdrawn_by=cast.hakim, signature="H. Example, RN")
    assert file_of(cast.yusuf, timezone.now()).answers == []
