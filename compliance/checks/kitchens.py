"""Which kitchens cook for a site, and what goes through each of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from compliance.checks.dayline import BatchKey, Kitchen, batch_key
from menus.models import Delivery, KitchenEvent, PlanStep, Serving, Site


def kitchens_for(
    site: Site,
    servings: Iterable[Serving],
    deliveries: Sequence[Delivery],
    steps: Sequence[PlanStep],
    events: Sequence[KitchenEvent],
) -> list[Kitchen]:
    """Return the site's own kitchen and those that deliver to it, each with its batches, its plan and its records.

    `deliveries` are all those from the site and from the kitchens that deliver to it. Where a batch goes to several
    sites, this site's serving stands for it, and of the others the first.
    """
    ours_first = sorted(servings, key=lambda serving: (serving.site_id != site.pk, serving.pk))
    cooking = {site.pk: site} | {each.kitchen_id: each.kitchen for each in deliveries if each.site_id == site.pk}
    return [
        Kitchen(
            site=kitchen,
            servings=list(_batches(kitchen, ours_first, deliveries).values()),
            steps=[step for step in steps if step.site_id == pk],
            events=[event for event in events if event.site_id == pk],
        )
        for pk, kitchen in sorted(cooking.items())
    ]


def _batches(kitchen: Site, servings: Iterable[Serving], deliveries: Iterable[Delivery]) -> dict[BatchKey, Serving]:
    cooked: dict[BatchKey, Serving] = {}
    for serving in servings:
        if serving.site_id == kitchen.pk or brought(serving, kitchen.pk, deliveries):
            cooked.setdefault(batch_key(serving), serving)
    return cooked


def brought(serving: Serving, kitchen: int, deliveries: Iterable[Delivery]) -> bool:
    """Tell whether the kitchen of that site brings the serving to its own."""
    return any(
        each.kitchen_id == kitchen and each.site_id == serving.site_id and each.brings(serving.meal, serving.recipe_id)
        for each in deliveries
    )
