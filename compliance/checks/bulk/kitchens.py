"""The facts of many kitchens at once: for each site what `compliance.checks.load.load` reads for it alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from django.db.models import Q

from compliance.checks.bulk.larder import Larder
from compliance.checks.engineline import engine_events, surface_facts
from compliance.checks.facts import Facts
from compliance.checks.kitchens import brought
from compliance.checks.load import LOOK_BACK, load
from compliance.checks.prepare import Work, prepared
from menus.kitchen.events import Clean, Contact
from menus.kitchen.recipes import Pieces
from menus.labels.evidence import ANY, Evidence, Kind
from menus.models import Deed, Delivery, KitchenEvent, PlanStep, Serving, Site

MADE_ANEW = (Deed.SWAP, Deed.LEFTOVER)
"""Records after which a dish is no longer its recipe."""


@dataclass(frozen=True, slots=True)
class _Read:
    """Rows of all the kitchens concerned."""

    deliveries: list[Delivery]
    servings: list[Serving]
    steps: list[PlanStep]
    events: list[KitchenEvent]


def facts_of(sites: Sequence[Site], larder: Larder, first: date, last: date, at: datetime) -> dict[int, Facts]:
    """Return the facts of a check of each site, by its id. Five queries, and those of `load` for leftovers."""
    read = _read(sites, first, last, at)
    return {site.pk: _facts(site, larder, read, first, last, at) for site in sites}


def as_prepared(facts: Facts, larder: Larder, today: date) -> dict[Serving, Pieces]:
    """Return what `compliance.checks.prepare.prepared` returns, from recipes that are folded already.

    Only what stands on the line is followed: nothing else meets any equipment.
    """
    if any(facts.records(kind) for kind in MADE_ANEW):
        return prepared(facts, today)
    folded = larder.folded(facts.site, today)
    made = {pk: folded.get(dish.recipe_id, unknown(dish.recipe.name)) for pk, dish in facts.dishes.items()}
    line = [event for kitchen in facts.kitchens for event in engine_events(kitchen, facts.lines[kitchen.site.pk])]
    on_it = {event.dish for event in line if not isinstance(event, Clean | Contact)}
    carried = Work(
        dishes={pk: pieces for pk, pieces in made.items() if pk in on_it},
        names={pk: facts.dishes[pk].recipe.name for pk in on_it},
        events=line,
        surfaces={pk: surface_facts(surface) for pk, surface in facts.surfaces.items()},
    ).carried()
    return {serving: carried.get(serving.pk, made[serving.pk]) for serving in facts.servings}


def unknown(name: str) -> Pieces:
    """Return what is known of a dish of which nobody recorded what goes into it."""
    return (Evidence(ANY, Kind.UNIDENTIFIED, term=f"{name}: a recipe without lines"),)


def _read(sites: Sequence[Site], first: date, last: date, at: datetime) -> _Read:
    pks = [site.pk for site in sites]
    cooking = {*pks, *Delivery.objects.standing().filter(site__in=pks).values_list("kitchen", flat=True)}
    deliveries = Delivery.objects.standing().filter(Q(site__in=pks) | Q(kitchen__in=cooking))
    deliveries = deliveries.select_related("kitchen").order_by("pk")
    places = cooking | {each.site_id for each in deliveries}
    begin = first - LOOK_BACK
    # Of all the zones the earliest midnight; each site's own is seen to below.
    since = min(datetime.combine(begin, time.min, site.zone) for site in sites)
    planned = Serving.objects.planned().filter(site__in=places).between(begin, last)
    events = KitchenEvent.objects.known(at, since).filter(site__in=cooking)
    steps = PlanStep.objects.filter(Q(withdrawn_at=None) | Q(withdrawn_at__gt=since), site__in=cooking)
    named = ("surface", "other_surface", "serving__recipe", "batch__recipe", "step", "product_out", "product_in")
    return _Read(
        list(deliveries),
        list(planned.select_related("recipe", "site").order_by("pk")),
        list(steps.select_related("surface", "other_surface").order_by("pk")),
        list(events.select_related(*named, "site", "recorded_by").order_by("happened_at", "pk")),
    )


def _facts(site: Site, larder: Larder, read: _Read, first: date, last: date, at: datetime) -> Facts:
    kitchens = {site.pk} | {each.kitchen_id for each in read.deliveries if each.site_id == site.pk}
    deliveries = [each for each in read.deliveries if each.site_id == site.pk or each.kitchen_id in kitchens]
    since = datetime.combine(first - LOOK_BACK, time.min, site.zone)
    events = [each for each in read.events if each.site_id in kitchens and each.recorded_at >= since]
    if any(event.kind == Deed.LEFTOVER for event in events):
        return load(site, first, last, at)
    return Facts(
        site=site,
        at=at,
        servings=[each for each in read.servings if each.site_id == site.pk],
        others=[
            each
            for each in read.servings
            if each.site_id != site.pk
            and (each.site_id in kitchens or any(brought(each, kitchen, deliveries) for kitchen in kitchens))
        ],
        recipes=larder.recipes,
        products=larder.products,
        words=larder.words,
        steps=[
            each
            for each in read.steps
            if each.site_id in kitchens and (each.withdrawn_at is None or each.withdrawn_at > since)
        ],
        deliveries=deliveries,
        events=events,
        then={},
    )
