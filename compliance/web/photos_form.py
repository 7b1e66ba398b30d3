"""The part of a form that takes photos of a label and holds them until somebody has compared the words with them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.http import QueryDict

from compliance.web.fields import offer
from compliance.web.numbers import row_numbers
from compliance.web.signed_in import SignedInRequest
from menus.models import PhotoDraft, Product, Site
from menus.ocr.reader import available
from menus.services.photos import discard_photo, keep_photo, read_photo


class PhotoForm(forms.Form):
    """Photos stand beside the words that were read from them or typed beside them. Nothing is saved unconfirmed.

    Whatever button was pressed, a picture that comes along is taken in first, and the page is shown again with it.
    """

    picture = forms.FileField(
        label="Photo of the label",
        required=False,
        allow_empty_file=True,  # refused below, by what it holds
        widget=forms.FileInput({"accept": "image/*", "capture": "environment"}),
    )
    photos = forms.ModelMultipleChoiceField(
        PhotoDraft.objects.none(),
        required=False,
        widget=forms.MultipleHiddenInput,
        error_messages=dict.fromkeys(
            ("invalid_choice", "invalid_pk_value", "invalid_list"),
            "A photo that stood here is no longer kept. Take it again, or compare the words with the package.",
        ),
    )
    compared = forms.BooleanField(
        label="I compared these words with the photo, to the end, and mended what differed", required=False
    )

    def __init__(self, request: SignedInRequest, *, site: Site, product: Product | None = None) -> None:
        sent = request.method == "POST"
        super().__init__(request.POST if sent else None, request.FILES if sent else None, label_suffix="")
        self.person, self.site, self.product = request.user, site, product
        self.reads = available()
        # Whether a photo is to be added or taken off, as opposed to the form being sent for good.
        self.asks_for_photos = "picture" in self.files or "add-photo" in self.data or "drop" in self.data
        self.taken: PhotoDraft | None = None
        waiting = PhotoDraft.objects.waiting(self.person, product, site)
        offer(self, "photos", waiting)
        if self.is_bound:
            self.kept = list(waiting.filter(pk__in=row_numbers(request.POST.getlist("photos"))))
        else:  # somebody comes back to a label that they began; each new treat is another food
            self.kept = list(waiting) if product else []

    def carry_out(self, typed: str) -> str:
        """Add or take off the photo that was asked for; return what was typed with its words, or without. Slow."""
        self.full_clean()  # before a photo that it names is taken away
        typed = added_below(self._add(), without(self._drop(), typed))
        self.data = QueryDict()  # what was ticked was ticked before this photo stood there
        return typed

    def _drop(self) -> str:
        gone = [each for each in self.kept if str(each.pk) == self.data.get("drop", "")]
        for photo in gone:
            self.kept.remove(photo)
            discard_photo(photo=photo)
        return "".join(photo.text for photo in gone)

    def _add(self) -> str:
        if "picture" not in self.files:
            if "add-photo" in self.data:
                self.add_error("picture", "There is no photo yet. Take or choose one first.")
            return ""
        picture = self.files["picture"]
        assert isinstance(picture, UploadedFile)
        try:
            photo = keep_photo(person=self.person, site=self.site, product=self.product, file=picture)
        except ValidationError as error:
            self.add_error("picture", error)
            return ""
        self.taken = photo
        stood_there = photo in self.kept and photo.read_by
        read_photo(photo=photo)  # again, where it could not be read before
        self.kept = [each for each in self.kept if each != photo] + [photo]
        return "" if stood_there else photo.text

    def is_confirmed(self, words: str) -> bool:
        """Tell whether these words may be saved; else say what is wanted first."""
        if not self.is_valid():
            return False
        if self.kept and words.strip() and not self.cleaned_data["compared"]:
            self.add_error(
                "compared",
                "Compare the words with the photo first, then tick this. Or take the photo off, if it shows something "
                "else.",
            )
        return self.is_valid()


def added_below(words: str, typed: str) -> str:
    """Return what was typed with the words of a photo below it, unless they stand there already."""
    if not words or words in typed:
        return typed
    return f"{typed.rstrip()}\n{words}" if typed.strip() else words


def without(words: str, typed: str) -> str:
    """Return what was typed without the words of a photo, where nobody has mended them."""
    return typed.replace(words, "", 1).strip("\n") if words else typed


def with_photos(data: QueryDict, field: str, photos: PhotoForm) -> QueryDict:
    """Return what was sent once the photos have been seen to, with their words in the field."""
    sent = data.copy()
    sent[field] = photos.carry_out(sent.get(field, "").replace("\r\n", "\n"))
    return sent


def waiting_words(form: PhotoForm, field: str) -> Mapping[str, Any]:
    """Return the words of the photos that wait, as what a fresh form begins with."""
    words = "\n".join(photo.text for photo in form.kept if photo.text)
    return {field: words} if words else {}
