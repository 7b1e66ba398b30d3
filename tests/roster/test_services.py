"""Writing to the roster: unknown substances and narrow allowances."""

from __future__ import annotations

import json
from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from menus.labels.evidence import Kind
from roster.models import Action, Allowance, Basis, Restriction, Strictness, Verb
from roster.services import StaleVersion, record_restriction, sign_allowance
from tests.cast import Cast


def test_unknown_substance_is_refused_with_a_suggestion(cast: Cast) -> None:
    """A misspelt allergen is not accepted in silence, and the near ones are named."""
    with pytest.raises(ValidationError, match="sesame"):
        record_restriction(child=cast.bao, substance="sesamee")
    assert not Restriction.objects.filter(child=cast.bao).exists()


def test_restriction_protects_as_strictly_as_can_be_unless_said_otherwise(cast: Cast) -> None:
    """Reported by word of mouth counts like a signed one."""
    assert record_restriction(child=cast.bao, substance="milk").strictness == Strictness.TRACE


def test_a_change_replaces_the_version_and_keeps_it(cast: Cast) -> None:
    """What was in force before can still be asked."""
    day = timezone.now().date()
    first = record_restriction(child=cast.bao, substance="milk")
    before = timezone.now()
    second = record_restriction(child=cast.bao, substance="milk", replaces=first, ends_on=day, end_reason="Outgrown.")
    in_force = Restriction.objects.filter(child=cast.bao)
    assert list(in_force.in_force(day, day, timezone.now())) == [second]
    assert list(in_force.in_force(day + timedelta(days=1), day + timedelta(days=1), timezone.now())) == []
    assert list(in_force.in_force(day, day, before)) == [first]


def test_versions_share_their_chain_until_the_restriction_ends(cast: Cast) -> None:
    """What takes up again what was over begins anew, even written down as its next version."""
    gone = timezone.now().date() - timedelta(days=1)
    first = record_restriction(child=cast.bao, substance="milk")
    second = record_restriction(child=cast.bao, substance="milk", replaces=first, ends_on=gone, end_reason="Outgrown.")
    third = record_restriction(child=cast.bao, substance="milk", replaces=second)
    assert first.chain == second.chain == first.pk
    assert third.chain == third.pk


def test_a_version_is_replaced_once(cast: Cast) -> None:
    """Two changes of one version would leave two truths."""
    first = record_restriction(child=cast.bao, substance="milk")
    record_restriction(child=cast.bao, substance="milk", replaces=first)
    with pytest.raises(StaleVersion, match="recorded version 2 of this restriction meanwhile"):
        record_restriction(child=cast.bao, substance="milk", replaces=first)


def test_a_next_version_keeps_what_is_not_said_anew(cast: Cast) -> None:
    """A better note does not turn a signed restriction into a reported one."""
    (old,) = cast.mateo.restrictions.all()
    new = record_restriction(child=cast.mateo, substance="peanut", replaces=old, note="within an hour")
    assert (new.basis, new.strictness, new.number) == (Basis.STATEMENT, Strictness.TRACE, 2)


def test_a_medical_restriction_gets_no_milder_without_a_review(cast: Cast) -> None:
    """Neither its reach nor its ground nor its end; a family's wish may be changed as the family says."""
    (old,) = cast.mateo.restrictions.all()
    for change in (
        {"strictness": "ingredient"},
        {"basis": "family"},
        {"ends_on": date(2027, 1, 1)},
        {"days": "fridays"},
    ):
        with pytest.raises(ValidationError):
            record_restriction(child=cast.mateo, substance="peanut", replaces=old, **change)
    assert not Restriction.objects.filter(replaces=old).exists()
    (wish,) = cast.yusuf.restrictions.all()
    assert record_restriction(child=cast.yusuf, substance="pork", replaces=wish, ends_on=date(2027, 1, 1)).ends_on


def test_every_version_is_on_record_with_what_was_before(cast: Cast) -> None:
    """Who changed what, from what to what."""
    (old,) = cast.mateo.restrictions.all()
    new = record_restriction(
        child=cast.mateo, substance="peanut", replaces=old, note="within an hour", recorded_by=cast.hakim
    )
    entry = Action.objects.filter(child=cast.mateo).latest("pk")
    assert (entry.verb, entry.actor, entry.site, entry.subject) == (
        Verb.RECORDED,
        cast.hakim,
        cast.ferrowick,
        f"restriction {new.pk}",
    )
    said = json.loads(entry.payload)["said"]
    assert "note" not in said["before"] and said["after"]["note"] == "within an hour"


def test_allowance_without_a_label_is_a_standing_decision(cast: Cast) -> None:
    """Anything else would be a blank cheque."""
    day = timezone.now().date()

    def sign(kind: Kind, about: str = "peanut", term: str = "") -> Allowance:
        return sign_allowance(
            restriction=cast.mateo.restrictions.get(),
            kind=kind,
            about=about,
            term=term,
            label=None,
            starts_on=day,
            ends_on=day,
            signed_by=cast.hakim,
            signature="Hakim, RN",
        )

    assert sign(Kind.REFINED_OIL).label is None
    with pytest.raises(ValidationError, match="names the label version"):
        sign(Kind.MAY_CONTAIN)
    with pytest.raises(ValidationError, match="names the label version"):
        sign(Kind.REFINED_OIL, about="")
    assert sign(Kind.MAY_DERIVE, term="natural flavor").term == "natural flavor"
    with pytest.raises(ValidationError, match="the word too"):
        sign(Kind.MAY_DERIVE)
    with pytest.raises(ValidationError, match="names the label version"):
        sign(Kind.MAY_DERIVE, about="", term="natural flavor")


def test_a_new_version_leaves_no_day_unprotected(cast: Cast) -> None:
    """It takes the place of the old one at once, so it may not begin later than that did."""
    today = timezone.localdate()
    (old,) = Restriction.objects.filter(child=cast.mateo)
    with pytest.raises(ValidationError, match="nothing would protect"):
        record_restriction(child=cast.mateo, substance="peanut", replaces=old, starts_on=today + timedelta(days=7))
    assert record_restriction(child=cast.mateo, substance="peanut", replaces=old, note="anaphylaxis").replaces == old


def test_a_version_to_come_may_be_replaced_by_one_to_come(cast: Cast) -> None:
    """Nothing protected before, so no day is lost."""
    soon = timezone.localdate() + timedelta(days=7)
    old = record_restriction(child=cast.bao, substance="egg", starts_on=soon)
    assert record_restriction(child=cast.bao, substance="egg", replaces=old, starts_on=soon).starts_on == soon


def test_a_version_is_of_the_same_child_and_substance(cast: Cast) -> None:
    """Replacing one child's restriction with another's would take it away without a word."""
    (old,) = Restriction.objects.filter(child=cast.mateo)
    for child, substance in ((cast.bao, "peanut"), (cast.mateo, "sesame")):
        with pytest.raises(ValidationError, match="same child and substance"):
            record_restriction(child=child, substance=substance, replaces=old)
