"""Changes that no check has read yet: written with the change itself, gone once a check has read it."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils import timezone

from menus.models import Product, Recipe, Site


class UnreadChange(models.Model):
    """Something that checks read has changed: at a site, in a product or its label, in a recipe, or in the lexicon.

    It is committed with the change or not at all, so that no message can be lost, and whoever sees the row before
    reading facts reads the change. Which sites a change of food bears on is found when it is read: recipes and menus
    may have changed by then.
    """

    site = models.ForeignKey(Site, null=True, on_delete=models.CASCADE, related_name="+")
    product = models.ForeignKey(Product, null=True, on_delete=models.CASCADE, related_name="+")
    recipe = models.ForeignKey(Recipe, null=True, on_delete=models.CASCADE, related_name="+")
    noted_at = models.DateTimeField(default=timezone.now, db_index=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(product=None, recipe=None) | Q(site=None, recipe=None) | Q(site=None, product=None),
                name="unread_change_is_of_one_thing",
            )
        ]

    def __str__(self) -> str:
        return f"change of {self.site or self.product or self.recipe or 'the lexicon'}"

    @property
    def is_of_lexicon(self) -> bool:
        """Whether a word was accepted or taken back, so that labels may say something else."""
        return not (self.site_id or self.product_id or self.recipe_id)
