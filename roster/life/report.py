"""Write down what somebody reports that a child may not have. It protects at once, and never makes anything milder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from roster.access import children_to_report, own_children
from roster.kinds.days import SetDays
from roster.kinds.kind import RestrictionKind
from roster.models import Basis, Child, Restriction, Strictness, User
from roster.models.restriction import MEDICAL
from roster.services import record_restriction


@dataclass(frozen=True, slots=True)
class Said:
    """What is reported: of one kind, each substance as a person confirmed it; `told` is what no check can look for.

    Where nobody has said the kind yet, `basis` says on whose word it rests.
    """

    kind: RestrictionKind | None
    substances: Sequence[str]
    strictness: str = Strictness.TRACE
    days: str = SetDays.EVERY
    told: str = ""
    note: str = ""
    starts_on: date | None = None
    ends_on: date | None = None
    basis: str = Basis.REPORTED

    @property
    def ground(self) -> str:
        """On whose word it rests. A matter of health is reported, until a signed statement is held."""
        basis = self.kind.basis if self.kind else self.basis
        return Basis.REPORTED if basis in MEDICAL else basis

    @property
    def is_medical(self) -> bool:
        """Whether it rests on the child's health."""
        return self.ground in MEDICAL


@dataclass(frozen=True, slots=True)
class Report:
    """What came of it: versions recorded now, and those on record that reach as far already."""

    recorded: tuple[Restriction, ...]
    kept: tuple[Restriction, ...]


@transaction.atomic
def report(*, child: Child, said: Said, reported_by: User) -> Report:
    """Record one restriction for each substance, and one without a substance for what no check can look for.

    What is on record as strictly already is kept as it is; what is on record less strictly gets a stricter version.
    Raises PermissionDenied for a child about whom the person may not write, ValidationError when nothing is named.
    """
    if not (children_to_report(reported_by) | own_children(reported_by)).filter(pk=child.pk).exists():
        raise PermissionDenied("You may write down reports about children of your own classes and sites only.")
    return protect(child=child, said=said, reported_by=reported_by)


@transaction.atomic
def protect(*, child: Child, said: Said, reported_by: User | None) -> Report:
    """As `report`, for a caller who has made sure that the person may tell of this child, such as after an incident."""
    if not said.substances and not said.told.strip():
        raise ValidationError(
            "Name at least one food or substance, or write what whoever serves the child is to see to.", code="nothing"
        )
    Child.objects.select_for_update(no_key=True).get(pk=child.pk)  # two reports at once must see each other
    standing = _standing(child, said)
    codes = dict.fromkeys([*said.substances, *([""] if said.told.strip() else [])])
    done = [_one(child, said, code, standing.get(code), reported_by) for code in codes]
    return Report(
        tuple(each for each, is_new in done if is_new),
        tuple(each for each, is_new in done if not is_new),
    )


def _standing(child: Child, said: Said) -> dict[str, Restriction]:
    """Those on the same ground, medical or not, and the same days: what ends the one must not end the other."""
    today = child.today
    rows = Restriction.objects.known(timezone.now()).filter(child=child).order_by("pk")
    return {
        each.substance: each
        for each in rows
        if each.is_medical == said.is_medical and not each.ends_on and (each.starts_on or today) <= today
        if (each.substance or each.told == said.told.strip()) and each.days in (SetDays.EVERY, said.days)
    }


def _one(
    child: Child, said: Said, substance: str, old: Restriction | None, reported_by: User | None
) -> tuple[Restriction, bool]:
    if old is None:
        first: dict[str, Any] = {
            "kind": said.kind.code if said.kind else "",
            "strictness": said.strictness,
            "basis": said.ground,
            "days": said.days,
            "told": "" if substance else said.told.strip(),
            "note": said.note.strip(),
            "starts_on": said.starts_on,
            "ends_on": said.ends_on,
        }
        return record_restriction(child=child, substance=substance, recorded_by=reported_by, **first), True
    if _reach(said.strictness) <= _reach(old.strictness):
        return old, False
    stricter: dict[str, Any] = {"strictness": said.strictness, "note": said.note.strip() or old.note}
    return record_restriction(child=child, substance=substance, replaces=old, recorded_by=reported_by, **stricter), True


def _reach(strictness: str) -> int:
    return (Strictness.INGREDIENT, Strictness.TRACE).index(Strictness(strictness))
