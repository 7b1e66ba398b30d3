"""Approve a product for a room, and end an approval. Without one a spread in place of peanut butter is referred."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from menus.models import Label, Product, Site
from roster.access import may
from roster.models import Classroom, RoomApproval, RoomApprovalEnd, User, Verb
from roster.permits import Act, Thing
from roster.record.write import record


def approved_labels(classroom: Classroom, day: date) -> set[int]:
    """Return the ids of the label versions approved for the room on that day. One query."""
    standing = RoomApproval.objects.for_room(classroom).standing(day)
    return set(standing.values_list("label", flat=True))


def approvals_in(classroom: Classroom, day: date, at: datetime) -> list[RoomApproval]:
    """Return what counts for the room on that day: of products whose newest label is the one approved. One query."""
    standing = RoomApproval.objects.for_room(classroom).standing(day).filter(label__in=Label.objects.current(at))
    return list(standing.select_related("product", "classroom"))


@transaction.atomic
def approve_product(
    *,
    site: Site,
    classrooms: Iterable[Classroom | None],
    product: Product,
    label: Label | None,
    starts_on: date,
    ends_on: date,
    approved_by: User,
    signature: str,
) -> list[RoomApproval]:
    """Record that the product, as this label says, may come to these rooms; None stands for every room of the site.

    Raises PermissionDenied for whoever may not, ValidationError when the label looked at is not the newest one, or the
    days do not fit.
    """
    _require(approved_by, site)
    newest = Label.objects.current(timezone.now()).filter(product=product).first()
    if newest is None or not newest.is_read:
        raise ValidationError(
            "No label of this product is on record, so nobody knows what would be approved. Record its label first.",
            code="no-label",
        )
    if newest != label:
        raise ValidationError(
            "A newer label of this product was recorded meanwhile. Look at it, then approve it.", code="stale"
        )
    made = [
        RoomApproval(
            site=site,
            classroom=classroom,
            product=product,
            label=newest,
            starts_on=starts_on,
            ends_on=ends_on,
            approved_by=approved_by,
            signature=signature,
        )
        for classroom in classrooms
    ]
    for approval in made:
        approval.full_clean()
        approval.save()
    record(
        Verb.RECORDED,
        "room approval",
        site=site,
        by=approved_by.pk,
        product=product.pk,
        label=newest.pk,
        rooms=[approval.classroom_id for approval in made],
        starts_on=starts_on,
        ends_on=ends_on,
        signature=signature,
    )
    return made


@transaction.atomic
def end_approval(*, approval: RoomApproval, reason: str, ended_by: User) -> RoomApprovalEnd:
    """End an approval from this moment. Raises PermissionDenied, and ValidationError when it has ended already."""
    _require(ended_by, approval.site)
    if RoomApprovalEnd.objects.filter(approval=approval).exists():
        raise ValidationError("This approval was ended already. Nothing was changed.", code="ended")
    end = RoomApprovalEnd(approval=approval, reason=reason, ended_by=ended_by)
    end.full_clean()
    end.save()
    record(Verb.ENDED, approval, site=approval.site, by=ended_by.pk, reason=reason)
    return end


def _require(user: User, site: Site) -> None:
    if not may(user, Thing.APPROVAL, Act.CHANGE, site=site):
        raise PermissionDenied("Only licensed staff and administrators of the site approve products for its rooms.")
