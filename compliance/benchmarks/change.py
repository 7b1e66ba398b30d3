"""How long after a new label the verdicts that it changes are committed, at every site that it bears on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from statistics import median, quantiles
from time import perf_counter
from typing import Any

from django.conf import settings
from django.utils import timezone

from compliance.benchmarks.problem import CannotMeasure, Disagreement
from compliance.benchmarks.told import machine
from compliance.checks.changes import check_changes
from compliance.checks.food import recipe_facts
from compliance.checks.recheck import sites_touched
from compliance.checks.run import recompute
from compliance.checks.slices import check_sites
from compliance.models import Run, ServedDish
from menus.kitchen.recipes import reached
from menus.models import Label, Serving, Site
from menus.services.labels import record_label

TIMES = 20
NIGHTS = 2
"""From the second night on all sites are judged for the same restriction types, and a change is as it usually is."""
SPREAD = 5
"""The ordinary labels that change are those of so many products, from the least used one to the most used."""
STAPLE, STAPLE_TIMES = 0.30, 5
"""The share of the recipes that hold a staple, as near as a product comes to it; and how often its label changes."""
ADDED = ("sesame flour", "peanut flour", "egg white powder", "fish gelatin", "soy protein isolate")
"""What the new label names beside what the first one named, in turn."""
LOOKED_AT = 3
"""At so many of the sites touched it is seen what came of the change."""


def change(most_sites: int | None = None, times: int = TIMES) -> dict[str, Any]:
    """Record new labels after a night, check again what each bears on, and return figures as they go into JSON.

    The labels of ordinary products are changed so many `times` in all, those of a staple STAPLE_TIMES at most. With
    `most_sites` only the first so many sites were checked at night, and only they are checked again. Raises
    Disagreement when what then stands is not what a check from the beginning finds, or when it is as if nothing had
    changed, and CannotMeasure when a site could not be checked.
    """
    sites = list(Site.objects.order_by("pk")[:most_sites])
    for _ in range(NIGHTS):
        for begin in range(0, len(sites), settings.NIGHT_SLICE_SITES):
            _complete(check_sites(sites[begin : begin + settings.NIGHT_SLICE_SITES], trigger=Run.Trigger.NIGHT).failed)
    shares = _shares(sites)
    by_share = sorted(shares, key=lambda product: (shares[product], product))
    staple = min(by_share, key=lambda product: abs(shares[product] - STAPLE))
    ordinary = [each for each in by_share if each != staple]
    chosen = [ordinary[(len(ordinary) - 1) * place // (SPREAD - 1)] for place in range(SPREAD)]
    return {
        "on": machine(),
        "sites": len(sites),
        "one_label": _figures([chosen[number % SPREAD] for number in range(times)], shares),
        "staple": _figures([staple] * min(times, STAPLE_TIMES), shares),
    }


def _shares(sites: Sequence[Site]) -> dict[int, float]:
    """Return in which share of the recipes on these sites' menus each labelled product is, at any depth."""
    recipes = recipe_facts(timezone.now())
    served = set(Serving.objects.filter(site__in=sites).values_list("recipe", flat=True).distinct())
    labelled = set(Label.objects.values_list("product", flat=True))
    counts: dict[int, int] = {}
    for recipe in served:
        for product in reached(recipes, [recipe])[1] & labelled:
            counts[product] = counts.get(product, 0) + 1
    return {product: count / len(served) for product, count in counts.items()}


def _figures(products: Sequence[int], shares: dict[int, float]) -> dict[str, Any]:
    changes = list(_changes(products))
    spent = [each["seconds"] for each in changes]
    return {
        "times": len(changes),
        "shares_of_recipes": [round(shares[product], 4) for product in dict.fromkeys(products)],
        "sites_touched": [each["sites_touched"] for each in changes],
        "seconds": [round(each, 4) for each in spent],
        "seconds_recording": [round(each["recorded"], 4) for each in changes],
        "median": round(median(spent), 4),
        "p95": round(quantiles(spent, n=20)[-1], 4) if len(spent) >= 20 else None,
        "longest": round(max(spent), 4),
    }


def _changes(products: Sequence[int]) -> Iterator[dict[str, Any]]:
    first = {product: Label.objects.get(product=product, number=1) for product in products}
    is_seen = False
    for number, product in enumerate(products):
        made = _change(first[product], ADDED[number % len(ADDED)])
        is_seen |= made.pop("before") != made.pop("after")
        yield made
    if not is_seen:
        raise Disagreement(f"Nothing came of new labels of {products[0]}: the sites were not checked again.")


def _change(first: Label, added: str) -> dict[str, Any]:
    touched = set(sites_touched(first).filter(pk__in=Run.objects.complete().values("site")))
    looked_at = sorted(touched, key=lambda site: site.pk)[:LOOKED_AT]
    before = _standing(looked_at)
    begun = perf_counter()
    record_label(
        product=first.product,
        seen_on=first.seen_on,
        ingredients=f"{first.ingredients.rstrip('.')}, {added}.",
        contains=first.contains,
        precautionary=first.precautionary,
        claims=first.claims,
    )
    recorded = perf_counter()
    checked = check_changes()
    ended = perf_counter()
    _complete(checked.failed)
    if missing := touched - {run.site for run in checked.runs}:
        raise Disagreement(f"{len(missing)} of {len(touched)} sites were not checked again.")
    for run in checked.runs[:1]:
        if recompute(run) != run.result_hash:
            raise Disagreement(f"{run.site} does not come out the same when it is worked out from the beginning.")
    return {
        "seconds": ended - begun,
        "recorded": recorded - begun,
        "sites_touched": len(touched),
        "before": before,
        "after": _standing(looked_at),
    }


def _complete(failed: Sequence[tuple[Run, Exception]]) -> None:
    for run, error in failed:
        raise CannotMeasure(f"{run.site} could not be checked: {error}") from error


def _standing(sites: Sequence[Site]) -> dict[int, int]:
    """Return by serving which dish stands for it at these sites: a dish is another when what is in it is."""
    return dict(ServedDish.objects.filter(serving__site__in=sites).values_list("serving", "dish"))
