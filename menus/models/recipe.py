"""Recipes as versions: lines of products and of other recipes, to any depth."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import OuterRef, Q, Subquery

from menus.models.facts import Fact
from menus.models.product import Product
from menus.models.site import Site


class Recipe(models.Model):
    """A dish or a part of dishes. What goes into it is said by its versions."""

    code = models.SlugField(unique=True)
    name = models.CharField(max_length=160)
    site = models.ForeignKey(
        Site, null=True, blank=True, on_delete=models.PROTECT, help_text="Empty: every site may cook it."
    )

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class RecipeVersionQuerySet(models.QuerySet["RecipeVersion"]):
    """Recipe versions by time."""

    def current(self, at: datetime) -> RecipeVersionQuerySet:
        """The newest version of each recipe among those recorded by that moment."""
        newest = RecipeVersion.objects.filter(recipe=OuterRef("recipe"), recorded_at__lte=at).order_by("-number")
        return self.filter(recorded_at__lte=at, number=Subquery(newest.values("number")[:1]))


class RecipeVersion(Fact):
    """One version of a recipe's lines. A change of a line is a new version."""

    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    servings = models.PositiveIntegerField(
        validators=[MinValueValidator(1)], help_text="How many portions the lines make."
    )
    texture = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MaxValueValidator(7)],
        help_text="Level as made, by the numbers of menus.mealpattern.textures. Empty: not stated.",
    )

    objects = RecipeVersionQuerySet.as_manager()

    class Meta:
        ordering = ["recipe", "number"]
        constraints = [models.UniqueConstraint(fields=["recipe", "number"], name="recipe_version_unique")]

    def __str__(self) -> str:
        return f"version {self.number} of {self.recipe}"


class RecipeLine(models.Model):
    """One line of one version: a product or another recipe, with how much of it."""

    version = models.ForeignKey(RecipeVersion, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    product = models.ForeignKey(Product, null=True, blank=True, on_delete=models.PROTECT, related_name="lines")
    sub_recipe = models.ForeignKey(Recipe, null=True, blank=True, on_delete=models.PROTECT, related_name="used_in")
    quantity = models.DecimalField(max_digits=10, decimal_places=3, validators=[MinValueValidator(Decimal("0.001"))])
    unit = models.CharField(max_length=20)
    note = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["version", "position"]
        constraints = [
            models.UniqueConstraint(fields=["version", "position"], name="recipe_line_position_unique"),
            models.CheckConstraint(
                condition=Q(product__isnull=False, sub_recipe__isnull=True)
                | Q(product__isnull=True, sub_recipe__isnull=False),
                name="recipe_line_one_of_product_and_recipe",
                violation_error_message="A line holds either a product or another recipe: fill in exactly one of them.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity.normalize():f} {self.unit} {self.product or self.sub_recipe}"
