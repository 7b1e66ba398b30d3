"""Kitchens whose equipment says what the last check read of it, so that only what changed is to be followed there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, time

from compliance.checks.bulk.kitchens import MADE_ANEW
from compliance.checks.load import LOOK_BACK
from compliance.models import Run
from menus.models import Delivery, KitchenEvent, PlanStep, Site
from menus.models.event import KitchenEventQuerySet


def as_read(sites: Sequence[Site], runs: Mapping[int, Run], now: datetime) -> set[int]:
    """Return the ids of those of the sites where nothing came due, began or was dropped since the check that stands.

    `runs`: that check by site, made on the site's present day. A site that other kitchens bring dishes to, or where a
    dish was made anew, is none of them. Three queries.
    """
    by_pk = {site.pk: site for site in sites}
    otherwise = set(Delivery.objects.standing().filter(site__in=by_pk).values_list("site", flat=True))
    otherwise.update(_lately(sites, now).filter(kind__in=MADE_ANEW).order_by().values_list("site", flat=True))
    steps = PlanStep.objects.filter(site__in=by_pk).order_by()
    for pk, at, since, withdrawn in steps.values_list("site", "at", "since", "withdrawn_at"):
        read_at, zone = runs[pk].as_of, by_pk[pk].zone
        came_due = read_at.astimezone(zone).time() < at <= now.astimezone(zone).time()
        if came_due or any(moment and read_at < moment <= now for moment in (since, withdrawn)):
            otherwise.add(pk)
    return by_pk.keys() - otherwise


def meeting(sites: Sequence[Site], recipes: Mapping[int, Iterable[int]], now: datetime) -> set[int]:
    """Return the ids of those of the sites where one of the recipes (by site) is on the line. Two queries."""
    wanted = {(site.pk, recipe) for site in sites for recipe in recipes[site.pk]}
    every = {recipe for _, recipe in wanted}
    steps = PlanStep.objects.filter(site__in=sites, recipe__in=every).order_by().values_list("site", "recipe")
    events = _lately(sites, now).filter(serving__recipe__in=every).order_by().values_list("site", "serving__recipe")
    return {site for site, recipe in {*steps.distinct(), *events.distinct()} if (site, recipe) in wanted}


def _lately(sites: Sequence[Site], now: datetime) -> KitchenEventQuerySet:
    """Records of the sites, as far back as a check looks."""
    begins = [datetime.combine(now.astimezone(each.zone).date() - LOOK_BACK, time.min, each.zone) for each in sites]
    return KitchenEvent.objects.known(now, min(begins, default=now)).filter(site__in=sites)
