"""A report protects at once, adds and never takes away, and can be of any kind there is."""

from __future__ import annotations

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from roster.kinds.kind import RestrictionKind, restriction_kinds
from roster.life.report import Report, Said, report
from roster.models import Action, Basis, Child, Restriction, State, Strictness, User, Verb
from tests.cast import Cast

KINDS = restriction_kinds()


def written(child: Child, by: User, kind: str, *more: str, **said: object) -> Report:
    """The kind as it is filled in, with further substances."""
    of = KINDS[kind]
    filled = {"strictness": of.strictness, **said}
    return report(child=child, said=Said(of, [*of.substances, *more], **filled), reported_by=by)


def today(child: Child) -> list[Restriction]:
    day = timezone.localdate()
    return list(Restriction.objects.standing(day, day, timezone.now()).filter(child=child))


@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_every_kind_can_be_entered(cast: Cast, kind: RestrictionKind) -> None:
    """With its substances, or with a further one, or with what people see to; it stands from that moment."""
    said = {} if kind.substances else {"told": "Food: level 5."}
    done = written(cast.bao, cast.rosa, kind.code, **said)
    assert set(done.recorded) == set(today(cast.bao))
    assert {each.kind for each in done.recorded} == {kind.code}
    assert {each.substance for each in done.recorded} == (set(kind.substances) or {""})


def test_a_teacher_writes_down_what_a_guardian_says(cast: Cast) -> None:
    """It counts as reported, as strictly as a signed one, and is on record with who wrote it."""
    done = written(cast.bao, cast.rosa, "milk-allergy", note="Father at the door.")
    (milk,) = done.recorded
    assert (milk.basis, milk.strictness, milk.recorded_by) == (Basis.REPORTED, Strictness.TRACE, cast.rosa)
    assert milk.state_on(timezone.localdate()) == State.REPORTED
    assert Action.objects.filter(child=cast.bao, verb=Verb.RECORDED, actor=cast.rosa).exists()


@pytest.mark.parametrize("who", ["greta", "dmitri", "wren"])
def test_nobody_writes_about_children_of_others(cast: Cast, who: str) -> None:
    """A cook, another class's teacher, somebody without a post."""
    with pytest.raises(PermissionDenied):
        written(cast.bao, getattr(cast, who), "milk-allergy")
    assert not today(cast.bao)


def test_a_report_of_what_is_signed_changes_nothing(cast: Cast) -> None:
    """The signed version stays the newest: a report never takes a signature away."""
    (old,) = cast.mateo.restrictions.all()
    done = written(cast.mateo, cast.rosa, "peanut-allergy")
    assert (done.recorded, done.kept) == ((), (old,))


def test_a_stricter_report_makes_a_stricter_version(cast: Cast) -> None:
    """On the same paper as before."""
    first = written(cast.bao, cast.rosa, "lactose-intolerance").recorded[0]
    second = written(cast.bao, cast.rosa, "lactose-intolerance", strictness="trace").recorded[0]
    assert (second.replaces, second.strictness, second.chain) == (first, "trace", first.pk)


def test_a_milder_report_changes_nothing(cast: Cast) -> None:
    """Whatever the family says at the door, it takes a licensed person to relax."""
    first = written(cast.bao, cast.rosa, "lactose-intolerance", strictness="trace").recorded[0]
    assert written(cast.bao, cast.rosa, "lactose-intolerance").kept == (first,)


def test_health_and_faith_stand_apart(cast: Cast) -> None:
    """The end of the one must not be the end of the other."""
    written(cast.bao, cast.rosa, "adventist")
    written(cast.bao, cast.rosa, "other-food-allergy", "pork")
    assert sorted(each.basis for each in today(cast.bao) if each.substance == "pork") == ["religious", "reported"]


def test_what_people_see_to_stands_beside_the_substances(cast: Cast) -> None:
    """A kind that is looked after in part: one line for the check, one for people."""
    done = written(cast.bao, cast.rosa, "phenylketonuria", told="Counted portions from the family's box only.")
    assert [each.told for each in done.recorded if not each.substance] == [
        "Counted portions from the family's box only."
    ]
    day = timezone.localdate()
    looked_for = Restriction.objects.in_force(day, day, timezone.now()).filter(child=cast.bao)
    assert {each.substance for each in looked_for} == {"aspartame", "phenylalanine"}


def test_a_report_of_nothing_is_refused(cast: Cast) -> None:
    """It would look like protection."""
    with pytest.raises(ValidationError, match="Name at least one food"):
        written(cast.bao, cast.rosa, "fpies")


def test_one_bad_substance_saves_none(cast: Cast) -> None:
    """All of it or nothing."""
    with pytest.raises(ValidationError):
        written(cast.bao, cast.rosa, "milk-allergy", "sesamee")
    assert not today(cast.bao)
