"""The food of all sites as it stood at one moment: what runs of that moment have in common."""

from __future__ import annotations

from django.db import models


class FoodRead(models.Model):
    """Versions of recipes, labels and words that runs read. Stored once, however many runs read the same."""

    key = models.CharField(max_length=64, unique=True, help_text="SHA-256 of the ids.")
    recipes = models.JSONField(help_text="Ids of recipe versions.")
    labels = models.JSONField(help_text="Ids of label versions.")
    words = models.JSONField(help_text="Ids of accepted words.")

    def __str__(self) -> str:
        return f"{len(self.recipes)} recipes, {len(self.labels)} labels"
