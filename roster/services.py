"""Write to the roster: enrolments, restrictions, allowances. Each in one transaction."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from menus.labels.evidence import Kind
from menus.models import Label
from menus.signals import facts_changed
from roster.models import Allowance, Child, Classroom, Enrolment, Restriction, User

FAR = date.max


@transaction.atomic
def enrol(*, child: Child, classroom: Classroom, starts_on: date, ends_on: date | None = None) -> Enrolment:
    """Put the child into the classroom. Raises ValidationError when an enrolment of the child overlaps."""
    Child.objects.select_for_update().get(pk=child.pk)  # two enrolments at once must see each other
    enrolment = Enrolment(child=child, classroom=classroom, starts_on=starts_on, ends_on=ends_on)
    enrolment.full_clean()
    refuse_overlap(enrolment)
    enrolment.save()
    facts_changed.send(sender=Enrolment, instance=enrolment)
    return enrolment


def refuse_overlap(enrolment: Enrolment) -> None:
    """Raise ValidationError when the child is enrolled elsewhere on one of the days. One query."""
    others = Enrolment.objects.filter(child=enrolment.child).exclude(pk=enrolment.pk).select_related("classroom")
    other = others.during(enrolment.starts_on, enrolment.ends_on or FAR).first()
    if other:
        raise ValidationError(
            "%(child)s is already in %(room)s from %(start)s to %(end)s. "
            "End that enrolment the day before this one begins.",
            code="enrolment-overlap",
            params={
                "child": enrolment.child,
                "room": other.classroom,
                "start": other.starts_on.isoformat(),
                "end": other.ends_on.isoformat() if other.ends_on else "no set end",
            },
        )


@transaction.atomic
def record_restriction(
    *, child: Child, substance: str, replaces: Restriction | None = None, **fields: Any
) -> Restriction:
    """Record what the child may not have; it protects from this moment.

    `fields` are those of Restriction: strictness, basis, starts_on, ends_on, note, recorded_by. With `replaces` it is
    the next version of that restriction, in its place from this moment. Raises ValidationError for an unknown
    substance, a replaced version, or a next version that would leave days without protection.
    """
    restriction = Restriction(child=child, substance=substance, replaces=replaces, **fields)
    restriction.full_clean()
    if replaces:
        _refuse_gap(restriction, replaces)
    if restriction.starts_on and restriction.ends_on and restriction.ends_on < restriction.starts_on:
        raise ValidationError(
            {"ends_on": "The restriction would end before it begins. Give a last day on or after its first."}
        )
    restriction.save()
    facts_changed.send(sender=Restriction, instance=restriction)
    return restriction


def _refuse_gap(new: Restriction, old: Restriction) -> None:
    if (new.child_id, new.substance) != (old.child_id, old.substance):
        raise ValidationError(
            "The next version of a restriction is of the same child and substance. Record another restriction instead.",
            code="restriction-other",
        )
    if (new.starts_on or date.min) > (old.starts_on or date.min):
        raise ValidationError(
            {"starts_on": "Until that day nothing would protect the child. Leave the first day as it was, or empty."}
        )


@transaction.atomic
def sign_allowance(
    *,
    child: Child,
    substance: str,
    kind: Kind,
    about: str = "",
    label: Label | None,
    starts_on: date,
    ends_on: date,
    signed_by: User,
    signature: str,
) -> Allowance:
    """Record a licensed person's narrow relaxation. Raises ValidationError when it is not narrow, dated and signed.

    The caller has made sure that `signed_by` is licensed for the child's site.
    """
    allowance = Allowance(
        child=child,
        substance=substance,
        kind=kind.value,
        about=about,
        label=label,
        starts_on=starts_on,
        ends_on=ends_on,
        signed_by=signed_by,
        signature=signature,
    )
    allowance.full_clean()
    allowance.save()
    facts_changed.send(sender=Allowance, instance=allowance)
    return allowance
