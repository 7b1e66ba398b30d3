"""Products and who supplies them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import models
from django.db.models import Prefetch, Q

from menus.gtin import validate_gtin
from menus.models.label import Label
from menus.models.site import Jurisdiction, Site


class Supplier(models.Model):
    """Who sells the product to the kitchen."""

    name = models.CharField(max_length=120, unique=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Regulator(models.TextChoices):
    """Which body's labelling rules the product falls under, where a country has more than one."""

    DEFAULT = "", "The country's food law"
    FDA = "fda", "US Food and Drug Administration"
    FSIS = "fsis", "US Food Safety and Inspection Service (meat, poultry, egg products)"
    NONE = "none", "None: home-made"


class ProductQuerySet(models.QuerySet["Product"]):
    """Products with the questions that the service asks of them."""

    def with_label(self, at: datetime) -> ProductQuerySet:
        """Add `current_labels`: the one label version that was current at that moment, or an empty list."""
        return self.prefetch_related(Prefetch("labels", queryset=Label.objects.current(at), to_attr="current_labels"))

    def for_kitchen(self) -> ProductQuerySet:
        """Products that a kitchen buys, as opposed to treats that turned up in a classroom."""
        return self.filter(origin=Product.Origin.KITCHEN)

    def used_at(self, sites: Iterable[Site]) -> ProductQuerySet:
        """Products that one of the sites may use."""
        return self.filter(Q(site=None) | Q(site__in=sites))

    def ready_to_offer(self, site: Site) -> ProductQuerySet:
        """Products with a label on record that can be handed out as they come, at that site."""
        return self.filter(Q(site=None) | Q(site=site), ready_to_eat=True, labels__isnull=False).distinct()

    def matching(self, words: str) -> ProductQuerySet:
        """Products whose name, code or GTIN holds the words."""
        words = words.replace("\x00", "")  # PostgreSQL refuses a query with one
        return self.filter(Q(name__icontains=words) | Q(code__iexact=words) | Q(gtin__endswith=words))


class Product(models.Model):
    """Something bought, or a treat brought in. What is in it is said by its labels."""

    class Origin(models.TextChoices):
        KITCHEN = "kitchen", "Bought by the kitchen"
        CLASSROOM = "classroom", "Brought to a classroom"

    code = models.CharField(max_length=40, unique=True, help_text="The kitchen's own item number.")
    gtin = models.CharField("GTIN", max_length=14, unique=True, null=True, blank=True, validators=[validate_gtin])
    name = models.CharField(max_length=160)
    supplier = models.ForeignKey(Supplier, null=True, blank=True, on_delete=models.PROTECT)
    jurisdiction = models.CharField(
        max_length=5, choices=Jurisdiction.choices, blank=True, help_text="Empty: the site's."
    )
    regulator = models.CharField(max_length=4, choices=Regulator.choices, blank=True)
    origin = models.CharField(max_length=9, choices=Origin.choices, default=Origin.KITCHEN)
    site = models.ForeignKey(
        Site, null=True, blank=True, on_delete=models.PROTECT, help_text="Empty: every site may use it."
    )

    ready_to_eat = models.BooleanField(default=False, help_text="Can be handed out as it comes, as a snack or treat.")

    current_labels: list[Label]

    @property
    def is_treat(self) -> bool:
        """Whether it turned up in a classroom, as opposed to what a kitchen buys."""
        return self.origin == Product.Origin.CLASSROOM

    @property
    def is_home_made(self) -> bool:
        """Whether it comes from a home kitchen, which no labelling law reaches."""
        return self.regulator == Regulator.NONE

    objects = ProductQuerySet.as_manager()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
