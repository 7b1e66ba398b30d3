"""The dry run: what each entry comes to, and whose it is. Nothing is written."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from roster.fhir.files import open_file
from roster.fhir.lines import Plan
from roster.fhir.patients import OUR_SOURCE
from roster.fhir.plan import plan_of
from roster.models import Basis, Child, Finding, Restriction, Strictness
from roster.services import record_restriction
from tests.factories import ChildFactory, RestrictionFactory, ReviewFactory
from tests.roster.fhir.entries import coded, entry, file_of, patient, plan_for, status

pytestmark = pytest.mark.django_db


@pytest.fixture
def child() -> Child:
    return ChildFactory.create(source="SAMPLE", source_id="usr-s1")


def findings(plan: Plan) -> list[Finding]:
    return [line.finding for line in plan.lines]


@pytest.mark.parametrize("verification", ["unconfirmed", "presumed", "confirmed"])
@pytest.mark.parametrize("kind", ["allergy", "intolerance"])
def test_what_is_active_is_new(child: Child, verification: str, kind: str) -> None:
    """However sure the record is, and whatever it calls it."""
    plan = plan_for(child, entry("Egg", type=kind, verificationStatus=status("verification", verification)))
    (line,) = plan.lines
    assert (line.finding, line.adds, line.child) == (Finding.NEW, ("egg",), child)
    assert not Restriction.objects.exists()


def test_what_says_nothing_of_its_status_or_category_counts_as_active_food(child: Child) -> None:
    """Silence is not absence."""
    plan = plan_for(child, entry("Egg", clinicalStatus=None, verificationStatus=None, category=None, type=None))
    assert findings(plan) == [Finding.NEW]


@pytest.mark.parametrize("past", ["inactive", "resolved"])
def test_what_is_over_is_a_proposal(child: Child, past: str) -> None:
    """S81: nurse confirms."""
    standing = RestrictionFactory.create(child=child, substance="egg")
    (line,) = plan_for(child, entry("Egg", clinicalStatus=status("clinical", past))).lines
    assert (line.finding, line.ends, line.adds) == (Finding.END, (standing,), ())


@pytest.mark.parametrize("denied", ["refuted", "entered-in-error"])
def test_what_is_denied_is_not_added_and_is_shown(child: Child, denied: str) -> None:
    """S82: refuted sesame."""
    refuted = entry("Sesame", verificationStatus=status("verification", denied), clinicalStatus=None)
    (line,) = plan_for(child, refuted).lines
    assert (line.finding, line.adds) == (Finding.REVIEW, ()) and line.needs_eyes


@pytest.mark.parametrize("category", ["medication", "environment", "biologic"])
def test_what_is_not_food_is_listed_and_not_taken_over(child: Child, category: str) -> None:
    """But a food under such a heading is shown, to be ticked."""
    assert findings(plan_for(child, entry("Penicillin G", category=[category]))) == [Finding.NOT_FOOD]
    (line,) = plan_for(child, entry("Egg", category=[category])).lines
    assert (line.finding, line.adds, line.offered) == (Finding.REVIEW, (), ("egg",))
    assert findings(plan_for(child, entry("Egg", category=[category, "food"]))) == [Finding.NEW]


def test_unknown_words_are_told_and_asked_about(child: Child) -> None:
    """Codes too, and an entry that names nothing."""
    for each in (entry("zorbalex"), entry(code=coded("1")), entry(code=None)):
        (line,) = plan_for(child, each).lines
        assert line.finding is Finding.UNKNOWN and len(line.told) == 1 and len(line.told[0]) <= 200


def test_what_reactions_name_is_read_where_the_entry_names_nothing(child: Child) -> None:
    """Beside the entry's own words, never in their place."""
    reaction = [{"substance": {"text": "Peanut"}, "manifestation": [{"text": "Hives"}]}]
    (line,) = plan_for(child, entry("Food", reaction=reaction)).lines
    assert line.adds == ("peanut",) and line.told and line.to_confirm
    (line,) = plan_for(child, entry("Egg", reaction=reaction)).lines
    assert line.adds == ("egg",)


def test_what_is_on_record_is_known(child: Child) -> None:
    """Religious grounds do not stand in for health."""
    RestrictionFactory.create(child=child, substance="egg")
    RestrictionFactory.create(child=child, substance="milk", basis=Basis.RELIGIOUS)
    assert findings(plan_for(child, entry("Egg"), entry("Milk"))) == [Finding.KNOWN, Finding.NEW]


def test_the_same_food_twice_is_added_once(child: Child) -> None:
    """As clinics send it: by two codes, in two entries."""
    assert findings(plan_for(child, entry("Egg"), entry("Eggs"))) == [Finding.NEW, Finding.KNOWN]


def test_a_signed_review_is_not_overruled_by_a_file(child: Child) -> None:
    """It is shown, to be ticked. Without a review it reaches to traces again."""
    plain = {"strictness": Strictness.INGREDIENT}
    first = RestrictionFactory.create(child=child, substance="egg", **plain)
    assert plan_for(child, entry("Egg")).lines[0].adds == ("egg",)
    review = ReviewFactory.create(statement__child=child)
    record_restriction(child=child, substance="egg", replaces=first, review=review, statement=review.statement)
    (line,) = plan_for(child, entry("Egg")).lines
    assert (line.finding, line.adds, line.offered) == (Finding.REVIEW, (), ("egg",))


def test_what_licensed_staff_ended_protects_again(child: Child) -> None:
    """S72: the stricter of two, until somebody looks."""
    RestrictionFactory.create(child=child, substance="egg", ends_on=timezone.localdate())
    assert plan_for(child, entry("Egg")).lines[0].adds == ("egg",)


def test_nothing_known_takes_nothing_away(child: Child) -> None:
    """It ends nothing, and asks nothing."""
    RestrictionFactory.create(child=child, substance="egg")
    (line,) = plan_for(child, entry(code=coded("716186003"))).lines
    assert (line.finding, line.ends, line.needs_eyes) == (Finding.NOTHING, (), False)


@pytest.mark.parametrize(
    "broken",
    [
        {"patient": None},
        {"clinicalStatus": "active"},
        {"recordedDate": "yesterday"},
        {"zorb": 1},
    ],
)
def test_an_unsound_entry_is_listed_and_the_others_are_read(child: Child, broken: dict[str, Any]) -> None:
    """With what it names, to be written down by hand."""
    plan = plan_for(child, entry("Sesame", **broken), entry("Egg"))
    assert findings(plan) == [Finding.NEW, Finding.UNREADABLE]
    assert "“Sesame”" in plan.unread[0].said and "by hand" in plan.unread[0].said


def test_an_entry_in_the_form_of_r5_is_read(child: Child) -> None:
    """Type and manifestations have another form there; the rest is the same."""
    newer = entry("Egg", type=coded("intolerance"), reaction=[{"manifestation": [{"concept": {"text": "Hives"}}]}])
    (line,) = plan_for(child, newer).lines
    assert line.adds == ("egg",) and line.entry and line.entry.kind == "intolerance"


def test_an_order_for_food_is_shown_and_not_taken_over(child: Child) -> None:
    """Textures, foods left out, preferences."""
    order = {
        "resourceType": "NutritionOrder",
        "status": "active",
        "intent": "order",
        "patient": {"reference": "Patient/p1"},
        "dateTime": "2026-08-12",
        "excludeFoodModifier": [{"text": "Peanut and products"}],
        "oralDiet": {"texture": [{"modifier": {"text": "Level 6"}}], "fluidConsistencyType": [{"text": "Level 1"}]},
    }
    plan = plan_for(child, order)
    assert findings(plan) == [Finding.REVIEW] * 3 and not any(line.adds or line.offered for line in plan.lines)


def test_a_number_is_certain_and_a_name_is_for_a_person(child: Child) -> None:
    """Two children may share a name (S80)."""
    twin = ChildFactory.create(given_name=child.given_name, family_name=child.family_name, birth_date=child.birth_date)
    by_name = file_of(patient(child, identifier=[{"system": "urn:x", "value": "9"}]), entry("Egg"))
    plan = plan_of(by_name, Child.objects.all(), {})
    assert findings(plan) == [Finding.UNMATCHED] and set(plan.matches[0].candidates) == {child, twin}
    plan = plan_of(by_name, Child.objects.all(), {"Patient/p1": twin.pk})
    assert plan.lines[0].child == twin and not plan.matches[0].by_number


def test_children_out_of_care_are_not_found(child: Child) -> None:
    """Nor named as those who may be meant."""
    plan = plan_of(file_of(patient(child), entry("Egg")), Child.objects.none(), {"Patient/p1": child.pk})
    assert findings(plan) == [Finding.UNMATCHED] and not plan.matches[0].candidates


def test_a_patient_inside_the_entry_is_found(child: Child) -> None:
    """A contained resource, and a reference by number alone."""
    inner = {**patient(child), "id": "me"}
    contained = entry("Egg", contained=[inner], patient={"reference": "#me"})
    by_number = entry("Milk", patient={"identifier": {"system": child.source, "value": child.source_id}})
    plan = plan_of(file_of(contained, by_number), Child.objects.all(), {})
    assert [line.child for line in plan.lines] == [child, child]


def test_a_number_with_another_birth_date_is_for_a_person(child: Child) -> None:
    """Numbers are given again; the child is offered, and not taken."""
    plan = plan_of(file_of(patient(child, birthDate="2001-01-01"), entry("Egg")), Child.objects.all(), {})
    assert plan.matches[0].child is None and child in plan.matches[0].candidates


def test_the_same_id_at_two_servers_is_nobodys(child: Child) -> None:
    """An absolute reference is its fullUrl alone, and one that fits two is none."""
    other = ChildFactory.create(source="SAMPLE", source_id="usr-s2")
    here, there = (f"https://{name}.example/Patient/p1" for name in ("a", "b"))
    entries = [entry("Egg", patient={"reference": there}), entry("Milk"), entry("Soy", patient={"reference": "x/p1"})]
    made = {"resourceType": "Bundle", "type": "collection"}
    made["entry"] = [{"fullUrl": here, "resource": patient(child)}, {"fullUrl": there, "resource": patient(other)}]
    made["entry"] += [{"resource": each} for each in entries]
    plan = plan_of(open_file(json.dumps(made).encode()), Child.objects.all(), {})
    assert {line.words: line.child for line in plan.lines} == {"Egg": other, "Milk": None, "Soy": None}


def test_a_version_of_a_patient_is_that_patient(child: Child) -> None:
    """The number after `_history` is none of a patient."""
    plan = plan_for(child, entry("Egg", patient={"reference": "Patient/p1/_history/2"}))
    assert plan.lines[0].child == child


def test_a_status_of_another_system_does_not_hide_that_of_hl7(child: Child) -> None:
    """A local “inactive” beside HL7's “active”."""
    both = {"coding": [{"system": "urn:x", "code": "inactive"}, *status("clinical", "active")["coding"]]}
    assert findings(plan_for(child, entry("Egg", clinicalStatus=both))) == [Finding.NEW]


def test_what_begins_later_protects_nobody_yet(child: Child) -> None:
    """A file that names the same food adds it from now on."""
    later = timezone.localdate() + timedelta(days=30)
    RestrictionFactory.create(child=child, substance="egg", basis=Basis.REPORTED, starts_on=later)
    (line,) = plan_for(child, entry("Egg")).lines
    assert (line.finding, line.adds) == (Finding.NEW, ("egg",))


def test_a_number_of_no_system_is_not_certain() -> None:
    """Our own mark without a source behind it is no system either, and two sources may count alike."""
    child = ChildFactory.create(source="SAMPLE", source_id="7")
    marked = file_of(patient(child, identifier=[{"system": OUR_SOURCE, "value": "7"}]), entry("Egg"))
    (match,) = plan_of(marked, Child.objects.all(), {}).matches
    assert match.child is None and match.candidates == (child,)
