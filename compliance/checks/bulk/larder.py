"""What kitchens share: recipes, products and words, read once, and the recipes folded once for each law and day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime

from compliance.checks.codec import fingerprint
from compliance.checks.food import product_evidence, recipe_facts
from compliance.models import FoodRead
from menus.kitchen.recipes import Pieces, RecipeFacts, fold, reached
from menus.labels.lexicon import Lexicon
from menus.lexicon import lexicon_with
from menus.models import Product, RecipeVersion, Site, WordReview


@dataclass(frozen=True, slots=True)
class Larder:
    """The food of every site as it stood at one moment."""

    recipes: dict[int, RecipeFacts]
    products: list[Product]
    words: list[WordReview]
    lexicon: Lexicon
    _folded: dict[tuple[str, date], dict[int, Pieces]] = field(default_factory=dict)
    _evidence: dict[tuple[str, date], dict[int, Pieces]] = field(default_factory=dict)

    def folded(self, site: Site, today: date, wanted: Iterable[int]) -> dict[int, Pieces]:
        """Return what is in the wanted recipes at the site, labels being judged by their age on that day.

        Sites under one law have the same: of a site, the evidence of a product asks for nothing else. Raises
        RecipeCycle when a wanted recipe holds itself.
        """
        law = (site.jurisdiction, today)
        done = self._folded.setdefault(law, {})
        if missing := {recipe for recipe in wanted if recipe in self.recipes and recipe not in done}:
            held, used = reached(self.recipes, missing)
            # What is done already is folded again where it is held; what stands stays, and so is told by identity.
            for recipe, pieces in fold(
                {pk: self.recipes[pk] for pk in held}, self._products(site, today, used)
            ).items():
                done.setdefault(recipe, pieces)
        return done

    def _products(self, site: Site, today: date, wanted: set[int]) -> dict[int, Pieces]:
        known = self._evidence.setdefault((site.jurisdiction, today), {})
        for product in self.products:
            if product.pk in wanted and product.pk not in known:
                known[product.pk] = product_evidence(product, on=today, lexicon=self.lexicon, site=site)
        return known

    def read(self) -> FoodRead:
        """Return the stored row that names the versions; the same for the same versions."""
        ids = {
            "recipes": sorted(recipe.version for recipe in self.recipes.values()),
            "labels": sorted(label.pk for product in self.products for label in product.current_labels),
            "words": sorted(word.pk for word in self.words),
        }
        stored, _ = FoodRead.objects.get_or_create(key=fingerprint(ids), defaults=ids)
        return stored


def read_larder(at: datetime) -> Larder:
    """Read the food of every site as it stood at that moment. Five queries."""
    words = list(WordReview.objects.standing(at))
    return Larder(recipe_facts(at), list(Product.objects.with_label(at)), words, lexicon_with(words))


def larder_of(recipes: Iterable[int], at: datetime) -> Larder:
    """Return the food that these recipes hold at any depth, as it stood at that moment.

    Three queries for each level of recipes in recipes, and four.
    """
    facts: dict[int, RecipeFacts] = {}
    new = set(recipes)
    while new:
        current = RecipeVersion.objects.current(at).filter(recipe__in=new).order_by()
        facts |= recipe_facts(at, list(current.values_list("pk", flat=True)))
        new = {part for recipe in new if recipe in facts for part in facts[recipe].recipes} - facts.keys()
    _, used = reached(facts, facts)
    words = list(WordReview.objects.standing(at))
    products = list(Product.objects.filter(pk__in=used).with_label(at))
    return Larder(facts, products, words, lexicon_with(words))
