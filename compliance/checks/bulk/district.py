"""Work out the verdicts of many sites together: what their kitchens share is read, folded and judged once.

A site whose dishes meet equipment on record, come from another kitchen or are judged together with their meal has
dishes of its own. Every other site serves the recipes as they are folded.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any

from compliance.checks.bulk.kitchens import as_prepared, facts_of
from compliance.checks.bulk.larder import Larder, read_larder
from compliance.checks.bulk.panel import widened
from compliance.checks.bulk.spans import Span, spans
from compliance.checks.bulk.table import Served, Table
from compliance.checks.facts import Facts
from compliance.checks.meals import with_meals
from compliance.checks.prepare import prepared
from compliance.rules.values import RestrictionType
from menus.kitchen.recipes import Pieces
from menus.models import Delivery, KitchenEvent, PlanStep, Serving, Site
from menus.substances.combinations import combinations


def judge_sites(sites: Sequence[Site], first: date, last: date, at: datetime, larder: Larder | None = None) -> Table:
    """Return the verdicts of these sites between two days, both included, as known at that moment.

    `larder`: the food as it stood then, where it was read before. Some twenty queries, whatever the size. Raises
    RecipeCycle when a recipe that one of them serves holds itself.
    """
    food = larder or read_larder(at)
    read = spans(sites, first, last, at)
    table = Table(first, last, at, food, read, widened(_types(span for found in read.values() for span in found)))
    apart = alone(sites, read)
    _add_shared(table, [site for site in sites if site.pk not in apart])
    if own := [site for site in sites if site.pk in apart]:
        for pk, facts in facts_of(own, food, first, last, at).items():
            made = as_prepared(facts, food, table.today(facts.site))
            _add_own(table, facts, {each: pieces for each, pieces in made.items() if each.date >= first})
            table.inputs[pk] = facts.inputs
    table.judge()
    return table


def judge_again(facts: Facts, read: list[Span], first: date, last: date, larder: Larder) -> Table:
    """Return the verdicts of one site from facts that were read again, each dish worked out by itself."""
    table = Table(first, last, facts.at, larder, {facts.site.pk: read}, _types(read))
    made = prepared(facts, table.today(facts.site))
    _add_own(table, facts, {each: pieces for each, pieces in made.items() if first <= each.date <= last})
    table.judge()
    return table


def inputs_of(
    sites: Sequence[Site], read: dict[int, list[Span]], first: date, last: date, at: datetime, larder: Larder
) -> dict[int, dict[str, Any]]:
    """Return what a check of each site would read beside the food and the restrictions, without judging it."""
    apart = alone(sites, read)
    shared: dict[int, list[int]] = {site.pk: [] for site in sites if site.pk not in apart}
    planned = Serving.objects.planned().filter(site__in=shared).between(first, last)
    for site, serving in planned.values_list("site", "pk"):
        shared[site].append(serving)
    own = [site for site in sites if site.pk in apart]
    kitchens = facts_of(own, larder, first, last, at) if own else {}
    return {pk: _nothing_but(servings) for pk, servings in shared.items()} | {
        pk: facts.inputs for pk, facts in kitchens.items()
    }


def alone(sites: Sequence[Site], read: dict[int, list[Span]]) -> set[int]:
    """Return the ids of the sites that have dishes of their own."""
    pks = {site.pk for site in sites}
    delivered = Delivery.objects.standing().filter(site__in=pks).values_list("site", flat=True)
    steps = PlanStep.objects.filter(site__in=pks).order_by().values_list("site", flat=True).distinct()
    events = KitchenEvent.objects.filter(site__in=pks).order_by().values_list("site", flat=True).distinct()
    meals = {site for site, found in read.items() if any(span.type.substance in combinations() for span in found)}
    return {*delivered, *steps, *events, *meals}


def _add_shared(table: Table, sites: Sequence[Site]) -> None:
    """Add the sites that serve the recipes as they are: one dish for each recipe, law and day of the check."""
    by_site = {site.pk: site for site in sites}
    planned = Serving.objects.planned().filter(site__in=sites).between(table.first, table.last).order_by("pk")
    rows = list(planned.values_list("pk", "site", "date", "recipe", "recipe__name"))
    served: dict[int, list[Served]] = {pk: [] for pk in by_site}
    wanted = {recipe for *_, recipe, _ in rows}
    for serving, pk, day, recipe, name in rows:
        served[pk].append((serving, day, table.shared(by_site[pk], recipe, name, wanted)))
    for pk, found in served.items():
        table.served[pk] = found
        table.inputs[pk] = _nothing_but([serving for serving, _, _ in found])


def _add_own(table: Table, facts: Facts, made: dict[Serving, Pieces]) -> None:
    """Add a site with dishes of its own: equal ones stand once, and what is as its recipe stands with all others'."""
    site = facts.site
    meals = with_meals(made, _types(table.spans[site.pk]))
    table.served[site.pk] = [
        (serving.pk, serving.date, table.own(site, serving.recipe_id, pieces)) for serving, pieces in meals.items()
    ]


def _types(found: Iterable[Span]) -> list[RestrictionType]:
    return list(dict.fromkeys(span.type for span in found))


def _nothing_but(servings: list[int]) -> dict[str, Any]:
    """What a check has read of a site without records of equipment, plan or delivery: see Facts.inputs."""
    empty: dict[str, Any] = {name: [] for name in ("steps", "deliveries", "events", "surfaces", "airborne", "not_done")}
    return {"servings": sorted(servings), **empty, "left_over": {}}
