"""Out: valid FHIR, without diagnoses and diets; and back in, none milder."""

from __future__ import annotations

import json

import pytest
from django.utils import timezone
from fhir.resources.bundle import Bundle as InR5
from fhir.resources.R4B.bundle import Bundle as InR4B
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from menus.substances.catalogue import Catalogue
from roster.fhir.give import give
from roster.fhir.take import planned, receive, take_over
from roster.models import Basis, Child, Restriction, Strictness
from roster.services import record_restriction
from tests.factories import ChildFactory, RestrictionFactory, ReviewFactory

CODES = sorted(each.code for each in Catalogue.load())


def out(child: Child) -> bytes:
    return json.dumps(give(child).bundle).encode()


@pytest.mark.django_db
def test_it_is_valid_and_says_no_condition() -> None:
    """By R4B, which R4 equals here; the patient comes with it."""
    child = ChildFactory.create(source="SAMPLE", source_id="usr-s1")
    RestrictionFactory.create(child=child, substance="gluten", kind="coeliac-disease", note="Seen by the clinic.")
    bundle = InR4B.model_validate_json(out(child))
    assert [each.resource.get_resource_type() for each in bundle.entry] == ["Patient", "AllergyIntolerance"]
    text = out(child).decode().lower()
    assert "coeliac" not in text and "celiac" not in text and "seen by the clinic" not in text
    resource = bundle.entry[1].resource
    assert resource.type is None and resource.criticality is None and resource.code.text == "gluten"
    assert {coding.code for coding in resource.code.coding} == {"gluten", "89811004"}


@pytest.mark.django_db
def test_r5_takes_it_but_for_what_changed_its_form() -> None:
    """The bundle of a kind that says no type is valid by R5 as well."""
    child = ChildFactory.create()
    RestrictionFactory.create(child=child, substance="egg", kind="")
    InR5.model_validate_json(out(child))


@pytest.mark.django_db
def test_only_what_was_reviewed_is_confirmed() -> None:
    """A statement that nobody has read, and a report, are unconfirmed."""
    child = ChildFactory.create()
    RestrictionFactory.create(child=child, substance="egg")
    review = ReviewFactory.create(statement__child=child)
    RestrictionFactory.create(child=child, substance="milk", statement=review.statement, review=review)
    entries = {each["resource"]["code"]["text"]: each["resource"] for each in give(child).bundle["entry"][1:]}
    said = {name: data["verificationStatus"]["coding"][0]["code"] for name, data in entries.items()}
    assert said == {"egg": "unconfirmed", "milk": "confirmed"}


@pytest.mark.django_db
def test_diets_textures_and_what_has_ended_stay_out() -> None:
    """They are no allergies; the page lists them."""
    child = ChildFactory.create()
    RestrictionFactory.create(child=child, substance="pork", basis=Basis.RELIGIOUS)
    RestrictionFactory.create(child=child, substance="", told="Food: level 5.", kind="dysphagia")
    RestrictionFactory.create(child=child, substance="egg", ends_on=timezone.localdate().replace(year=2020))
    given_out = give(child)
    assert not given_out.sent and {each.substance for each in given_out.left} == {"pork", ""}
    assert len(given_out.bundle["entry"]) == 1 and "pork" not in json.dumps(given_out.bundle)


class TestRoundTrip(TestCase):
    """Out and in again, at another place that knows the child by the same number."""

    @settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
    @given(
        st.dictionaries(
            st.sampled_from(CODES),
            st.tuples(st.sampled_from(Strictness.values), st.sampled_from([Basis.STATEMENT, Basis.REPORTED])),
            max_size=6,
        ),
        st.lists(
            st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=60), max_size=2, unique=True
        ),
        st.sampled_from(["SAMPLE", "urn:x-sis", "our own system"]),
    )
    def test_the_same_restrictions_come_back_and_none_is_milder(
        self, named: dict[str, tuple[str, str]], told: list[str], source: str
    ) -> None:
        here = ChildFactory.create(source=source, source_id="1")
        for code, (strictness, basis) in named.items():
            record_restriction(child=here, substance=code, strictness=strictness, basis=basis)
        for text in told:
            record_restriction(child=here, substance="", told=text)
        sent = out(here)
        InR4B.model_validate_json(sent)
        here.source_id = "moved"
        here.save()
        there = ChildFactory.create(source=source, source_id="1")
        kept = receive(sent, by=None)
        take_over(kept, planned(kept, Child.objects.all()), ticked={}, by=None)
        back = Restriction.objects.known(timezone.now()).filter(child=there)
        assert {each.substance for each in back if each.substance} == set(named)
        assert {each.told for each in back if not each.substance} == set(told)
        assert all(each.strictness == Strictness.TRACE and each.is_medical for each in back)
