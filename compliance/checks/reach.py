"""What depends on what: from products upward through recipes to the sites that serve them, by the indexes of the rows.

Never too few sites. What stands on equipment, or came into a dish by a swap or as leftovers, reaches every site that
shares the kitchen.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date, datetime, time, timedelta
from functools import cached_property

from django.conf import settings
from django.db.models import Max, Q

from compliance.checks.load import LOOK_BACK
from menus.models import Deed, Delivery, KitchenEvent, PlanStep, RecipeLine, RecipeVersion, Serving, Site
from menus.models.event import KitchenEventQuerySet

A_DAY = timedelta(days=1)
"""What the days of two clocks may lie apart."""


class Reach:
    """What some products and recipes reach, read once: then it can be asked for any of them.

    Some nine queries, and one for each level of recipes in recipes.
    """

    def __init__(self, products: Iterable[int], recipes: Iterable[int], at: datetime) -> None:
        self.at = at
        self._products, self._recipes = set(products), set(recipes)
        self._holders = self._read_holders()

    def covers(self, products: set[int], recipes: set[int]) -> bool:
        """Tell whether it was read for all of these."""
        return products <= self._products and recipes <= self._recipes

    def recipes(self, products: Iterable[int], recipes: Iterable[int]) -> set[int]:
        """Return the ids of the recipes that hold one of these at any depth, these recipes included."""
        found: set[int] = set(recipes)
        todo = [*found]
        for product in products:
            todo += self._holders.get((product, None), ())
        while todo:
            found.add(recipe := todo.pop())
            todo += self._holders.get((None, recipe), set()) - found
        return found

    def sites(self, products: Iterable[int], recipes: Iterable[int]) -> set[int]:
        """Return the ids of the sites whose coming days rest on one of these."""
        bought = set(products)
        cooked = self.recipes(bought, recipes)
        last_day = {
            site: newest
            for site, served in self._served.items()
            if (newest := max((day for recipe, day in served.items() if recipe in cooked), default=None))
        }
        ahead = {site for site, day in last_day.items() if day >= self._today[site]}
        swapped_in = {site for site, product in self._brought_in if product is None or product in bought}
        return ahead | self._on_equipment(last_day.keys() | swapped_in)

    def _read_holders(self) -> dict[tuple[int | None, int | None], set[int]]:
        """Which recipes hold a product, or another recipe, by the versions that stand."""
        current = RecipeVersion.objects.current(self.at)
        holders: dict[tuple[int | None, int | None], set[int]] = {}
        known, new = set(self._recipes), set(self._recipes)
        wanted = Q(product__in=self._products) | Q(sub_recipe__in=new)
        while True:
            lines = RecipeLine.objects.filter(wanted, version__in=current).order_by()
            for product, held, holder in lines.values_list("product", "sub_recipe", "version__recipe"):
                holders.setdefault((product, held), set()).add(holder)
            new = set[int]().union(*holders.values()) - known
            if not new:
                return holders
            known |= new
            wanted = Q(sub_recipe__in=new)

    @cached_property
    def _served(self) -> dict[int, dict[int, date]]:
        """The last day on which each site serves each of the recipes, among the days that a check looks at."""
        first = self.at.date() - LOOK_BACK - A_DAY
        last = self.at.date() + timedelta(days=settings.NIGHTLY_WINDOW_DAYS) + A_DAY
        recipes = self.recipes(self._products, self._recipes)
        planned = Serving.objects.planned().filter(recipe__in=recipes).between(first, last).order_by()
        served: dict[int, dict[int, date]] = {}
        for site, recipe, newest in (
            planned.values("site", "recipe").annotate(newest=Max("date")).values_list("site", "recipe", "newest")
        ):
            served.setdefault(site, {})[recipe] = newest
        return served

    @cached_property
    def _today(self) -> dict[int, date]:
        return {site.pk: self.at.astimezone(site.zone).date() for site in Site.objects.filter(pk__in=self._served)}

    @cached_property
    def _brought_in(self) -> set[tuple[int, int | None]]:
        """Kitchens with the products that swaps brought into dishes; None: leftovers were used.

        Those are read by the recipes and labels of their own day, which may be recorded late.
        """
        swaps = Q(kind=Deed.SWAP, product_in__in=self._products)
        events = _lately(self.at).filter(swaps | Q(kind=Deed.LEFTOVER)).order_by()
        return set(events.values_list("site", "product_in").distinct())

    @cached_property
    def _deliveries(self) -> set[tuple[int, int]]:
        return _deliveries()

    @cached_property
    def _with_records(self) -> set[int]:
        """The kitchens with equipment on record, of those that cook for any site concerned."""
        kitchens = self._cooking_for(self._served.keys() | {site for site, _ in self._brought_in})
        steps = PlanStep.objects.filter(Q(withdrawn_at=None) | Q(withdrawn_at__gt=_since(self.at)), site__in=kitchens)
        events = _lately(self.at).filter(site__in=kitchens)
        return {
            *steps.order_by().values_list("site", flat=True).distinct(),
            *events.order_by().values_list("site", flat=True).distinct(),
        }

    def _cooking_for(self, sites: Collection[int]) -> set[int]:
        return set(sites) | {kitchen for kitchen, site in self._deliveries if site in sites}

    def _on_equipment(self, sites: Collection[int]) -> set[int]:
        """The sites that share a kitchen with one of these, where that kitchen has equipment or records."""
        kitchens = self._cooking_for(sites) & self._with_records
        return kitchens | {site for kitchen, site in self._deliveries if kitchen in kitchens}


def sites_reached(products: Collection[int], recipes: Collection[int], at: datetime) -> set[int]:
    """Return the ids of the sites whose coming days a change of these products or recipes bears on."""
    return Reach(products, recipes, at).sites(products, recipes)


def cooked_by(kitchen: int) -> set[int]:
    """Return the ids of the site and of those for which its kitchen cooks."""
    return {kitchen} | {site for cooks, site in _deliveries() if cooks == kitchen}


def beside(site: int) -> set[int]:
    """Return the ids of the site and of all that share a kitchen with it: what is cooked for one meets the others'."""
    deliveries = _deliveries()
    kitchens = {site} | {kitchen for kitchen, place in deliveries if place == site}
    return kitchens | {place for kitchen, place in deliveries if kitchen in kitchens}


def _lately(at: datetime) -> KitchenEventQuerySet:
    return KitchenEvent.objects.known(at, _since(at))


def _since(at: datetime) -> datetime:
    return datetime.combine(at.date() - LOOK_BACK - A_DAY, time.min, at.tzinfo)


def _deliveries() -> set[tuple[int, int]]:
    return set(Delivery.objects.standing().values_list("kitchen", "site"))
