"""Taking a file over: what protects holds at once, and nothing gets milder."""

from __future__ import annotations

from typing import Any

import pytest
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from menus.imports.problem import Unreadable
from roster.fhir.take import items_for, planned, receive, see_to, take_over
from roster.models import Action, Basis, Child, HealthItem, HealthRecord, Restriction, State, Strictness, Verb
from tests.cast import Cast
from tests.factories import ChildFactory, RestrictionFactory, UserFactory
from tests.roster.fhir.entries import bundle, entry, patient, status, taken

pytestmark = pytest.mark.django_db
KEYS = [
    "resourceType",
    "id",
    "code",
    "coding",
    "text",
    "system",
    "display",
    "patient",
    "reference",
    "identifier",
    "value",
    "clinicalStatus",
    "verificationStatus",
    "category",
    "type",
    "note",
    "reaction",
    "substance",
    "contained",
    "name",
    "given",
    "family",
    "birthDate",
    "excludeFoodModifier",
    "oralDiet",
    "texture",
    "modifier",
    "recordedDate",
]


@pytest.fixture
def child() -> Child:
    return ChildFactory.create(source="SAMPLE", source_id="usr-s1")


def standing(child: Child) -> list[Restriction]:
    return list(Restriction.objects.known(timezone.now()).filter(child=child).order_by("pk"))


def test_a_confirmed_entry_is_reported_until_a_statement_is_held(child: Child) -> None:
    """A record is no signed statement (7 CFR 210.10(m)(1)): it protects as strictly, and asks for one."""
    taken(child, entry("Egg", verificationStatus=status("verification", "confirmed"), recordedDate="2026-08-10"))
    (egg,) = standing(child)
    assert (egg.basis, egg.strictness, egg.kind) == (Basis.REPORTED, Strictness.TRACE, "egg-allergy")
    assert egg.state_on(timezone.localdate()) == State.REPORTED
    assert egg.note == "Health record: “Egg”; allergy; confirmed; recorded 2026-08-10"


def test_an_intolerance_reaches_to_traces_too(child: Child) -> None:
    """Its kind is left for staff to name."""
    taken(child, entry("Cow milk", type="intolerance", criticality="low"))
    (milk,) = standing(child)
    assert (milk.substance, milk.strictness, milk.kind) == ("milk", Strictness.TRACE, "")


def test_unknown_words_stand_on_the_list_of_the_class(child: Child) -> None:
    """And come back as what is to be asked."""
    _, done = taken(child, entry("zorbalex"))
    assert [each.told for each in done.asks] == [each.told for each in standing(child)]
    assert "“zorbalex”" in standing(child)[0].told


def test_a_proposal_ends_nothing_and_waits(child: Child) -> None:
    """Until licensed staff have seen to it; what protects is as before."""
    egg = RestrictionFactory.create(child=child, substance="egg")
    who = UserFactory.create()
    kept, done = taken(child, entry("Egg", clinicalStatus=status("clinical", "resolved")), by=who)
    assert standing(child) == [egg] and not done.recorded
    item = HealthItem.objects.get()
    assert (item.record, item.restriction, item.child) == (kept, egg, child)
    see_to(item, note="The clinic was asked.", by=who)
    assert not items_for(Child.objects.all(), HealthRecord.objects.all()) and standing(child) == [egg]


def test_what_is_offered_is_added_only_if_it_was_ticked(child: Child) -> None:
    """And nothing that was not offered."""
    taken(child, entry("sesamee"), ticked={"entry 2": ["peanut"]})
    assert {each.substance for each in standing(child)} == {""}
    taken(child, entry("sesamee"), ticked={"entry 2": ["sesame"]})
    assert {each.substance for each in standing(child)} == {"", "sesame"}


def test_twice_is_once(child: Child) -> None:
    """The same file again adds nothing and asks nothing."""
    entries = [entry("nuts"), entry("zorbalex"), entry("Soy", clinicalStatus=status("clinical", "resolved"))]
    taken(child, *entries)
    before = len(standing(child))
    _, again = taken(child, *entries)
    assert len(standing(child)) == before and not again.recorded


def test_the_file_is_kept_as_it_came_and_on_record(cast: Cast) -> None:
    """With an entry for the child, which names its restrictions."""
    cast.kofi.source, cast.kofi.source_id = "SAMPLE", "usr-7"
    cast.kofi.save()
    kept, done = taken(cast.kofi, entry("Wheat"), by=cast.hakim)
    with kept.file.open("rb") as file:
        assert file.read() == bundle(patient(cast.kofi), entry("Wheat"))
    about = Action.objects.get(verb=Verb.IMPORTED, child=cast.kofi)
    assert (about.actor, about.site) == (cast.hakim, cast.ferrowick)
    assert str(done.recorded[0].pk) in about.payload
    assert cast.kofi.family_name not in kept.file.name


def test_a_file_that_cannot_be_opened_is_not_kept() -> None:
    """Nor is anything said of it."""
    with pytest.raises(Unreadable):
        receive(b"<xml/>", by=None)
    assert not HealthRecord.objects.exists() and not Action.objects.exists()


def test_signs_that_no_database_keeps_are_taken_out(child: Child) -> None:
    """A NUL, half of a surrogate pair, and a reference without end."""
    taken(child, entry("pea\0nut \ud800"), entry("Egg", patient={"reference": "Patient/" + "x" * 5000}))
    (told,) = standing(child)
    told.told.encode()
    assert "\0" not in told.told and HealthItem.objects.filter(finding="unmatched").count() == 1


ANY = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=8) | st.just("{}"),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=3),
    max_leaves=8,
)
PARTS = st.dictionaries(st.sampled_from(KEYS), ANY, max_size=3)


class TestAnyFile(TestCase):
    """Whatever stands in an entry, it is read or listed, and what protects comes in."""

    @settings(max_examples=100, suppress_health_check=[HealthCheck.too_slow])
    @given(PARTS, PARTS)
    def test_it_is_answered(self, broken: dict[str, Any], person: dict[str, Any]) -> None:
        child = ChildFactory.create(source="SAMPLE", source_id="usr-s1")
        odd = {**entry("Soy"), **broken}
        stranger = {**patient(child), "id": "p2", **person}
        order = {"resourceType": "NutritionOrder", "patient": {"reference": "Patient/p2"}, **broken}
        kept = receive(bundle(patient(child), entry("Egg"), odd, stranger, order), by=None)
        take_over(kept, planned(kept, Child.objects.all()), ticked={}, by=None)
        assert "egg" in {each.substance for each in standing(child)} or "p1" in str(person)
