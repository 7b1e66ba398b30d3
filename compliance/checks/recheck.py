"""Which sites a new fact bears on, so that they are checked again at once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from functools import cache
from typing import Any

from django.db import transaction
from django.db.models import Model, Q, QuerySet
from django.utils import timezone

from compliance.checks.children import children_at, periods
from compliance.checks.codec import fingerprint, type_json
from compliance.checks.load import load
from compliance.models import Run, RunRestriction
from menus.models import KitchenEvent, Label, PlanStep, Serving, Site
from menus.services.servings import out_of_step
from roster.models import Allowance, AllowanceWithdrawal, Child, Enrolment, Restriction


def sites_touched(fact: Model) -> QuerySet[Site]:
    """Return the sites that the fact bears on; all of them when it may bear on any, as a kitchen's label may."""
    match fact:
        case Enrolment():
            return Site.objects.filter(classrooms=fact.classroom_id)
        case Child():
            return Site.objects.filter(classrooms__enrolments__child=fact.pk).distinct()
        case Restriction() | Allowance() | AllowanceWithdrawal():
            return Site.objects.filter(classrooms__enrolments__child=fact.child_id).distinct()
        case Serving():
            return _beside(fact.site_id)
        case PlanStep() | KitchenEvent():
            return Site.objects.filter(Q(pk=fact.site_id) | Q(delivered__kitchen=fact.site_id)).distinct()
        case Label() if fact.product.is_treat:
            return Site.objects.none()  # a treat stands in no recipe
        case _:
            return Site.objects.all()


def _beside(site: int) -> QuerySet[Site]:
    """The site, and all that share a kitchen with it: what is cooked for one meets what is cooked for the others."""
    shares = Q(pk=site) | Q(delivered__kitchen=site) | Q(deliveries__site=site)
    return Site.objects.filter(shares | Q(delivered__kitchen__deliveries__site=site)).distinct()


def checked_since(site: Site, changed_at: datetime) -> bool:
    """Tell whether a check of today's window read everything up to that moment: one serves many changes."""
    return Run.objects.complete().covering(_today(site)).filter(site=site, as_of__gte=changed_at).exists()


def unread_changes(site: Site) -> bool:
    """Tell whether a check would now read other facts than the last one did: a message may never have arrived.

    So it is when a command records facts in a process of its own, without a broker, or while the broker is away. The
    facts themselves are compared, since a long import is through only after the moment at which it recorded them.
    """
    run = Run.objects.covering(_today(site)).newest_for(site)
    if run is None:
        return False  # a day never checked is the schedule's to find
    first, last, now = run.first_day, run.last_day, timezone.now()
    if out_of_step(site, _today(site), last):
        return True
    inputs = load(site, first, last, now).inputs
    return any(run.inputs.get(name) != read for name, read in inputs.items()) or _read_types(run) != {
        (period.restriction.pk, fingerprint(type_json(period.type)), period.first, period.last)
        for period in periods(children_at(site, first, last), first, last, now)
    }


def _today(site: Site) -> date:
    return timezone.now().astimezone(site.zone).date()


def _read_types(run: Run) -> set[tuple[int, str, date, date]]:
    read = RunRestriction.objects.filter(run=run.same_as_id or run.pk)
    return set(read.values_list("restriction", "type__key", "first_day", "last_day"))


@cache
def _queueing(site: int) -> Callable[[], None]:
    """Return what puts the site on the queue; the same for the same site, so that it can be told to wait already."""

    def queue_site() -> None:
        from compliance.tasks import recheck  # the task's module imports this one

        recheck.delay(site, timezone.now().isoformat())

    return queue_site


def queue_recheck(*, instance: Model, **_: Any) -> None:
    """Have the sites that a new fact bears on checked again, once its transaction is through.

    An import records hundreds of facts in one transaction and queues each site once. A broker that cannot be reached is
    logged and no more: the fact is saved by then, and the nightly check reads it.
    """
    for site in sites_touched(instance):
        queue = _queueing(site.pk)
        # What waits already goes only when a savepoint is rolled back that holds the present fact as well.
        if not any(hook is queue for _, hook, _ in transaction.get_connection().run_on_commit):
            transaction.on_commit(queue, robust=True)
