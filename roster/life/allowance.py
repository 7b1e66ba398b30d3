"""Where a child's allowances stand, and how licensed staff take one back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.db.models import QuerySet

from menus.models import Label
from menus.signals import facts_changed
from roster.life.statement import refuse_unlicensed
from roster.models import Allowance, AllowanceWithdrawal, Child, Restriction, User, Verb
from roster.record.write import record


class Standing(models.TextChoices):
    """Where an allowance stands on a day. Only the first of them relaxes anything."""

    APPLIES = "applies", "Applies"
    AHEAD = "ahead", "Begins later"
    NEW_LABEL = "new-label", "No longer applies: new label"
    OVER = "over", "Its last day is past"
    ENDED = "ended", "Ended with the restriction"
    WITHDRAWN = "withdrawn", "Withdrawn"


@dataclass(frozen=True, slots=True)
class Signed:
    """One allowance, where it stands on a day, and the label version that took the place of its own."""

    allowance: Allowance
    standing: Standing
    newer: Label | None = None

    @property
    def can_be_withdrawn(self) -> bool:
        """Whether there is anything left to take back."""
        return self.standing in (Standing.APPLIES, Standing.AHEAD, Standing.NEW_LABEL)


def allowances_of(children: QuerySet[Child], day: date, at: datetime) -> list[Signed]:
    """Return every allowance of the children, the newest first, as it stands on that day. Three queries.

    What was recorded after the moment `at` is not known yet.
    """
    signed = list(
        Allowance.objects.filter(restriction__child__in=children, recorded_at__lte=at)
        .select_related("restriction__child", "label__product", "signed_by", "withdrawal__withdrawn_by")
        .order_by("-recorded_at", "-pk")
    )
    held = {version.chain: version for version in Restriction.objects.known(at).filter(child__in=children)}
    newest = _newest_labels(signed, at)
    return [
        _signed(each, day, held.get(each.restriction.chain), newest.get(each.label.product_id) if each.label else None)
        for each in signed
    ]


def void_by_label(children: QuerySet[Child], day: date, at: datetime) -> list[Signed]:
    """Return those whose label version is no longer the newest: licensed staff decide anew, or withdraw them."""
    return [each for each in allowances_of(children, day, at) if each.standing == Standing.NEW_LABEL]


@transaction.atomic
def withdraw_allowance(*, allowance: Allowance, reason: str, withdrawn_by: User, signature: str) -> AllowanceWithdrawal:
    """Take an allowance back from this moment; menus are checked again. Only licensed staff do.

    Raises PermissionDenied, and ValidationError without reason or signature, or when it was withdrawn already.
    """
    refuse_unlicensed(withdrawn_by, allowance.child)
    Allowance.objects.select_for_update().get(pk=allowance.pk)  # two withdrawals at once must see each other
    earlier = AllowanceWithdrawal.objects.filter(allowance=allowance).select_related("withdrawn_by").first()
    if earlier:
        raise ValidationError(
            "%(who)s has withdrawn this allowance already. Look at the list of allowances to see why.",
            code="withdrawn",
            params={"who": earlier.withdrawn_by},
        )
    withdrawal = AllowanceWithdrawal(
        allowance=allowance, reason=reason.strip(), withdrawn_by=withdrawn_by, signature=signature.strip()
    )
    withdrawal.full_clean()
    withdrawal.save()
    facts_changed.send(sender=AllowanceWithdrawal, instance=withdrawal)
    child = allowance.child
    record(
        Verb.ENDED,
        allowance,
        site=child.site,
        child=child,
        by=withdrawn_by.pk,
        reason=withdrawal.reason,
        signature=withdrawal.signature,
    )
    return withdrawal


def _newest_labels(signed: Iterable[Allowance], at: datetime) -> dict[int, Label]:
    products = {each.label.product_id for each in signed if each.label}
    return {label.product_id: label for label in Label.objects.current(at).filter(product__in=products)}


def _signed(allowance: Allowance, day: date, version: Restriction | None, newest: Label | None) -> Signed:
    if allowance.end:
        return Signed(allowance, Standing.WITHDRAWN)
    if version is None or version.has_ended_by(day):
        return Signed(allowance, Standing.ENDED)
    if allowance.ends_on < day:
        return Signed(allowance, Standing.OVER)
    if newest and newest.pk != allowance.label_id:
        return Signed(allowance, Standing.NEW_LABEL, newest)
    return Signed(allowance, Standing.AHEAD if day < allowance.starts_on else Standing.APPLIES)
