"""What a product holds by its label or by a table of foods, and what a piece of it weighs."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import OuterRef, Q, Subquery

from menus.models.facts import Fact
from menus.models.product import Product

NUTRIENTS = (
    "energy_kcal",
    "saturated_fat_g",
    "sodium_mg",
    "total_sugars_g",
    "added_sugars_g",
    "protein_g",
)
"""The columns of what a product holds, by the names that a week gives them."""

NOT_NEGATIVE = [MinValueValidator(Decimal(0))]


class ProductNutritionQuerySet(models.QuerySet["ProductNutrition"]):
    """Nutrition facts by time."""

    def current(self, at: datetime) -> ProductNutritionQuerySet:
        """The newest of each product among those recorded by that moment."""
        newest = ProductNutrition.objects.filter(product=OuterRef("product"), recorded_at__lte=at).order_by("-pk")
        return self.filter(pk=Subquery(newest.values("pk")[:1]))


def _amount(digits: int, places: int, help_text: str = "") -> models.DecimalField[Decimal | None, Decimal | None]:
    return models.DecimalField(
        max_digits=digits,
        decimal_places=places,
        null=True,
        blank=True,
        validators=NOT_NEGATIVE,
        help_text=help_text or "In the basis. Empty: not stated, which is not nothing.",
    )


class ProductNutrition(Fact):
    """One version of what a product holds in so many grams. A correction is a new row; the newest counts."""

    class Source(models.TextChoices):
        LABEL = "label", "Nutrition panel of its label"
        SR28 = "sr28", "USDA National Nutrient Database, release 28"

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="nutrition")
    source = models.CharField(max_length=5, choices=Source.choices)
    ndb_no = models.CharField("NDB number", max_length=5, blank=True, help_text="Of the food in the table.")
    basis_g = models.DecimalField(
        max_digits=7,
        decimal_places=2,
        validators=[MinValueValidator(Decimal("0.01"))],
        help_text="Grams, as a serving.",
    )
    piece_g = _amount(8, 2, "What one piece, slice, half pint or can of it weighs. Empty: not known.")
    cup_g = _amount(6, 2, "What a cup of it weighs. Empty: not known.")
    edible = models.DecimalField(
        max_digits=3,
        decimal_places=2,
        default=Decimal(1),
        validators=[MinValueValidator(Decimal("0.01")), MaxValueValidator(Decimal(1))],
        help_text="The share of the weight in recipes that is eaten: less than 1 with peel, core or bone.",
    )
    energy_kcal = _amount(8, 2)
    saturated_fat_g = _amount(7, 3)
    sodium_mg = _amount(9, 2)
    total_sugars_g = _amount(7, 3)
    added_sugars_g = _amount(7, 3)
    protein_g = _amount(7, 3)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    objects = ProductNutritionQuerySet.as_manager()

    class Meta:
        ordering = ["product", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(source="label", ndb_no="") | (Q(source="sr28") & ~Q(ndb_no="")),
                name="product_nutrition_names_its_row",
                violation_error_message="A row of the table is named by its NDB number, and a label has none.",
            )
        ]

    def __str__(self) -> str:
        return f"nutrition of {self.product}, {self.get_source_display()}"
