"""Facts are written once. A correction is a new row, so that what was known at any moment can be read back."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Self, TypeVar

from django.db import models
from django.db.models import Exists, OuterRef
from django.utils import timezone


class FactChanged(Exception):
    """Somebody tried to overwrite or delete a recorded fact."""


class Fact(models.Model):
    """A row that is never edited: record a newer one in its place."""

    recorded_at = models.DateTimeField(default=timezone.now, editable=False, db_index=True)

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise FactChanged(f"{self} is a recorded fact and is never edited. Record a new version in its place.")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise FactChanged(f"{self} is a recorded fact and is never deleted. Record a new version in its place.")


Version = TypeVar("Version", bound=Fact)


class VersionQuerySet(models.QuerySet[Version]):
    """Facts of which each may stand in the place of an older one, by its field `replaces`."""

    def known(self, at: datetime) -> Self:
        """The versions that stood at that moment: recorded by then, and not replaced by then."""
        replaced = self.model._default_manager.filter(replaces=OuterRef("pk"), recorded_at__lte=at)
        return self.filter(recorded_at__lte=at).exclude(Exists(replaced))
