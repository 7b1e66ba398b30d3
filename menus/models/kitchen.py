"""The kitchen's equipment and the usual order of work on it."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from menus.models.cycle import Meal
from menus.models.recipe import Recipe
from menus.models.site import Site


class Surface(models.Model):
    """A thing that food touches: a mixer, a board, a fryer with its oil."""

    class Material(models.TextChoices):
        NON_POROUS = "non_porous", "Non-porous (steel, plastic, glass)"
        POROUS = "porous", "Porous (wood, cloth, stone)"
        FRYER_OIL = "fryer_oil", "Fryer oil"
        HANDS = "hands", "Hands"

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="surfaces")
    name = models.CharField(max_length=80)
    material = models.CharField(max_length=10, choices=Material.choices)

    class Meta:
        ordering = ["site", "name"]
        constraints = [models.UniqueConstraint(fields=["site", "name"], name="surface_name_unique_at_site")]

    def __str__(self) -> str:
        return self.name


class Action(models.TextChoices):
    """What is done to a surface."""

    USE = "use", "Use for a dish"
    CLEAN = "clean", "Clean"


class PlanStep(models.Model):
    """One step of a meal's usual order of work. A use counts when its dish is served."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="plan_steps")
    meal = models.CharField(max_length=9, choices=Meal.choices)
    at = models.TimeField(help_text="Site time.")
    action = models.CharField(max_length=5, choices=Action.choices)
    surface = models.ForeignKey(Surface, on_delete=models.PROTECT, related_name="plan_steps")
    recipe = models.ForeignKey(Recipe, null=True, blank=True, on_delete=models.PROTECT, related_name="plan_steps")
    method = models.CharField(max_length=40, blank=True, help_text="Code of the cleaning method.")
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["site", "at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(action=Action.USE, recipe__isnull=False, method="")
                | (Q(action=Action.CLEAN, recipe__isnull=True) & ~Q(method="")),
                name="plan_step_use_has_dish_clean_has_method",
                violation_error_message="A use names its dish and no method; a cleaning names its method and no dish.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.at:%H:%M} {self.get_action_display()} {self.surface}"
