"""What a source system said last, row by row: what a later file that holds changes only is read against."""

from __future__ import annotations

from django.db import models


class SourceRow(models.Model):
    """One row of a class list as it was last given, with the few columns that are read.

    It is no fact that anything is checked against, and goes when the source takes the row back.
    """

    source = models.CharField(max_length=40)
    file = models.CharField(max_length=40, help_text="Name of the file, without “.csv”.")
    source_id = models.CharField(max_length=255)
    cells = models.JSONField(help_text="Column → text.")

    class Meta:
        ordering = ["source", "file", "id"]
        constraints = [
            models.UniqueConstraint(fields=["source", "file", "source_id"], name="source_row_unique_in_file")
        ]

    def __str__(self) -> str:
        return f"{self.file} {self.source_id} of {self.source}"
