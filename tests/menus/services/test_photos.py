"""Photos of labels: kept, read, bound, discarded."""

from __future__ import annotations

from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.core.files.storage import default_storage
from django.utils import timezone

from menus.models import LabelPhoto, PhotoDraft, Product, Site
from menus.models.facts import FactChanged
from menus.ocr.lines import Line, Word
from menus.ocr.reader import NotRead, PhotoText
from menus.pictures import Picture, clean
from menus.services import photos as service
from menus.services.photos import MOST_WAITING, bind_photos, discard_photo, discard_unused, keep_photo, read_photo
from tests.cast import Cast
from tests.factories import LabelFactory
from tests.pictures import WAFERS, as_file, label

pytestmark = pytest.mark.django_db

SAID = PhotoText("reader 1", (Line((Word("SALT", 0.99), Word("MLK.", 0.4))),))


def keep(cast: Cast, *lines: str, product: Product | None = None, site: Site | None = None) -> PhotoDraft:
    """Greta photographs a label of these words."""
    file = as_file(label(*(lines or WAFERS)))
    return keep_photo(person=cast.greta, site=site or cast.ferrowick, product=product, file=file)


def stored(photo: Any) -> bool:
    """Whether the photo's file lies there."""
    return default_storage.exists(photo.image.name)


@pytest.fixture
def read_as(monkeypatch: pytest.MonkeyPatch) -> list[bytes]:
    """A reader that says SAID, and what it was given."""
    given: list[bytes] = []
    monkeypatch.setattr(service, "text_of", lambda jpeg: given.append(jpeg) or SAID)
    return given


class TestKeeping:
    def test_a_photo_is_kept_as_a_picture_of_our_own(self, cast: Cast) -> None:
        """With its size and the digest of what lies in the file; not yet read."""
        photo = keep(cast, product=cast.larder.bread)
        with photo.image.open("rb") as file:
            kept = file.read()
        assert Picture(kept, photo.width, photo.height).sha256 == photo.sha256
        assert kept == clean(as_file(label(*WAFERS))).data
        assert (photo.person, photo.product, photo.read_by, photo.lines) == (cast.greta, cast.larder.bread, "", [])

    def test_its_name_says_nothing(self, cast: Cast) -> None:
        """Neither whose, nor of what, nor which file it was."""
        file = as_file(label(*WAFERS))
        file.name = "../../Greta at Elm Street.jpg"
        photo = keep_photo(person=cast.greta, site=cast.ferrowick, product=None, file=file)
        assert photo.image.name.endswith(".jpg") and len(Path(photo.image.name).stem) == 32
        assert "Greta" not in photo.image.name and ".." not in photo.image.name

    def test_the_same_picture_twice_is_one(self, cast: Cast) -> None:
        """A page sent again keeps no second copy; for another product it is another photo."""
        assert keep(cast) == keep(cast) != keep(cast, product=cast.larder.bread)
        assert keep(cast, "SALT") != keep(cast)
        assert PhotoDraft.objects.count() == 3

    def test_what_is_no_picture_leaves_nothing(self, cast: Cast) -> None:
        """No row, no file."""
        with pytest.raises(ValidationError, match="no JPEG, PNG or WebP picture"):
            keep_photo(person=cast.greta, site=cast.ferrowick, product=None, file=BytesIO(b"sugar"))
        assert not PhotoDraft.objects.exists()

    def test_a_row_that_cannot_be_written_leaves_no_file(self, cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
        """What no row names, nobody would ever discard."""
        written: list[str] = []

        def fails(photo: PhotoDraft, **_: Any) -> None:
            written.append(photo.image.name)
            raise RuntimeError("the disk is full")

        monkeypatch.setattr(PhotoDraft, "save", fails)
        with pytest.raises(RuntimeError):
            keep(cast)
        assert written and not default_storage.exists(written[0])

    def test_the_oldest_go_when_too_many_wait(
        self, cast: Cast, monkeypatch: pytest.MonkeyPatch, django_capture_on_commit_callbacks: Any
    ) -> None:
        """Of one person; nobody else's."""
        monkeypatch.setattr(service, "MOST_WAITING", 2)
        theirs = keep_photo(person=cast.pavel, site=cast.tansy_gate, product=None, file=as_file(label("RICE")))
        with django_capture_on_commit_callbacks(execute=True):
            first, *rest = (keep(cast, word) for word in ("SUGAR", "SALT", "OATS"))
        assert list(PhotoDraft.objects.order_by("pk")) == [theirs, *rest]
        assert not stored(first) and all(stored(each) for each in rest)
        assert MOST_WAITING >= 10, "a label with front, back and sides, and a second try of each"


class TestReading:
    def test_what_was_read_is_kept_with_the_photo(self, cast: Cast, read_as: list[bytes]) -> None:
        """Who read it, every word, how sure; the doubtful lines are known."""
        photo = keep(cast)
        read_photo(photo=photo)
        photo = PhotoDraft.objects.get()
        assert (photo.read_by, photo.text, photo.as_read) == ("reader 1", "SALT MLK.", SAID.lines)
        assert photo.doubtful == list(SAID.lines)
        assert read_as == [clean(as_file(label(*WAFERS))).data]

    def test_a_photo_is_read_once(self, cast: Cast, read_as: list[bytes]) -> None:
        """It takes seconds."""
        photo = keep(cast)
        read_photo(photo=photo)
        read_photo(photo=photo)
        assert len(read_as) == 1

    def test_why_it_was_not_read_is_kept_and_it_may_be_tried_again(
        self, cast: Cast, monkeypatch: pytest.MonkeyPatch, read_as: list[bytes]
    ) -> None:
        """The photo stays."""

        def fails(jpeg: bytes) -> PhotoText:
            raise NotRead("It took too long.")

        photo = keep(cast)
        with monkeypatch.context() as patch:
            patch.setattr(service, "text_of", fails)
            read_photo(photo=photo)
        photo.refresh_from_db()
        assert (photo.unread, photo.read_by) == ("It took too long.", "")
        read_photo(photo=photo)
        photo.refresh_from_db()
        assert (photo.unread, photo.read_by) == ("", "reader 1")

    def test_where_photos_are_not_read(self, cast: Cast, monkeypatch: pytest.MonkeyPatch, read_as: list[bytes]) -> None:
        """Nothing is tried, and nothing is amiss."""
        monkeypatch.setattr(service, "available", lambda: False)
        photo = keep(cast)
        read_photo(photo=photo)
        assert (photo.unread, photo.read_by, read_as) == ("", "", [])


class TestBinding:
    def test_the_photo_goes_on_with_the_label_for_good(self, cast: Cast, read_as: list[bytes]) -> None:
        """All that is known of it, its file and who confirmed it; it waits no more."""
        draft = keep(cast, product=cast.larder.bread)
        read_photo(photo=draft)
        [photo] = bind_photos(label=cast.larder.bread.labels.get(), photos=[draft], confirmed_by=cast.greta)
        photo = LabelPhoto.objects.get(pk=photo.pk)
        assert (photo.taken_by, photo.confirmed_by, photo.site) == (cast.greta, cast.greta, cast.ferrowick)
        assert (photo.sha256, photo.read_by, photo.text) == (draft.sha256, "reader 1", "SALT MLK.")
        assert photo.taken_at == draft.taken_at
        assert stored(photo) and not PhotoDraft.objects.exists()

    def test_it_is_a_fact(self, cast: Cast) -> None:
        """Never edited, never deleted."""
        [photo] = bind_photos(label=LabelFactory(), photos=[keep(cast)], confirmed_by=cast.greta)
        with pytest.raises(FactChanged):
            photo.save()
        with pytest.raises(FactChanged):
            photo.delete()

    def test_a_photo_of_another_product_is_refused(self, cast: Cast) -> None:
        """And none of those beside it is bound."""
        right, wrong = keep(cast, "SALT", product=cast.larder.bread), keep(cast, product=cast.larder.ham)
        with pytest.raises(ValidationError, match="taken for another product"):
            bind_photos(label=cast.larder.bread.labels.get(), photos=[right, wrong], confirmed_by=cast.greta)
        assert (LabelPhoto.objects.count(), PhotoDraft.objects.count()) == (0, 2)

    def test_a_photo_bound_already_is_not_bound_twice(self, cast: Cast) -> None:
        """Two tabs, one photo."""
        draft, bread = keep(cast), cast.larder.bread.labels.get()
        bind_photos(label=bread, photos=[draft], confirmed_by=cast.greta)
        with pytest.raises(ValidationError, match="no longer kept"):
            bind_photos(label=bread, photos=[draft], confirmed_by=cast.greta)

    def test_the_same_picture_stands_with_a_label_once(self, cast: Cast) -> None:
        """A label checked twice in a day is one version; the copy goes."""
        bread = cast.larder.bread.labels.get()
        bind_photos(label=bread, photos=[keep(cast)], confirmed_by=cast.greta)
        assert bind_photos(label=bread, photos=[keep(cast)], confirmed_by=cast.greta) == []
        assert bread.photos.count() == 1 and not PhotoDraft.objects.exists()

    def test_two_drafts_of_one_picture_are_one(self, cast: Cast) -> None:
        """Two windows sent it at one moment."""
        first = keep(cast)
        second = PhotoDraft.objects.get(pk=first.pk)
        second.pk, second._state.adding = None, True
        second.save()
        assert len(bind_photos(label=LabelFactory(), photos=[first, second], confirmed_by=cast.greta)) == 1
        assert not PhotoDraft.objects.exists()

    def test_none_is_fine(self, cast: Cast) -> None:
        """Most labels are typed."""
        assert bind_photos(label=cast.larder.bread.labels.get(), photos=[], confirmed_by=cast.greta) == []


class TestDiscarding:
    def test_the_file_goes_with_the_row(self, cast: Cast, django_capture_on_commit_callbacks: Any) -> None:
        """But not before it is certain that the row goes."""
        photo = keep(cast)
        with django_capture_on_commit_callbacks() as waiting:
            discard_photo(photo=photo)
            assert stored(photo)
        for act in waiting:
            act()
        assert not stored(photo) and not PhotoDraft.objects.exists()

    def test_after_a_week_what_nobody_used_goes(self, cast: Cast, django_capture_on_commit_callbacks: Any) -> None:
        """What was used stays for ever."""
        now = timezone.now()
        old, new, used = keep(cast, "SUGAR"), keep(cast, "SALT"), keep(cast, "OATS")
        [bound] = bind_photos(label=LabelFactory(), photos=[used], confirmed_by=cast.greta)
        PhotoDraft.objects.filter(pk=old.pk).update(taken_at=now - timedelta(days=7, minutes=1))
        PhotoDraft.objects.filter(pk=new.pk).update(taken_at=now - timedelta(days=6, hours=23))
        with django_capture_on_commit_callbacks(execute=True):
            assert discard_unused(now=now) == 1
        assert list(PhotoDraft.objects.all()) == [new]
        assert not stored(old) and stored(new)
        with django_capture_on_commit_callbacks(execute=True):
            discard_unused(now=now + timedelta(days=400))
        assert stored(bound) and LabelPhoto.objects.get() == bound
