"""Change the usual order of work of a meal, and put back the one before it. Rows give way to rows; none is edited."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import copy
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from menus.models import PlanStep, Site
from menus.signals import facts_changed


@transaction.atomic
def change_plan(*, site: Site, meal: str, withdraw: Iterable[int], write: Sequence[PlanStep]) -> datetime:
    """Withdraw rows of the meal's order of work, by their ids, write others in their place, and return the moment.

    The order that stood until now stays on record, and what was due before now stays as it was planned then. Raises
    ValidationError when one of the rows no longer stands (somebody changed the order meanwhile), when a new row is not
    valid or not of this meal and site, and when there is nothing to change.
    """
    Site.objects.select_for_update(no_key=True).get(pk=site.pk)
    wanted = set(withdraw)
    standing = PlanStep.objects.filter(pk__in=wanted, site=site, meal=meal, withdrawn_at=None)
    if standing.count() != len(wanted):
        raise ValidationError(
            "The order of work of this meal was changed meanwhile. Nothing was changed now: look at it again.",
            code="order-changed",
        )
    if not wanted and not write:
        raise ValidationError("This is the order of work already, so nothing was changed.", code="order-same")
    moment = timezone.now()
    standing.update(withdrawn_at=moment)
    for row in write:
        _refuse_stranger(row, site, meal)
        row.pk, row.since, row.withdrawn_at = None, moment, None
        row.full_clean()
        row.save(force_insert=True)
    _tell(site, moment)
    return moment


def last_change(site: Site, meal: str) -> datetime | None:
    """Return when the meal's order of work was last changed, or None when it always was what it is. One query."""
    rows = PlanStep.objects.filter(site=site, meal=meal)
    moments = rows.aggregate(written=Max("since"), withdrawn=Max("withdrawn_at"))
    return max(filter(None, moments.values()), default=None)


@transaction.atomic
def restore_plan(*, site: Site, meal: str, changed_at: datetime) -> datetime:
    """Put back the order of work that stood before the change of that moment, and return the moment at which.

    Raises ValidationError when the order was changed again since.
    """
    Site.objects.select_for_update(no_key=True).get(pk=site.pk)
    if last_change(site, meal) != changed_at:
        raise ValidationError(
            "The order of work of this meal was changed again since. Nothing was put back: look at it again.",
            code="order-changed",
        )
    rows = PlanStep.objects.filter(site=site, meal=meal)
    before = [copy(row) for row in rows.filter(withdrawn_at=changed_at)]
    written = rows.filter(since=changed_at, withdrawn_at=None).values_list("pk", flat=True)
    for row in before:
        row._state.adding = True
    return change_plan(site=site, meal=meal, withdraw=list(written), write=before)


def _refuse_stranger(row: PlanStep, site: Site, meal: str) -> None:
    if row.site_id != site.pk or row.meal != meal or row.surface.site_id != site.pk:
        raise ValidationError(
            "“%(row)s” is not of this meal and this kitchen. Choose equipment of %(site)s.",
            code="order-stranger",
            params={"row": row, "site": site},
        )


def _tell(site: Site, moment: datetime) -> None:
    """Have the site checked again: one row of the change stands for all."""
    changed = (
        PlanStep.objects.filter(site=site, since=moment).first()
        or PlanStep.objects.filter(site=site, withdrawn_at=moment).first()
    )
    facts_changed.send(sender=PlanStep, instance=changed)
