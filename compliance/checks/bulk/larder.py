"""What all kitchens share: recipes, products and words, read once, and the recipes folded once for each law and day."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

from compliance.checks.food import product_evidence, recipe_facts
from menus.kitchen.recipes import Pieces, RecipeFacts, fold
from menus.labels.lexicon import Lexicon
from menus.lexicon import lexicon_with
from menus.models import Product, Site, WordReview


@dataclass(frozen=True, slots=True)
class Larder:
    """The food of every site as it stood at one moment."""

    recipes: dict[int, RecipeFacts]
    products: list[Product]
    words: list[WordReview]
    lexicon: Lexicon
    _folded: dict[tuple[str, date], dict[int, Pieces]] = field(default_factory=dict)

    def folded(self, site: Site, today: date) -> dict[int, Pieces]:
        """Return what is in every recipe at the site, labels being judged by their age on that day.

        Sites under one law have the same: of a site, the evidence of a product asks for nothing else.
        """
        key = (site.jurisdiction, today)
        if key not in self._folded:
            evidence = {
                each.pk: product_evidence(each, on=today, lexicon=self.lexicon, site=site) for each in self.products
            }
            self._folded[key] = fold(self.recipes, evidence)
        return self._folded[key]


def read_larder(at: datetime) -> Larder:
    """Read the food of every site as it stood at that moment. Five queries."""
    words = list(WordReview.objects.standing(at))
    return Larder(recipe_facts(at), list(Product.objects.with_label(at)), words, lexicon_with(words))
