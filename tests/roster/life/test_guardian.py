"""What a guardian sends in protects at once and takes nothing away; licensed staff answer it once."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.files.storage import default_storage
from django.utils import timezone

from roster.life.guardian import TOLD_MILK, answer_entry, entries_in_care, own_entries, send_in
from roster.life.scan import Scan
from roster.models import Action, Asks, Basis, Child, GuardianAnswer, GuardianEntry, Restriction, Strictness, Verb
from roster.services import StaleVersion, record_restriction
from tests.cast import Cast

pytestmark = pytest.mark.django_db

PAPER = Scan(b"%PDF-1.4 %%EOF", "application/pdf")


def sent(cast: Cast, child: Child | None = None, scan: Scan | None = None, **said: Any) -> GuardianEntry:
    fields = {"asks": Asks.AVOID, "basis": Basis.REPORTED, "language": "en", "signature": "Amara E.", **said}
    return send_in(child=child or cast.noor, sent_by=cast.amara, scan=scan, **fields)


def standing(child: Child) -> dict[str, Restriction]:
    return {each.substance or each.told: each for each in Restriction.objects.known(timezone.now()).filter(child=child)}


def answered(cast: Cast, entry: GuardianEntry, **more: Any) -> GuardianAnswer:
    fields = {"answered_by": cast.hakim, "signature": "Hakim, RN", "told": "We keep it away.", **more}
    return answer_entry(entry=entry, **fields)


def test_what_is_ticked_protects_at_once_to_traces(cast: Cast) -> None:
    """For health, whatever the family ticked about how far; as reported, of no kind yet."""
    entry = sent(cast, substances=["sesame"], strictness=Strictness.INGREDIENT)
    made = standing(cast.noor)["sesame"]
    assert (made.strictness, made.basis, made.kind) == (Strictness.TRACE, Basis.REPORTED, "")
    assert list(entry.restrictions.all()) == [made]


def test_what_a_family_wishes_reaches_as_far_as_it_says(cast: Cast) -> None:
    """Traces only where it asks for them."""
    sent(cast, substances=["pork"], basis=Basis.RELIGIOUS, strictness=Strictness.INGREDIENT)
    sent(cast, substances=["beef"], basis=Basis.FAMILY)
    made = standing(cast.noor)
    assert (made["pork"].strictness, made["pork"].basis) == (Strictness.INGREDIENT, Basis.RELIGIOUS)
    assert (made["beef"].strictness, made["beef"].basis) == (Strictness.TRACE, Basis.FAMILY)


def test_words_nobody_knows_are_told_to_whoever_serves(cast: Cast) -> None:
    """S75. Nothing is dropped; what comes near is looked for as well."""
    sent(cast, words="sesamee\ngrandma's stew")
    made = standing(cast.noor)
    assert made["sesame"].strictness == Strictness.TRACE
    assert any("“grandma's stew”" in each for each in made) and any("“sesamee”" in each for each in made)


def test_long_words_still_fit_on_the_list_of_the_class(cast: Cast) -> None:
    """The whole of it stays on the entry."""
    entry = sent(cast, words="y" * 900)
    told = next(each for each in standing(cast.noor).values() if each.told)
    assert len(told.told) <= 200 and entry.words == "y" * 900


def test_a_way_of_eating_brings_its_substances_and_what_people_see_to(cast: Cast) -> None:
    """On its own ground, without a reason typed."""
    sent(cast, kinds=["kosher"], basis="")
    made = standing(cast.noor)
    assert made["pork"].basis == Basis.RELIGIOUS and "No meat together with milk in one meal." in made


def test_another_drink_asked_for_means_no_milk_to_drink_until_answered(cast: Cast) -> None:
    """7 CFR 210.10(d)(2)(i): a written request with its reason. Milk in food is no part of it."""
    sent(cast, milk_reason="We do not drink it at home.", basis=Basis.FAMILY)
    made = standing(cast.noor)
    assert TOLD_MILK in made and "milk" not in made


def test_nothing_on_record_gets_milder_by_a_form(cast: Cast) -> None:
    """S72. Basis: practice. What is there as strictly is kept; a request to end it changes nothing."""
    before = standing(cast.noor)
    gluten = before["gluten"]
    sent(cast, substances=["gluten"], basis=Basis.FAMILY, strictness=Strictness.INGREDIENT)
    sent(cast, asks=Asks.END, about=gluten, words="He has outgrown it.", basis="")
    still = Restriction.objects.known(timezone.now()).filter(child=cast.noor, substance="gluten", basis=Basis.STATEMENT)
    assert still.get() == gluten and gluten.ends_on is None


def test_a_stricter_form_makes_it_stricter(cast: Cast) -> None:
    """The parent reports egg to traces; what stood said as an ingredient."""
    record_restriction(child=cast.noor, substance="egg", strictness=Strictness.INGREDIENT)
    sent(cast, substances=["egg"])
    assert standing(cast.noor)["egg"].strictness == Strictness.TRACE


def test_another_child_is_refused(cast: Cast) -> None:
    """And nothing of it stays, not even the paper."""
    with pytest.raises(PermissionDenied):
        sent(cast, child=cast.mateo, substances=["egg"], scan=PAPER)
    theirs = cast.mateo.restrictions.get()
    with pytest.raises(ValidationError, match="not on record for this child"):
        sent(cast, asks=Asks.END, about=theirs, words="End it.")
    assert not GuardianEntry.objects.exists()


@pytest.mark.parametrize(
    "said",
    [{}, {"words": " \n"}, {"kinds": ["nonsense"]}, {"asks": Asks.CORRECT}, {"substances": ["nonsense"]}],
)
def test_a_form_that_asks_for_nothing_that_exists_is_refused(cast: Cast, said: dict[str, Any]) -> None:
    """A paper alone would protect from nothing until somebody reads it."""
    before = set(standing(cast.noor))
    with pytest.raises(ValidationError):
        sent(cast, scan=PAPER, **said)
    assert not GuardianEntry.objects.exists() and set(standing(cast.noor)) == before


def test_a_refused_form_leaves_no_paper_behind(cast: Cast) -> None:
    """The file is written before what it protects from; what fails then takes it away again."""
    kept = _files("guardians")
    with pytest.raises(ValidationError):
        sent(cast, scan=PAPER, substances=["nonsense"])
    assert _files("guardians") == kept
    entry = sent(cast, scan=PAPER, substances=["egg"])
    assert len(_files("guardians")) == len(kept) + 1 and entry.scan_sha256 == PAPER.sha256


def _files(folder: str) -> list[str]:
    if not default_storage.exists(folder):
        return []
    folders, files = default_storage.listdir(folder)
    return files + [file for each in folders for file in _files(f"{folder}/{each}")]


def test_it_is_on_record_without_its_words(cast: Cast) -> None:
    """Who sent what kind of form about whom, with the digest of the paper."""
    entry = sent(cast, substances=["egg"], words="grandma's stew", scan=PAPER)
    action = Action.objects.filter(subject=f"guardian entry {entry.pk}").get()
    assert (action.verb, action.actor, action.child, action.site) == (
        Verb.RECORDED,
        cast.amara,
        cast.noor,
        cast.ferrowick,
    )
    assert PAPER.sha256 in action.payload and "stew" not in action.payload


def test_licensed_staff_answer_add_and_name_the_kind(cast: Cast) -> None:
    """What they add protects too; nothing ends by it."""
    entry = sent(cast, substances=["milk"], words="grandma's stew")
    made = standing(cast.noor)
    answered(cast, entry, further=["celery"], kinds={made["milk"]: "milk-allergy"}, note="Called the mother.")
    after = standing(cast.noor)
    assert after["celery"].strictness == Strictness.TRACE and after["milk"].kind == "milk-allergy"
    assert set(made) < set(after)
    assert entries_in_care(cast.hakim).filter(answer=None).count() == 0


def test_an_answer_is_signed_says_something_and_is_given_once(cast: Cast) -> None:
    """By licensed staff of the child alone."""
    entry = sent(cast, substances=["milk"])
    for more in ({"signature": " "}, {"told": " "}):
        with pytest.raises(ValidationError):
            answered(cast, entry, **more)
    for who in (cast.amara, cast.rosa, cast.june):
        with pytest.raises(PermissionDenied):
            answered(cast, entry, answered_by=who)
    answered(cast, entry)
    with pytest.raises(ValidationError, match="answered meanwhile"):
        answered(cast, entry)
    assert GuardianAnswer.objects.count() == 1


def test_a_kind_for_an_older_version_is_refused(cast: Cast) -> None:
    """And with it the whole answer."""
    entry = sent(cast, substances=["milk"])
    seen = standing(cast.noor)["milk"]
    record_restriction(child=cast.noor, substance="milk", replaces=seen, note="Again on Friday.")
    with pytest.raises(StaleVersion):
        answered(cast, entry, kinds={seen: "milk-allergy"})
    assert not GuardianAnswer.objects.exists()


def test_own_entries_are_those_one_sent_about_ones_own_child(cast: Cast) -> None:
    """Not another guardian's of the same child, and none once the post has ended."""
    entry = sent(cast, substances=["milk"])
    assert list(own_entries(cast.amara)) == [entry] and not own_entries(cast.hakim).exists()
    cast.amara.posts.all().delete()
    assert not own_entries(cast.amara).exists()
