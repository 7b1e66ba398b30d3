"""Work out the verdicts of many sites together: what their kitchens share is read, folded and judged once.

A site whose dishes meet equipment on record, come from another kitchen or are judged together with their meal has
dishes of its own. Every other site serves the recipes as they are folded.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

import numpy as np

from compliance.checks.bulk.atoms import Atoms
from compliance.checks.bulk.codes import Codes
from compliance.checks.bulk.judge import judge_many
from compliance.checks.bulk.kitchens import as_prepared, facts_of, unknown
from compliance.checks.bulk.larder import Larder, read_larder
from compliance.checks.bulk.spans import Span, spans
from compliance.checks.meals import with_meals
from compliance.rules.values import RestrictionType
from menus.kitchen.recipes import Pieces
from menus.models import Delivery, KitchenEvent, PlanStep, Serving, Site
from menus.substances.combinations import combinations

Served = tuple[int, date, int]  # serving, its day, row of the dish


@dataclass(slots=True)
class Table:
    """The verdicts of some sites: a row of codes for each dish as prepared, a column for each restriction type."""

    spans: dict[int, list[Span]]  # by site
    types: list[RestrictionType]
    recipes: list[int] = field(default_factory=list)  # of each dish
    dishes: list[Pieces] = field(default_factory=list)
    served: dict[int, list[Served]] = field(default_factory=dict)  # by site
    atoms: Atoms = field(default_factory=Atoms)
    codes: Codes = field(default_factory=lambda: np.zeros((0, 0), dtype=np.uint32))

    def add(self, recipe: int, pieces: Pieces) -> int:
        """Add a dish as prepared and return its row."""
        self.recipes.append(recipe)
        self.dishes.append(pieces)
        return len(self.dishes) - 1


def judge_sites(sites: Sequence[Site], first: date, last: date, at: datetime, larder: Larder | None = None) -> Table:
    """Return the verdicts of these sites between two days, both included, as known at that moment.

    `larder`: the food as it stood then, where it was read before. Some twenty queries, whatever the size.
    """
    food = larder or read_larder(at)
    read = spans(sites, first, last, at)
    table = Table(read, _types(span for found in read.values() for span in found))
    alone = _alone(sites, read)
    _add_shared(table, food, [site for site in sites if site.pk not in alone], first, last, at)
    _add_alone(table, food, [site for site in sites if site.pk in alone], first, last, at)
    table.codes = judge_many(table.dishes, table.types, table.atoms)
    return table


def _alone(sites: Sequence[Site], read: dict[int, list[Span]]) -> set[int]:
    """Return the ids of the sites that have dishes of their own."""
    pks = {site.pk for site in sites}
    delivered = Delivery.objects.standing().filter(site__in=pks).values_list("site", flat=True)
    steps = PlanStep.objects.filter(site__in=pks).order_by().values_list("site", flat=True).distinct()
    events = KitchenEvent.objects.filter(site__in=pks).order_by().values_list("site", flat=True).distinct()
    meals = {site for site, found in read.items() if any(span.type.substance in combinations() for span in found)}
    return {*delivered, *steps, *events, *meals}


def _add_shared(table: Table, larder: Larder, sites: Sequence[Site], first: date, last: date, at: datetime) -> None:
    """Add the sites that serve the recipes as they are: one dish for each recipe, law and day of the check."""
    rows: dict[tuple[str, date, int], int] = {}
    by_site = {site.pk: site for site in sites}
    for pk in by_site:
        table.served[pk] = []
    planned = Serving.objects.planned().filter(site__in=sites).between(first, last).order_by("pk")
    for serving, pk, day, recipe, name in planned.values_list("pk", "site", "date", "recipe", "recipe__name"):
        site = by_site[pk]
        today = at.astimezone(site.zone).date()
        key = (site.jurisdiction, today, recipe)
        if key not in rows:
            rows[key] = table.add(recipe, larder.folded(site, today).get(recipe, unknown(name)))
        table.served[pk].append((serving, day, rows[key]))


def _add_alone(table: Table, larder: Larder, sites: Sequence[Site], first: date, last: date, at: datetime) -> None:
    """Add the sites with dishes of their own: equal ones of a site stand once."""
    for pk, facts in (facts_of(sites, larder, first, last, at) if sites else {}).items():
        made = as_prepared(facts, larder, at.astimezone(facts.site.zone).date())
        ahead = {serving: pieces for serving, pieces in made.items() if serving.date >= first}
        rows: dict[tuple[int, Pieces], int] = {}
        table.served[pk] = []
        for serving, pieces in with_meals(ahead, _types(table.spans[pk])).items():
            key = (serving.recipe_id, pieces)
            if key not in rows:
                rows[key] = table.add(serving.recipe_id, pieces)
            table.served[pk].append((serving.pk, serving.date, rows[key]))


def _types(found: Iterable[Span]) -> list[RestrictionType]:
    return list(dict.fromkeys(span.type for span in found))
