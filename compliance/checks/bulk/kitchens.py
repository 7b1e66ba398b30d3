"""The facts of many kitchens at once: for each site what `compliance.checks.load.load` reads for it alone."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any, TypeVar

from django.db.models import Model, Q, QuerySet

from compliance.checks.bulk.larder import Larder
from compliance.checks.engineline import engine_events, surface_facts
from compliance.checks.facts import Facts
from compliance.checks.kitchens import brought
from compliance.checks.load import LOOK_BACK, load, related
from compliance.checks.prepare import Work, prepared, unknown
from menus.kitchen.circle import Circle, circle
from menus.kitchen.events import Clean, Contact, Event
from menus.kitchen.recipes import Pieces
from menus.kitchen.surfaces import SurfaceFacts
from menus.models import Deed, Delivery, KitchenEvent, PlanStep, Recipe, Serving, Site

Row = TypeVar("Row", bound=Model)

MADE_ANEW = (Deed.SWAP, Deed.LEFTOVER)
"""Records after which a dish is no longer its recipe."""


@dataclass(frozen=True, slots=True)
class _Read:
    """Rows of all the kitchens concerned, by site; deliveries by the site that they go to and by the kitchen."""

    delivered: dict[int, list[Delivery]]
    delivering: dict[int, list[Delivery]]
    servings: dict[int, list[Serving]]
    steps: dict[int, list[PlanStep]]
    events: dict[int, list[KitchenEvent]]


def facts_of(sites: Sequence[Site], larder: Larder, first: date, last: date, at: datetime) -> dict[int, Facts]:
    """Return the facts of a check of each site, by its id. Seven queries, and those of `load` for leftovers."""
    read = _read(sites, first, last, at)
    return {site.pk: _facts(site, larder, read, first, last, at) for site in sites}


def as_prepared(facts: Facts, larder: Larder, today: date) -> dict[Serving, Pieces]:
    """Return what `compliance.checks.prepare.prepared` returns, from recipes that are folded already.

    Only what stands on the line is followed: nothing else meets any equipment.
    """
    if any(facts.records(kind) for kind in MADE_ANEW):
        return prepared(facts, today)
    line = events_of(facts)
    on_it = {event.dish for event in line if not isinstance(event, Clean | Contact)}
    made = _made(facts, facts.dishes, larder, today)
    carried = _carried(facts, line, {pk: pieces for pk, pieces in made.items() if pk in on_it})
    return {serving: carried.get(serving.pk, made[serving.pk]) for serving in facts.servings}


def among(facts: Facts, circle: Circle, larder: Larder, today: date) -> dict[int, Pieces]:
    """Return the same of the dishes that hang together, by serving, where no dish was made anew."""
    return _carried(facts, circle.events, _made(facts, circle.dishes, larder, today))


def circle_of(facts: Facts, recipes: Collection[int]) -> Circle:
    """Return what hangs together with the dishes of these recipes."""
    dishes = {pk for pk, dish in facts.dishes.items() if dish.recipe_id in recipes}
    return circle(events_of(facts), _surfaces(facts), dishes)


def events_of(facts: Facts) -> list[Event]:
    """Return what stands on the lines of all kitchens, as the engine takes it."""
    return [event for kitchen in facts.kitchens for event in engine_events(kitchen, facts.lines[kitchen.site.pk])]


def _made(facts: Facts, dishes: Iterable[int], larder: Larder, today: date) -> dict[int, Pieces]:
    """What is in each of the dishes before it meets any equipment."""
    recipes = {pk: facts.dishes[pk].recipe for pk in dishes}
    folded = larder.folded(facts.site, today, {recipe.pk for recipe in recipes.values()})
    return {pk: folded.get(recipe.pk, unknown(recipe.name)) for pk, recipe in recipes.items()}


def _carried(facts: Facts, events: list[Event], dishes: dict[int, Pieces]) -> dict[int, Pieces]:
    names = {pk: facts.dishes[pk].recipe.name for pk in dishes}
    return Work(dishes, names, events, _surfaces(facts)).carried()


def _surfaces(facts: Facts) -> dict[int, SurfaceFacts]:
    return {pk: surface_facts(surface) for pk, surface in facts.surfaces.items()}


def _read(sites: Sequence[Site], first: date, last: date, at: datetime) -> _Read:
    pks = [site.pk for site in sites]
    cooking = {*pks, *Delivery.objects.standing().filter(site__in=pks).values_list("kitchen", flat=True)}
    deliveries = Delivery.objects.standing().filter(Q(site__in=pks) | Q(kitchen__in=cooking))
    deliveries = deliveries.select_related("kitchen").order_by("pk")
    places = cooking | {each.site_id for each in deliveries}
    begin = first - LOOK_BACK
    # Of all the zones the earliest midnight; each site's own is seen to below.
    since = min(datetime.combine(begin, time.min, site.zone) for site in sites)
    planned = Serving.objects.planned().filter(site__in=places).between(begin, last).order_by("pk")
    events = KitchenEvent.objects.known(at, since).filter(site__in=cooking)
    steps = PlanStep.objects.filter(Q(withdrawn_at=None) | Q(withdrawn_at__gt=since), site__in=cooking)
    return _Read(
        delivered=_by(deliveries, lambda row: row.site_id),
        delivering=_by(deliveries, lambda row: row.kitchen_id),
        servings=_by(_with_shared(planned), lambda row: row.site_id),
        steps=_by(steps.select_related("surface", "other_surface").order_by("pk"), lambda row: row.site_id),
        events=_by(related(events), lambda row: row.site_id),
    )


def _by(rows: Iterable[Row], key: Callable[[Row], int]) -> dict[int, list[Row]]:
    found: dict[int, list[Row]] = {}
    for row in rows:
        found.setdefault(key(row), []).append(row)
    return found


def _of(found: dict[int, list[Row]], keys: Iterable[int], order: Callable[[Row], Any]) -> list[Row]:
    return sorted((row for key in keys for row in found.get(key, ())), key=order)


def _with_shared(servings: QuerySet[Serving]) -> list[Serving]:
    """Read servings with recipe and site, each of which is read once, however many servings it has."""
    found = list(servings)
    recipes = Recipe.objects.in_bulk({each.recipe_id for each in found})
    sites = Site.objects.in_bulk({each.site_id for each in found})
    for each in found:
        each.recipe, each.site = recipes[each.recipe_id], sites[each.site_id]
    return found


def _facts(site: Site, larder: Larder, read: _Read, first: date, last: date, at: datetime) -> Facts:
    delivered = read.delivered.get(site.pk, [])
    kitchens = {site.pk} | {each.kitchen_id for each in delivered}
    deliveries = {each.pk: each for each in [*delivered, *_of(read.delivering, kitchens, _pk)]}
    since = datetime.combine(first - LOOK_BACK, time.min, site.zone)
    events = [
        each
        for each in _of(read.events, kitchens, lambda event: (event.happened_at, event.pk))
        if each.recorded_at >= since
    ]
    if any(event.kind == Deed.LEFTOVER for event in events):
        return load(site, first, last, at)
    fed = kitchens | {each.site_id for each in deliveries.values()}
    return Facts(
        site=site,
        at=at,
        servings=read.servings.get(site.pk, []),
        others=[
            each
            for each in _of(read.servings, fed - {site.pk}, _pk)
            if each.site_id in kitchens or any(brought(each, kitchen, deliveries.values()) for kitchen in kitchens)
        ],
        recipes=larder.recipes,
        products=larder.products,
        words=larder.words,
        steps=[
            each for each in _of(read.steps, kitchens, _pk) if each.withdrawn_at is None or each.withdrawn_at > since
        ],
        deliveries=[deliveries[pk] for pk in sorted(deliveries)],
        events=events,
        then={},
    )


def _pk(row: Model) -> int:
    key: int = row.pk
    return key
