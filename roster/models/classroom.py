"""Classrooms."""

from __future__ import annotations

from django.db import models

from menus.models import Site


class Classroom(models.Model):
    """A group of children that eat and are taught together."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="classrooms")
    name = models.CharField(max_length=80)
    grade = models.CharField(max_length=10, blank=True, help_text="CEDS code such as PK, KG, 01.")
    source = models.CharField(max_length=40, blank=True, help_text="The system that the roster came from.")
    source_id = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["site", "name"]
        constraints = [models.UniqueConstraint(fields=["site", "name"], name="classroom_name_unique_at_site")]

    def __str__(self) -> str:
        return self.name
