"""How long after a new label the verdicts that it changes are committed, at every site that it bears on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from statistics import median
from time import perf_counter
from typing import Any

from django.utils import timezone

from compliance.benchmarks.problem import Disagreement
from compliance.benchmarks.stopwatch import Stopwatch
from compliance.benchmarks.told import machine
from compliance.checks.exceptions import ExceptionFilter, found_exceptions
from compliance.checks.food import recipe_facts
from compliance.checks.night import check_and_tell
from compliance.checks.recheck import sites_touched
from compliance.checks.run import recompute
from compliance.models import Run
from menus.kitchen.recipes import reached
from menus.models import Label, Product, Serving, Site
from menus.services.labels import record_label

TIMES = 5
STAPLE = 0.30
"""The share of the recipes that hold a staple, as near as a product comes to it."""
ADDED = ("sesame flour", "peanut flour", "egg white powder", "fish gelatin", "soy protein isolate")
"""What the new label names beside what the old one named, in turn."""


def change(most_sites: int | None = None, times: int = TIMES) -> dict[str, Any]:
    """Record new labels after a night, check again what each bears on, and return figures as they go into JSON.

    Each of two products is changed so many `times`, at most as often as ADDED has words. With `most_sites` the first so
    many sites are checked again, and what all would take is reckoned from them. Raises Disagreement when
    what then stands is not what a check from the beginning finds, or when it is as if nothing had changed.
    """
    sites = list(Site.objects.order_by("pk")[:most_sites])
    for site in sites:
        check_and_tell(site=site, trigger=Run.Trigger.NIGHT)
    shares = _shares(sites)
    rare = min(shares, key=lambda product: (shares[product], product))
    staple = min(shares, key=lambda product: (abs(shares[product] - STAPLE), product))
    return {
        "on": machine(),
        "sites_checked": len(sites),
        "sites": Site.objects.count(),
        "one_label": _figures(rare, shares[rare], sites, times),
        "staple": _figures(staple, shares[staple], sites, times),
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


def _figures(product: int, share: float, sites: Sequence[Site], times: int) -> dict[str, Any]:
    changes = list(_changes(Product.objects.get(pk=product), sites, times))
    touched = changes[-1]["sites_touched"]
    whole = sorted(each["recorded"] + each["checked"] * touched / max(1, len(sites)) for each in changes)
    return {
        "share_of_recipes": round(share, 4),
        "sites_touched": touched,
        "exceptions": [each["exceptions"] for each in changes],
        "seconds_recorded": [round(each["recorded"], 4) for each in changes],
        "seconds_checked": [round(each["checked"], 4) for each in changes],
        "seconds_all_sites": {"median": round(median(whole), 3), "longest": round(whole[-1], 3), "times": len(whole)},
    }


def _changes(product: Product, sites: Sequence[Site], times: int) -> Iterator[dict[str, Any]]:
    before = _exceptions(sites)
    for added in ADDED[:times]:
        yield _change(product, added, sites)
    if _exceptions(sites) == before:
        raise Disagreement(f"Nothing came of new labels of {product}: the sites were not checked again.")


def _change(product: Product, added: str, sites: Sequence[Site]) -> dict[str, Any]:
    newest = product.labels.order_by("-number")[0]
    begun = perf_counter()
    label = record_label(
        product=product,
        seen_on=newest.seen_on,
        ingredients=f"{newest.ingredients.rstrip('.')}, {added}.",
        contains=newest.contains,
        precautionary=newest.precautionary,
        claims=newest.claims,
    )
    recorded = perf_counter() - begun
    touched = set(sites_touched(label).values_list("pk", flat=True))
    watch, runs = Stopwatch(), list[Run]()
    with watch.time("checked"):
        for site in sites:
            if site.pk in touched:
                runs.append(check_and_tell(site=site, trigger=Run.Trigger.CHANGE))
    for run in runs[:1]:
        if recompute(run) != run.result_hash:
            raise Disagreement(f"{run.site} does not come out the same when it is worked out from the beginning.")
    return {
        "recorded": recorded,
        "checked": watch.seconds["checked"],
        "sites_touched": len(touched),
        "exceptions": len(_exceptions(sites)),
    }


def _exceptions(sites: Sequence[Site]) -> set[tuple[int, int]]:
    """Return which restriction meets which serving, at all of the sites, on the days last checked."""
    found: set[tuple[int, int]] = set()
    for run in map(Run.objects.newest_for, sites):
        if run:
            asked = ExceptionFilter(run.first_day, run.last_day, site=run.site)
            found |= {(row.restriction.pk, row.serving.pk) for row in found_exceptions(asked)}
    return found
