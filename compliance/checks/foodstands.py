"""Which versions of food stand at a moment, and what differs between two moments."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from compliance.checks.codec import fingerprint
from compliance.checks.food import product_evidence
from compliance.models import FoodRead
from menus.kitchen.recipes import Pieces
from menus.labels.lexicon import Lexicon
from menus.lexicon import lexicon_with
from menus.models import Label, Product, RecipeVersion, Site, WordReview


@dataclass(frozen=True, slots=True)
class Versions:
    """Ids of the versions of recipes, labels and accepted words."""

    recipes: frozenset[int]
    labels: frozenset[int]
    words: frozenset[int]

    def stored(self) -> FoodRead:
        """Return the stored row that names them; the same for the same versions."""
        ids = {"recipes": sorted(self.recipes), "labels": sorted(self.labels), "words": sorted(self.words)}
        row, _ = FoodRead.objects.get_or_create(key=fingerprint(ids), defaults=ids)
        return row


@dataclass(frozen=True, slots=True)
class Changed:
    """Ids of the products and recipes that are not what they were."""

    products: frozenset[int]
    recipes: frozenset[int]

    def __bool__(self) -> bool:
        return bool(self.products or self.recipes)


def versions_at(at: datetime) -> Versions:
    """Return what stood at that moment. Three queries."""
    return Versions(
        frozenset(RecipeVersion.objects.current(at).order_by().values_list("pk", flat=True)),
        frozenset(Label.objects.current(at).order_by().values_list("pk", flat=True)),
        frozenset(WordReview.objects.standing(at).values_list("pk", flat=True)),
    )


def versions_of(food: FoodRead) -> Versions:
    """Return what a run read."""
    return Versions(frozenset(food.recipes), frozenset(food.labels), frozenset(food.words))


def changed(foods: Mapping[int, Versions], stands: Versions, at: datetime) -> dict[int, Changed]:
    """Return what differs between each of these and what stands, by the same keys.

    Two queries, and four more for each different set of accepted words that some of them had.
    """
    labels = set[int]().union(*(each.labels ^ stands.labels for each in foods.values()))
    recipes = set[int]().union(*(each.recipes ^ stands.recipes for each in foods.values()))
    product_of = dict(Label.objects.filter(pk__in=labels).values_list("pk", "product"))
    recipe_of = dict(RecipeVersion.objects.filter(pk__in=recipes).values_list("pk", "recipe"))
    reworded = {
        words: read_otherwise(_lexicon(words), _lexicon(stands.words), at)
        for words in {each.words for each in foods.values()} - {stands.words}
    }
    return {
        key: Changed(
            frozenset({product_of[label] for label in each.labels ^ stands.labels} | reworded.get(each.words, set())),
            frozenset(recipe_of[version] for version in each.recipes ^ stands.recipes),
        )
        for key, each in foods.items()
    }


def all_of(changes: Iterable[Changed]) -> tuple[set[int], set[int]]:
    """Return the ids of all products and of all recipes in these changes."""
    several = list(changes)
    products = set[int]().union(*(each.products for each in several))
    return products, set[int]().union(*(each.recipes for each in several))


def read_otherwise(before: Lexicon, after: Lexicon, at: datetime) -> set[int]:
    """Return the ids of the products whose labels say something else by the other lexicon.

    Every label is read by both: a word that is known mends slips of it, and changes what stands beside it, so that no
    search for its letters finds all. What reading takes, a check of the sites would take as well. Two queries.
    """
    laws = [Site(jurisdiction=law) for law in _laws()]

    def says(product: Product, lexicon: Lexicon) -> list[Pieces]:
        return [product_evidence(product, on=at.date(), lexicon=lexicon, site=site) for site in laws]

    return {each.pk for each in Product.objects.with_label(at) if says(each, before) != says(each, after)}


def _laws() -> list[str]:
    return sorted(set(Site.objects.order_by().values_list("jurisdiction", flat=True)))


def _lexicon(words: Collection[int]) -> Lexicon:
    return lexicon_with(WordReview.objects.filter(pk__in=words).select_related("word").order_by("pk"))
