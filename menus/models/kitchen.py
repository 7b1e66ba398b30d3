"""The kitchen's equipment and the usual order of work on it."""

from __future__ import annotations

from datetime import datetime

from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from menus.kitchen.cleaning import UnknownMethod, removes
from menus.models.cycle import Meal
from menus.models.recipe import Recipe
from menus.models.site import Site
from menus.models.substance import validate_substance


def validate_method(code: str) -> None:
    """Refuse a cleaning method that the table does not hold, naming those that it does."""
    try:
        removes(code, "")
    except UnknownMethod as error:
        raise ValidationError(str(error), code="method") from error


USUAL_MINUTES = 10
"""How long a dish takes up a surface when nobody said."""


class Surface(models.Model):
    """A thing that food touches: a mixer, a board, a fryer with its oil, a cook's hands, a box on a van."""

    class Kind(models.TextChoices):
        BOARD = "board", "Cutting board"
        TABLE = "table", "Table or counter"
        UTENSIL = "utensil", "Knife, spoon, tongs or another utensil"
        MIXER = "mixer", "Mixer"
        SLICER = "slicer", "Slicer"
        FRYER = "fryer", "Fryer with its oil"
        GRILL = "grill", "Grill or flat top"
        OVEN_RACK = "oven-rack", "Oven rack or tray"
        KETTLE = "kettle", "Steam kettle or steamer"
        POT = "pot", "Pot or pan, with the water in it"
        TOASTER = "toaster", "Toaster"
        BAR = "bar", "Self-serve bar"
        CONTAINER = "container", "Transport container"
        HANDS = "hands", "Somebody's hands"
        OTHER = "other", "Other equipment"

    class Material(models.TextChoices):
        NON_POROUS = "non_porous", "Non-porous (steel, plastic, glass)"
        POROUS = "porous", "Porous (wood, cloth, stone)"
        UNWASHABLE = "unwashable", "Cannot be washed (toaster, bin scoop on a chain)"
        FRYER_OIL = "fryer_oil", "Fryer oil"
        HANDS = "hands", "Hands"

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="surfaces", help_text="Where it stands.")
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.OTHER)
    material = models.CharField(max_length=10, choices=Material.choices)
    capacity = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1)], help_text="How many dishes it takes at once."
    )
    dedicated_for = models.CharField(
        max_length=60,
        blank=True,
        validators=[validate_substance],
        help_text="The substance that it is kept free of. Empty: it is kept free of none.",
    )

    class Meta:
        ordering = ["site", "name"]
        constraints = [
            models.UniqueConstraint(fields=["site", "name"], name="surface_name_unique_at_site"),
            models.CheckConstraint(
                condition=~Q(kind="fryer") | Q(material="fryer_oil"),
                name="surface_fryer_holds_oil",
                violation_error_message="A fryer's material is its oil, which no wash makes clean.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="hands") | Q(material="hands"),
                name="surface_hands_are_hands",
                violation_error_message="Hands are of the material “Hands”.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Action(models.TextChoices):
    """What is done in a kitchen, planned or recorded."""

    USE = "use", "Use for a dish"
    CLEAN = "clean", "Clean"
    TOUCH = "touch", "Touch another surface"
    COVER = "cover", "Cover or set apart"
    OPEN = "open", "Open for service"
    TRAVEL = "travel", "Send off"


class PlanStep(models.Model):
    """One step of a meal's usual order of work. A use counts when its dish is served.

    A cover names where the covered dish stands, an opening its self-serve bar, a sending-off its transport container.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="plan_steps")
    meal = models.CharField(max_length=9, choices=Meal.choices)
    at = models.TimeField(help_text="Site time.")
    minutes = models.PositiveSmallIntegerField(
        default=USUAL_MINUTES, validators=[MinValueValidator(1)], help_text="How long the surface is taken up."
    )
    action = models.CharField(max_length=6, choices=Action.choices)
    surface = models.ForeignKey(Surface, on_delete=models.PROTECT, related_name="plan_steps")
    other_surface = models.ForeignKey(
        Surface, null=True, blank=True, on_delete=models.PROTECT, related_name="+", help_text="What it touches."
    )
    recipe = models.ForeignKey(Recipe, null=True, blank=True, on_delete=models.PROTECT, related_name="plan_steps")
    method = models.CharField(
        max_length=40, blank=True, validators=[validate_method], help_text="Code of the cleaning method."
    )
    since = models.DateTimeField(null=True, blank=True, help_text="When it became the plan. Empty: it always was.")
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["site", "at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(action__in=[Action.USE, Action.COVER], recipe__isnull=False, method="")
                | (Q(action=Action.CLEAN, recipe__isnull=True) & ~Q(method=""))
                | Q(action__in=[Action.TOUCH, Action.OPEN, Action.TRAVEL], recipe__isnull=True, method=""),
                name="plan_step_use_has_dish_clean_has_method",
                violation_error_message=(
                    "A use or a cover names its dish and no method; a cleaning names its method and no dish; "
                    "other steps name neither."
                ),
            ),
            models.CheckConstraint(
                condition=Q(action=Action.TOUCH, other_surface__isnull=False)
                | (~Q(action=Action.TOUCH) & Q(other_surface__isnull=True)),
                name="plan_step_touch_has_other_surface",
                violation_error_message="A touch names the surface that is touched, and no other step does.",
            ),
            models.CheckConstraint(
                condition=Q(other_surface__isnull=True) | ~Q(other_surface=F("surface")),
                name="plan_step_touches_another",
                violation_error_message="A surface cannot touch itself: name the other one.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.at:%H:%M} {self.get_action_display()} {self.surface}"

    def is_plan_at(self, moment: datetime, known: datetime) -> bool:
        """Tell whether it was the plan at that moment, as far as was known by another: plans change from a day on."""
        ended = self.withdrawn_at is not None and self.withdrawn_at <= min(moment, known)
        return not ended and (self.since is None or self.since <= moment)
