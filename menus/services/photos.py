"""Keep photos of labels, have them read, and bind them to the label version that somebody confirmed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import IO

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models import Q

from menus.models import Label, LabelPhoto, PhotoDraft, Product, Site
from menus.ocr.lines import lines_json
from menus.ocr.reader import NotRead, available, text_of
from menus.pictures import clean
from menus.sealed import with_its_row

KEPT_UNUSED = timedelta(days=7)
MOST_WAITING = 20
"""Photos of one person that wait at once. Beyond that the oldest go: nobody goes back to the twenty-first."""

CARRIED_OVER = ("image", "sha256", "width", "height", "site_id", "taken_at", "read_by", "lines")


def keep_photo(*, person: AbstractBaseUser, site: Site, product: Product | None, file: IO[bytes]) -> PhotoDraft:
    """Keep a photo for the label of the product, or of a food not yet on record, and return it.

    The same picture sent twice is kept once. Raises ValidationError for what is no picture (`menus.pictures.clean`).
    """
    picture = clean(file)
    waiting = PhotoDraft.objects.waiting(person, product, site)
    known = waiting.filter(sha256=picture.sha256).first()
    if known:
        return known
    draft = PhotoDraft(
        person_id=person.pk,
        site=site,
        product=product,
        sha256=picture.sha256,
        width=picture.width,
        height=picture.height,
    )
    with with_its_row(draft.image):
        draft.image.save("", ContentFile(picture.data), save=False)
        draft.save()
    for old in PhotoDraft.objects.filter(person_id=person.pk).order_by("-pk")[MOST_WAITING:]:
        discard_photo(photo=old)
    return draft


def read_photo(*, photo: PhotoDraft) -> None:
    """Have a photo read and keep what was read, or why it was not. Does nothing to one read before.

    Takes seconds: not to be called inside a transaction, which would keep every other writer waiting.
    """
    if photo.read_by or not available():
        return
    with photo.image.open("rb") as file:
        jpeg = file.read()
    try:
        said = text_of(jpeg)
    except NotRead as error:
        photo.unread = str(error)
    else:
        photo.read_by, photo.lines, photo.unread = said.reader, lines_json(said.lines), ""
    # Somebody may have taken it off meanwhile, in another window: then there is nothing to keep.
    PhotoDraft.objects.filter(pk=photo.pk).update(read_by=photo.read_by, lines=photo.lines, unread=photo.unread)


@transaction.atomic
def bind_photos(*, label: Label, photos: Iterable[PhotoDraft], confirmed_by: AbstractBaseUser) -> list[LabelPhoto]:
    """Keep the photos with the label version, for good: that person found that its text agrees with them.

    Raises ValidationError for a photo that was taken for another product, or that is no longer there.
    """
    photos = list(photos)
    if not photos:
        return []
    waiting = PhotoDraft.objects.select_for_update().filter(pk__in=[photo.pk for photo in photos])
    drafts = list(waiting.filter(Q(product=None) | Q(product=label.product_id)))
    if len(drafts) != len(photos):
        raise ValidationError(
            "A photo is no longer kept, or was taken for another product. Take it again.", code="photo-gone"
        )
    known, kept = set(label.photos.values_list("sha256", flat=True)), []
    for draft in drafts:
        if draft.sha256 in known:
            discard_photo(photo=draft)
        else:
            known.add(draft.sha256)
            kept.append(_bound(draft, label, confirmed_by))
    return kept


def _bound(draft: PhotoDraft, label: Label, confirmed_by: AbstractBaseUser) -> LabelPhoto:
    photo = LabelPhoto(
        label=label,
        taken_by_id=draft.person_id,
        confirmed_by_id=confirmed_by.pk,
        **{name: getattr(draft, name) for name in CARRIED_OVER},
    )
    photo.save()
    draft.delete()  # the row alone: the file goes on with the label
    return photo


@transaction.atomic
def discard_photo(*, photo: PhotoDraft) -> None:
    """Take an unused photo away, and its file once that is certain."""
    storage, name = photo.image.storage, str(photo.image.name)
    photo.delete()
    transaction.on_commit(lambda: storage.delete(name))


def discard_unused(*, now: datetime) -> int:
    """Discard the photos that nobody used for a week, and return how many."""
    old = list(PhotoDraft.objects.taken_before(now - KEPT_UNUSED))
    for photo in old:
        discard_photo(photo=photo)
    return len(old)
