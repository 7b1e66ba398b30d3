"""Photos of labels: those that wait to be used, and those kept with the label version that was taken from them."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.utils import timezone

from menus.models.facts import Fact
from menus.models.label import Label
from menus.models.product import Product
from menus.models.site import Site
from menus.ocr.lines import Line, joined, lines_from_json


def path_of(photo: models.Model, name: str) -> str:
    """Return where a photo is kept: a name that says nothing and that nobody guesses."""
    return f"{timezone.now():%Y/%m}/{uuid4().hex}.jpg"


class Photo(models.Model):
    """A picture of our own making (see `menus.pictures`), and the words that a machine read on it."""

    image = models.FileField(upload_to=path_of)
    sha256 = models.CharField(max_length=64, help_text="Of the file as kept.")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+", help_text="Where it was taken.")
    taken_at = models.DateTimeField(default=timezone.now)
    read_by = models.CharField(max_length=40, blank=True, help_text="The reader with its version; empty: not read.")
    lines = models.JSONField(default=list, blank=True, help_text="As read, before anybody mended it.")

    class Meta:
        abstract = True

    @property
    def as_read(self) -> tuple[Line, ...]:
        """The lines in reading order."""
        return lines_from_json(self.lines)

    @property
    def text(self) -> str:
        """The lines as one text."""
        return joined(self.as_read)

    @property
    def doubtful(self) -> list[Line]:
        """The lines that a person should look at first."""
        return [line for line in self.as_read if line.is_doubtful]


class PhotoDraftQuerySet(models.QuerySet["PhotoDraft"]):
    """Photos that wait, by whom and for what."""

    def waiting(self, person: Any, product: Product | None, site: Site) -> PhotoDraftQuerySet:
        """What the person took at the site for the label of that product, or of a food not yet on record."""
        return self.filter(person=person, product=product, site=site)

    def taken_before(self, moment: datetime) -> PhotoDraftQuerySet:
        """Those that nobody has used since."""
        return self.filter(taken_at__lt=moment)


class PhotoDraft(Photo):
    """A photo whose text nobody has confirmed yet. It counts for nothing and is discarded when it is not used."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    product = models.ForeignKey(Product, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    unread = models.CharField(max_length=300, blank=True, help_text="Why it was not read, as told to the person.")

    objects = PhotoDraftQuerySet.as_manager()

    class Meta:
        ordering = ["taken_at", "pk"]

    def __str__(self) -> str:
        return f"photo of {self.taken_at:%Y-%m-%d %H:%M} UTC by {self.person}"


class LabelPhoto(Photo, Fact):
    """A photo of a label version, with who took it and who found that the text agrees with it."""

    label = models.ForeignKey(Label, on_delete=models.PROTECT, related_name="photos")
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    confirmed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint(fields=["label", "sha256"], name="label_photo_once")]

    def __str__(self) -> str:
        return f"photo of {self.label}"
