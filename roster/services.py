"""Write to the roster: restrictions and allowances. Each in one transaction."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from menus.labels.evidence import Kind
from menus.models import Label
from menus.signals import facts_changed
from roster.kinds.days import SetDays
from roster.models import Allowance, Child, Restriction, Strictness, User, Verb
from roster.record.write import record

CARRIED = (
    "kind",
    "strictness",
    "basis",
    "starts_on",
    "days",
    "told",
    "note",
    "statement",
    "review",
    "review_on",
)
"""What the next version of a restriction takes over where nothing else is said. A last day it never does."""


class StaleVersion(ValidationError):
    """Somebody recorded a newer version of the restriction meanwhile."""

    def __init__(self, old: Restriction, newer: Restriction) -> None:
        self.old, self.newer = old, newer
        super().__init__(
            "Nothing was saved: %(who)s recorded version %(newer)s of this restriction meanwhile, and what you saw was "
            "version %(old)s. Look at both, then decide again.",
            code="stale",
            params={"who": newer.recorded_by or "somebody", "newer": newer.number, "old": old.number},
        )


@transaction.atomic
def record_restriction(
    *, child: Child, substance: str, replaces: Restriction | None = None, **fields: Any
) -> Restriction:
    """Record what the child may not have; it protects from this moment.

    `fields` are those of Restriction. With `replaces` it is the next version of that restriction, in its place from
    this moment, and what is not given stays as it was (`CARRIED`). Raises StaleVersion when there is a next version
    already, ValidationError for an unknown substance, and for what would leave days without protection or make a
    medical restriction milder without a review. Who may do it is the caller's to see to (see `roster.life`).
    """
    had_ended = replaces is not None and replaces.has_ended_by(child.today)
    if replaces:
        _refuse_stale(replaces)
        if not had_ended:
            fields = {name: getattr(replaces, name) for name in CARRIED} | fields
    restriction = Restriction(child=child, substance=substance, replaces=replaces, **fields)
    restriction.full_clean()
    _refuse_unending(restriction)
    if replaces:
        _refuse_gap(restriction, replaces)
        if not had_ended:
            _refuse_milder(restriction, replaces)
    restriction.save()
    facts_changed.send(sender=Restriction, instance=restriction)
    record(
        Verb.ENDED if restriction.end_reason else Verb.RECORDED,
        restriction,
        site=child.site,
        child=child,
        by=restriction.recorded_by_id,
        before=_said(replaces) if replaces else None,
        after=_said(restriction),
    )
    return restriction


def _said(restriction: Restriction) -> dict[str, Any]:
    """What the record of actions keeps of a version."""
    names = ("number", "substance", *CARRIED, "ends_on", "end_reason", "signature")
    values = {name: getattr(restriction, f"{name}_id" if name in {"statement", "review"} else name) for name in names}
    return {name: value for name, value in values.items() if value not in (None, "")}


def _refuse_stale(old: Restriction) -> None:
    Restriction.objects.select_for_update().get(pk=old.pk)  # two versions at once must see each other
    newer = Restriction.objects.filter(replaces=old).select_related("recorded_by").first()
    if newer:
        raise StaleVersion(old, newer)


def _refuse_unending(new: Restriction) -> None:
    if new.starts_on and new.ends_on and new.ends_on < new.starts_on:
        raise ValidationError(
            {"ends_on": "The restriction would end before it begins. Give a last day on or after its first."}
        )
    if new.is_medical and new.ends_on and not new.end_reason:
        raise ValidationError(
            {"ends_on": "A medical restriction has no last day. Licensed staff end it, with a reason and a signature."}
        )
    if new.is_medical and new.days != SetDays.EVERY:
        raise ValidationError(
            {"days": "A medical restriction holds on every day. Set days are for what a family keeps."}
        )


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


def _refuse_milder(new: Restriction, old: Restriction) -> None:
    if not old.is_medical:
        return
    relaxed = old.strictness == Strictness.TRACE and new.strictness != Strictness.TRACE
    if not new.is_medical or (relaxed and new.review_id in (None, old.review_id)):
        raise ValidationError(
            "This would make a medical restriction milder. Licensed staff do that: by the review of a statement, or by "
            "a narrow allowance.",
            code="milder",
        )


@transaction.atomic
def sign_allowance(
    *,
    restriction: Restriction,
    kind: Kind,
    about: str = "",
    term: str = "",
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
        restriction=restriction,
        kind=kind.value,
        about=about,
        term=term,
        label=label,
        starts_on=starts_on,
        ends_on=ends_on,
        signed_by=signed_by,
        signature=signature,
    )
    allowance.full_clean()
    allowance.save()
    facts_changed.send(sender=Allowance, instance=allowance)
    record(
        Verb.RECORDED,
        allowance,
        site=allowance.child.site,
        child=allowance.child,
        by=signed_by.pk,
        restriction=restriction.pk,
        kind=allowance.kind,
        about=about,
        term=term,
        label=label.pk if label else None,
        starts_on=starts_on,
        ends_on=ends_on,
        signature=signature,
    )
    return allowance
