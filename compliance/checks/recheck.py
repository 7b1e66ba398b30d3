"""Which sites a new fact bears on, so that they are checked again at once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import cache
from typing import Any

from django.db import transaction
from django.db.models import Model, QuerySet
from django.utils import timezone

from compliance.models import Run
from menus.models import Label, Product, RecipeVersion, Serving, Site
from roster.models import Allowance, Enrolment, Restriction


def sites_touched(fact: Model) -> QuerySet[Site]:
    """Return the sites that the fact bears on; all of them when it may bear on any, as a kitchen's label may."""
    match fact:
        case Enrolment():
            return Site.objects.filter(classrooms=fact.classroom_id)
        case Restriction() | Allowance():
            return Site.objects.filter(classrooms__enrolments__child=fact.child_id).distinct()
        case Serving():
            return Site.objects.filter(pk=fact.site_id)
        case Label() if fact.product.origin == Product.Origin.CLASSROOM:
            return Site.objects.none()  # a treat stands in no recipe
        case _:
            return Site.objects.all()


def checked_since(site: Site, changed_at: datetime) -> bool:
    """Tell whether a check that read everything up to that moment came to its end: one serves many changes."""
    return Run.objects.complete().filter(site=site, as_of__gte=changed_at).exists()


def unread_changes(site: Site) -> bool:
    """Tell whether a fact that bears on the site came after its last check: its message may never have arrived.

    So it is when a command records facts in a process of its own, without a broker, or while the broker is away.
    """
    run = Run.objects.newest_for(site)
    if run is None:
        return False  # a site never checked is the schedule's to find
    theirs = {"recorded_at__gt": run.as_of, "child__enrolments__classroom__site": site}
    labels = Label.objects.filter(recorded_at__gt=run.as_of).exclude(product__origin=Product.Origin.CLASSROOM)
    return (
        labels.exists()
        or RecipeVersion.objects.filter(recorded_at__gt=run.as_of).exists()
        or Restriction.objects.filter(**theirs).exists()
        or Allowance.objects.filter(**theirs).exists()
    )


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
