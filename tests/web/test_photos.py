"""A label from a photo: taken, compared, confirmed, kept, and shown to those who may see it."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from typing import Any

import pytest
from bs4 import BeautifulSoup
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from compliance.models import TreatCheck
from compliance.tasks import discard_unused_photos
from compliance.web import photos_form
from menus.models import Label, LabelPhoto, PhotoDraft, Product
from menus.ocr.lines import Line, Word
from menus.ocr.reader import NotRead, PhotoText
from menus.services import photos as service
from roster.models import Role, User
from tests.cast import Cast
from tests.factories import LabelPhotoFactory, PostFactory, ProductFactory, UserFactory, gtin, labelled
from tests.pictures import WAFERS, label, upload
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db

FRONT = PhotoText("reader 1", (Line((Word("Rice,", 0.99), Word("rnilk.", 0.4))), Line((Word("Salt.", 0.99),))))
READ = "Rice, rnilk.\nSalt."
MENDED = "Rice, milk.\nSalt."


@pytest.fixture
def reader(monkeypatch: pytest.MonkeyPatch) -> list[PhotoText]:
    """A reader that says the next of these, the last one for ever."""
    says = [FRONT]
    monkeypatch.setattr(service, "text_of", lambda jpeg: says.pop(0) if len(says) > 1 else says[0])
    return says


@pytest.fixture
def unread(monkeypatch: pytest.MonkeyPatch) -> None:
    """A service without the extra."""
    for module in (photos_form, service):
        monkeypatch.setattr(module, "available", lambda: False)


def photo(*lines: str) -> SimpleUploadedFile:
    """What a phone sends."""
    return upload(label(*(lines or WAFERS)))


def typed(page: HttpResponse, field: str) -> str:
    """What stands in the text field."""
    found = soup(page).find(id=f"id_{field}")
    assert found is not None
    return found.get_text().strip().replace("\r\n", "\n")


def held(page: HttpResponse) -> list[str]:
    """The photos that the page sends along."""
    return [each["value"] for each in soup(page).select("input[name=photos]")]


def box(page: HttpResponse) -> BeautifulSoup | None:
    """The box to tick."""
    return soup(page).select_one("input[name=compared]")


class TestRecordingALabel:
    """The kitchen's form."""

    def send(self, cast: Cast, product: Product | None = None, **said: Any) -> HttpResponse:
        address = reverse("label-new", args=[(product or cast.larder.bread).pk])
        return as_user(cast.greta).post(address, {"seen_on": timezone.localdate().isoformat(), **said})

    def test_the_words_of_the_photo_reach_the_form_and_are_not_saved(self, cast: Cast, reader: Any) -> None:
        """The photo stands beside them; what was hard to read is marked; what was understood is shown."""
        page = self.send(cast, picture=photo(), **{"add-photo": "1"})
        assert typed(page, "ingredients") == READ
        assert [mark.contents[0] for mark in soup(page).select("mark.doubt")] == ["rnilk."]
        assert held(page) == [str(PhotoDraft.objects.get().pk)]
        assert soup(page).select_one("figure img")["src"] == reverse("photo-draft", args=held(page))
        assert box(page) is not None and not box(page).has_attr("checked")
        assert "Rice, rnilk." in soup(page).select_one("#reading .label-text").get_text()
        assert cast.larder.bread.labels.count() == 1

    def test_a_real_photo_is_read(self, cast: Cast) -> None:
        """No stand-in here: the reader itself, from upload to form."""
        page = self.send(cast, picture=photo(), **{"add-photo": "1"})
        found = typed(page, "ingredients").replace(" ", "")
        assert "WHEATFLOUR" in found and "MAYCONTAINHAZELNUTS" in found
        assert found.index("EGGS") < found.index("CONTAINS:")

    def test_saving_wants_the_comparison(self, cast: Cast, reader: Any) -> None:
        """Without the tick nothing is saved, nothing typed is lost, the photo stays."""
        [kept] = held(self.send(cast, picture=photo(), **{"add-photo": "1"}))
        page = self.send(cast, photos=[kept], ingredients=MENDED)
        assert "Compare the words with the photo first" in words(page)
        assert (typed(page, "ingredients"), held(page)) == (MENDED, [kept])
        assert cast.larder.bread.labels.count() == 1

    def test_confirmed_it_is_saved_with_its_photo_and_says_so(self, cast: Cast, reader: Any) -> None:
        """Who read, who mended, who confirmed; both the words as read and as mended are kept."""
        [kept] = held(self.send(cast, picture=photo(), **{"add-photo": "1"}))
        answer = self.send(cast, photos=[kept], ingredients=MENDED, compared="on")
        saved = cast.larder.bread.labels.get(number=2)
        assert answer.headers["Location"] == reverse("label", args=[saved.pk])
        bound = saved.photos.get()
        assert (saved.ingredients, bound.text) == (MENDED, READ)
        assert not PhotoDraft.objects.exists()
        page = as_user(cast.greta).get(answer.headers["Location"])
        assert "From 1 photo" in words(page)
        assert "Words read by machine (reader 1), compared with the photo and mended by Greta" in words(page)
        assert soup(page).select_one("figure img")["src"] == reverse("photo", args=[bound.pk])

    def test_front_and_back(self, cast: Cast, reader: list[PhotoText]) -> None:
        """The words of the second stand below those of the first; a tick set before it no longer counts."""
        reader.append(PhotoText("reader 1", (Line((Word("Contains: milk.", 0.9),)),)))
        first = self.send(cast, picture=photo("RICE"), **{"add-photo": "1"})
        sent = {"photos": held(first), "ingredients": MENDED, "compared": "on"}
        page = self.send(cast, picture=photo("MILK"), **sent)
        assert typed(page, "ingredients") == f"{MENDED}\nContains: milk."
        assert len(held(page)) == 2 and not box(page).has_attr("checked")
        self.send(cast, photos=held(page), ingredients=typed(page, "ingredients"), compared="on")
        assert cast.larder.bread.labels.get(number=2).photos.count() == 2

    def test_a_photo_that_comes_with_save_is_added_and_not_saved(self, cast: Cast, reader: Any) -> None:
        """Nobody has seen its words yet; and the words typed before stay on top."""
        page = self.send(cast, picture=photo(), ingredients="Oats.")
        assert typed(page, "ingredients") == f"Oats.\n{READ}"
        assert cast.larder.bread.labels.count() == 1

    def test_the_same_photo_again_adds_no_words(self, cast: Cast, reader: Any) -> None:
        """A page that is sent again does not double the label."""
        first = self.send(cast, picture=photo(), **{"add-photo": "1"})
        page = self.send(cast, picture=photo(), photos=held(first), ingredients=READ)
        assert (typed(page, "ingredients"), held(page)) == (READ, held(first))

    def test_taken_off_it_is_gone_with_its_words_and_may_be_taken_anew(
        self, cast: Cast, reader: list[PhotoText]
    ) -> None:
        """A blurred one is taken again without anybody deleting what was made of it."""
        first = self.send(cast, picture=photo("BLUR"), ingredients="Oats.", **{"add-photo": "1"})
        second = self.send(cast, photos=held(first), ingredients=f"Oats.\r\n{READ}", drop=held(first)[0])
        assert (typed(second, "ingredients"), held(second)) == ("Oats.", [])
        third = self.send(cast, picture=photo(), ingredients="Oats.", **{"add-photo": "1"})
        assert typed(third, "ingredients") == f"Oats.\n{READ}"

    def test_taken_off_it_leaves_words_that_somebody_mended(self, cast: Cast, reader: Any) -> None:
        """Nothing typed is lost."""
        first = self.send(cast, picture=photo(), **{"add-photo": "1"})
        page = self.send(cast, photos=held(first), ingredients=MENDED, drop=held(first)[0])
        assert (typed(page, "ingredients"), held(page), box(page)) == (MENDED, [], None)
        assert not PhotoDraft.objects.exists()
        assert "no longer kept" not in words(page)

    def test_who_comes_back_finds_the_photo_and_its_words(self, cast: Cast, reader: Any) -> None:
        """For that product alone, and for who took it alone."""
        first = self.send(cast, picture=photo(), **{"add-photo": "1"})
        address = reverse("label-new", args=[cast.larder.bread.pk])
        page = as_user(cast.greta).get(address)
        assert (held(page), typed(page, "ingredients")) == (held(first), READ)
        other = as_user(cast.greta).get(reverse("label-new", args=[cast.larder.ham.pk]))
        assert (held(other), typed(other, "ingredients")) == ([], "")
        assert held(as_user(cast.hakim).get(address)) == []

    @pytest.mark.parametrize(
        ("file", "told"),
        [
            (SimpleUploadedFile("label.jpg", b"Ingredients: sugar"), "no JPEG, PNG or WebP picture"),
            (SimpleUploadedFile("label.jpg", b""), "no JPEG, PNG or WebP picture"),
            (upload(label("A").resize((1, 1))), "1 by 1 pixels, too small"),
            (None, "There is no photo yet"),
        ],
    )
    def test_what_is_no_photo_is_said_beside_its_field_and_nothing_typed_is_lost(
        self, cast: Cast, reader: Any, file: SimpleUploadedFile | None, told: str
    ) -> None:
        """What, why, how to mend."""
        page = self.send(cast, ingredients=MENDED, **({"picture": file} if file else {}), **{"add-photo": "1"})
        assert told in soup(page).select_one(".take .errorlist").get_text()
        assert typed(page, "ingredients") == MENDED and held(page) == []

    def test_a_reader_that_fails_costs_a_sentence(
        self, cast: Cast, monkeypatch: pytest.MonkeyPatch, reader: Any
    ) -> None:
        """The photo is kept, and the person types beside it."""

        def fails(jpeg: bytes) -> PhotoText:
            raise NotRead("Reading this photo took too long and was stopped.")

        monkeypatch.setattr(service, "text_of", fails)
        page = self.send(cast, picture=photo(), ingredients="Oats.", **{"add-photo": "1"})
        assert "This photo was not read. Reading this photo took too long" in words(page)
        assert typed(page, "ingredients") == "Oats." and len(held(page)) == 1

    def test_a_photo_that_was_not_read_is_read_when_it_is_chosen_again(
        self, cast: Cast, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """As the sentence advises."""

        def busy(jpeg: bytes) -> PhotoText:
            raise NotRead("Other photos are being read.")

        monkeypatch.setattr(service, "text_of", busy)
        first = self.send(cast, picture=photo(), **{"add-photo": "1"})
        monkeypatch.setattr(service, "text_of", lambda jpeg: FRONT)
        page = self.send(cast, picture=photo(), photos=held(first), ingredients="")
        assert (typed(page, "ingredients"), held(page)) == (READ, held(first))
        assert "Other photos" not in words(page)

    def test_no_words_found(self, cast: Cast, reader: list[PhotoText]) -> None:
        """Silence is said."""
        reader[0] = PhotoText("reader 1", ())
        page = self.send(cast, picture=photo(), **{"add-photo": "1"})
        assert "No words were found on this photo" in words(page)

    def test_without_the_extra_the_photo_is_kept_and_the_words_are_typed(self, cast: Cast, unread: None) -> None:
        """The page says so, and how reading is added; the comparison is wanted all the same."""
        page = self.send(cast, picture=photo(), **{"add-photo": "1"})
        assert "Photos are not read here, so type its words beside it" in words(page)
        assert typed(page, "ingredients") == "" and len(held(page)) == 1
        sent = {"photos": held(page), "ingredients": MENDED}
        assert "Compare the words with the photo first" in words(self.send(cast, **sent))
        self.send(cast, compared="on", **sent)
        saved = cast.larder.bread.labels.get(number=2)
        shown = as_user(cast.greta).get(reverse("label", args=[saved.pk]))
        assert "Words typed beside it and compared with it by Greta" in words(shown)

    def test_a_photo_discarded_meanwhile_is_said_to_be_gone(self, cast: Cast, reader: Any) -> None:
        """The words are kept, and nothing is saved in its name."""
        first = self.send(cast, picture=photo(), **{"add-photo": "1"})
        PhotoDraft.objects.all().delete()
        page = self.send(cast, photos=held(first), ingredients=MENDED, compared="on")
        assert "no longer kept" in words(page) and typed(page, "ingredients") == MENDED
        assert cast.larder.bread.labels.count() == 1

    def test_somebody_elses_photo_cannot_be_sent_along(self, cast: Cast, reader: Any) -> None:
        """It is as good as not there."""
        first = self.send(cast, picture=photo(), **{"add-photo": "1"})
        address = reverse("label-new", args=[cast.larder.bread.pk])
        sent = {"photos": held(first), "ingredients": MENDED, "compared": "on", "seen_on": timezone.localdate()}
        page = as_user(cast.hakim).post(address, sent)
        assert "no longer kept" in words(page) and PhotoDraft.objects.get().person == cast.greta

    def test_a_label_typed_without_a_photo_is_saved_as_ever(self, cast: Cast) -> None:
        """No box, no tick."""
        self.send(cast, ingredients=MENDED)
        assert not cast.larder.bread.labels.get(number=2).photos.exists()


class TestCheckingATreat:
    """The teacher's form."""

    def send(self, cast: Cast, **said: Any) -> HttpResponse:
        return as_user(cast.rosa).post("/treat/", {"when": "now", **said})

    def test_from_photo_to_answer(self, cast: Cast, reader: Any) -> None:
        """Two sendings; between them the words are compared; the answer shows the photo."""
        first = self.send(cast, picture=photo(), name="Wafers", **{"add-photo": "1"})
        assert typed(first, "text") == READ
        assert soup(first).find(id="id_name")["value"] == "Wafers"
        assert not TreatCheck.objects.exists()
        answer = self.send(cast, photos=held(first), text=MENDED, name="Wafers", compared="on", by="label")
        check = TreatCheck.objects.get()
        assert (answer.headers["Location"], check.source) == (f"/treat/{check.pk}/", "pasted")
        assert check.label.photos.get().text == READ
        page = as_user(cast.rosa).get(answer.headers["Location"])
        assert "the words of a photo, compared with it by Rosa" in words(page)
        assert soup(page).select_one("figure img")["src"] == reverse("photo", args=[check.label.photos.get().pk])

    def test_nothing_is_checked_before_the_comparison(self, cast: Cast, reader: Any) -> None:
        """A half-read label must not answer for a child."""
        first = self.send(cast, picture=photo(), **{"add-photo": "1"})
        page = self.send(cast, photos=held(first), text=READ, by="label")
        assert "Compare the words with the photo first" in words(page)
        assert typed(page, "text") == READ and held(page) == held(first)
        assert not TreatCheck.objects.exists() and not Label.objects.filter(ingredients=READ).exists()

    def test_all_that_was_filled_in_stays_while_a_photo_is_taken(self, cast: Cast, reader: Any) -> None:
        """Half a number is no mistake yet."""
        page = self.send(
            cast, picture=photo(), gtin="95200", words="waf", when="other", day="2026-13-01", home_made="on"
        )
        kept = {name: soup(page).find(id=f"id_{name}")["value"] for name in ("gtin", "words", "day")}
        assert kept == {"gtin": "95200", "words": "waf", "day": "2026-13-01"}
        assert soup(page).select_one("input[name=home_made]").has_attr("checked")
        assert soup(page).select_one("input[value=other]").has_attr("checked")
        assert not soup(page).select("[role=alert]:not([hidden])")

    @pytest.mark.parametrize("other", ["no_label", "product", "by-name"])
    def test_a_photo_without_words_stands_in_no_way(self, cast: Cast, unread: None, other: str) -> None:
        """Whoever gives the photo up need not tick that they compared it; and it is kept with no other label."""
        first = self.send(cast, picture=photo(), **{"add-photo": "1"})
        said = {
            "no_label": {"no_label": "on"},
            "product": {"product": cast.larder.oat_bar.pk},
            "by-name": {"by": "name"},
        }
        answer = self.send(cast, photos=held(first), words="oat", **said[other])
        assert TreatCheck.objects.exists() is (other != "by-name"), words(answer)
        assert not LabelPhoto.objects.exists()

    def test_a_new_treat_begins_without_the_last_ones_photo(self, cast: Cast, reader: Any) -> None:
        """Another food."""
        self.send(cast, picture=photo(), **{"add-photo": "1"})
        page = as_user(cast.rosa).get("/treat/")
        assert (held(page), typed(page, "text")) == ([], "")

    def test_the_same_label_twice_in_a_day_keeps_the_photo_once(self, cast: Cast, reader: Any) -> None:
        """One label version, one photo."""
        for _ in range(2):
            first = self.send(cast, picture=photo(), **{"add-photo": "1"})
            self.send(cast, photos=held(first), text=MENDED, compared="on", gtin=gtin(3), by="label")
        assert TreatCheck.objects.count() == 2
        assert LabelPhoto.objects.count() == Label.objects.filter(ingredients=MENDED).count() == 1


def outsider(cast: Cast, role: Role) -> User:
    """Somebody with that role at Tansy Gate alone."""
    user = UserFactory(username=f"far-{role}")
    PostFactory(user=user, role=role, site=cast.tansy_gate)
    return user


class TestWhoMaySee:
    """The walk of every address as every role is in test_role_walk.py."""

    def see(self, user: User, name: str, pk: int) -> int:
        return as_user(user).get(reverse(name, args=[pk])).status_code

    def treat(self, cast: Cast, **product: Any) -> LabelPhoto:
        """A photo that Rosa took of a treat for Larks, and the check that it was for."""
        food = labelled("sugar", origin=Product.Origin.CLASSROOM, **product)
        as_user(cast.rosa).post("/treat/", {"when": "now", "product": food.pk})
        return LabelPhotoFactory(label=food.labels.get(), site=cast.ferrowick, taken_by=cast.rosa)

    def test_a_treats_photo_stays_at_its_site(self, cast: Cast) -> None:
        """The words of a label with a number are found everywhere. Its photo, which may show a child, is not."""
        kept = self.treat(cast, gtin=gtin(4), site=None)
        seen = {who: self.see(getattr(cast, who), "photo", kept.pk) for who in ("rosa", "greta", "hakim", "june")}
        assert set(seen.values()) == {200}, seen
        theirs = as_user(cast.dmitri).post("/treat/", {"when": "now", "gtin": gtin(4)})
        page = as_user(cast.dmitri).get(theirs.headers["Location"])
        assert "sugar" in words(page) and not soup(page).select("figure")
        far = [cast.dmitri, cast.pavel, cast.wren, outsider(cast, Role.LICENSED), outsider(cast, Role.ADMINISTRATOR)]
        assert {self.see(user, "photo", kept.pk) for user in far} == {404}

    def test_a_teacher_sees_the_photos_of_what_was_checked_for_their_class_only(self, cast: Cast) -> None:
        """And no other photo of the school."""
        kept = self.treat(cast)
        other = LabelPhotoFactory(label=labelled("rice", origin=Product.Origin.CLASSROOM).labels.get(), site=kept.site)
        kitchen = LabelPhotoFactory(label=cast.larder.bread.labels.get(), site=cast.ferrowick)
        assert [self.see(cast.rosa, "photo", each.pk) for each in (kept, other, kitchen)] == [200, 404, 404]

    def test_the_photo_of_what_every_kitchen_buys_goes_as_far_as_its_label(self, cast: Cast) -> None:
        """One bread for two kitchens."""
        kept = LabelPhotoFactory(label=cast.larder.bread.labels.get(), site=cast.ferrowick)
        assert self.see(cast.pavel, "photo", kept.pk) == 200
        own = LabelPhotoFactory(label=labelled("rye", site=cast.ferrowick).labels.get(), site=cast.ferrowick)
        assert self.see(cast.pavel, "photo", own.pk) == 404
        assert self.see(cast.greta, "photo", own.pk) == 200

    def test_an_unused_photo_is_for_who_took_it(self, cast: Cast, unread: None) -> None:
        """And only while they have a post at its site."""
        as_user(cast.rosa).post("/treat/", {"when": "now", "picture": photo()})
        pk = PhotoDraft.objects.get().pk
        assert self.see(cast.rosa, "photo-draft", pk) == 200
        assert {self.see(user, "photo-draft", pk) for user in (cast.greta, cast.hakim, cast.june, cast.wren)} == {404}
        cast.rosa.posts.update(ends_on=timezone.localdate() - timedelta(days=2))
        assert self.see(cast.rosa, "photo-draft", pk) == 404

    def test_how_it_is_handed_out(self, cast: Cast) -> None:
        """As a picture and nothing else, under a name of ours; kept by the person's browser, which asks each time."""
        kept = LabelPhotoFactory(label=cast.larder.bread.labels.get(), site=cast.ferrowick)
        greta, address = as_user(cast.greta), reverse("photo", args=[kept.pk])
        answer = greta.get(address)
        assert answer.headers["Content-Type"] == "image/jpeg"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Content-Disposition"] == f'inline; filename="label-photo-{kept.pk}.jpg"'
        assert answer.headers["Cache-Control"] == "private, no-cache"
        assert b"".join(answer.streaming_content)[:2] == b"\xff\xd8"
        again = greta.get(address, headers={"If-None-Match": answer.headers["ETag"]})
        assert (again.status_code, again.headers["Cache-Control"]) == (304, "private, no-cache")
        far = as_user(cast.wren).get(address, headers={"If-None-Match": answer.headers["ETag"]})
        assert far.status_code == 404

    def test_a_file_that_is_missing(self, cast: Cast, caplog: pytest.LogCaptureFixture) -> None:
        """Not found, and in the log with its name."""
        kept = LabelPhotoFactory(label=cast.larder.bread.labels.get(), site=cast.ferrowick)
        kept.image.storage.delete(kept.image.name)
        assert self.see(cast.greta, "photo", kept.pk) == 404
        assert kept.image.name in caplog.text

    def test_no_address_leads_to_the_file_itself(self, cast: Cast) -> None:
        """The folder is served by nobody."""
        kept = LabelPhotoFactory(label=ProductFactory() and cast.larder.bread.labels.get(), site=cast.ferrowick)
        for address in (f"/{kept.image.name}", f"/photos/{kept.image.name}", f"/media/{kept.image.name}"):
            assert as_user(cast.june).get(address).status_code == 404


def test_the_night_discards_what_nobody_used(cast: Cast, unread: None) -> None:
    """The task that beat starts each day."""
    as_user(cast.rosa).post("/treat/", {"when": "now", "picture": photo()})
    discard_unused_photos()
    assert PhotoDraft.objects.count() == 1
    PhotoDraft.objects.update(taken_at=timezone.now() - timedelta(days=8))
    discard_unused_photos()
    assert not PhotoDraft.objects.exists()


def test_a_photo_from_upload_to_page_through_the_storage_of_the_service(
    cast: Cast, settings: Any, tmp_path: Any, unread: None
) -> None:
    """Tests keep photos in memory; the service keeps them encrypted in a folder, and hands out the picture itself."""
    sealed = {"BACKEND": "menus.sealed.SealedStorage", "OPTIONS": {"keys": settings.FILE_KEYS, "location": tmp_path}}
    settings.STORAGES = settings.STORAGES | {"default": sealed}
    rosa = as_user(cast.rosa)
    rosa.post("/treat/", {"when": "now", "picture": photo()})
    kept = PhotoDraft.objects.get()
    assert b"JFIF" not in (tmp_path / kept.image.name).read_bytes()
    shown = b"".join(rosa.get(reverse("photo-draft", args=[kept.pk])).streaming_content)
    assert hashlib.sha256(shown).hexdigest() == kept.sha256
