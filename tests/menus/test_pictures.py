"""What may come in as a photo, and what is left of it."""

from __future__ import annotations

import struct
import zlib
from io import BytesIO

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from PIL.ExifTags import GPS, IFD, Base

from menus import pictures
from menus.pictures import LEAST_SIDE, LONGEST_SIDE, Picture, clean
from tests.pictures import WAFERS, as_file, label

SECRET = b"Elm Street 7"


def opened(picture: Picture) -> Image.Image:
    """What was made of the file."""
    return Image.open(BytesIO(picture.data))


def located() -> Image.Exif:
    """What a phone writes beside a photo: which way it was held, whose it is, where it was taken."""
    exif = Image.Exif()
    exif[Base.Orientation] = 6
    exif[Base.Artist] = SECRET.decode()
    exif.get_ifd(IFD.GPSInfo).update(
        {GPS.GPSLatitudeRef: "N", GPS.GPSLatitude: (45.0, 30.0, 15.0), GPS.GPSMapDatum: SECRET.decode()}
    )
    return exif


def code_of(file: BytesIO) -> str:
    """The code of the refusal; its message says how to mend it."""
    with pytest.raises(ValidationError) as refused:
        clean(file)
    assert refused.value.message.count(". ") >= 1, "what is wrong, and what to do"
    return str(refused.value.code)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_picture_becomes_a_jpeg(form: str) -> None:
    """Of the same size and content, whatever it was."""
    image = label(*WAFERS)
    made = opened(clean(as_file(image, form)))
    assert (made.format, made.mode, made.size) == ("JPEG", "RGB", image.size)
    assert made.getpixel((1, 1)) == (255, 255, 255) and min(made.convert("L").tobytes()) < 40


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_the_place_and_all_else_about_the_taking_is_gone(form: str) -> None:
    """Source: Exif 2.32 (JEITA CP-3451), tags GPSInfo, Artist, Orientation. Comments go too."""
    more = {"comment": SECRET} if form == "JPEG" else {}
    file = as_file(label(*WAFERS), form, exif=located(), **more)
    if form != "PNG":  # where the text is packed
        assert SECRET in file.getvalue(), "or the test would see nothing"
    picture = clean(file)
    made = opened(picture)
    assert SECRET not in picture.data and b"Exif" not in picture.data
    assert not made.getexif() and "comment" not in made.info


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_it_is_turned_as_it_was_held(form: str) -> None:
    """Orientation 6: the top of what was seen is at the right side of what was written."""
    image = Image.new("RGB", (400, 200), "white")
    image.paste("black", (0, 0, 40, 200))
    made = opened(clean(as_file(image, form, exif=located())))
    assert made.size == (200, 400)
    assert made.getpixel((100, 5))[0] < 40 and made.getpixel((100, 395))[0] > 215


def test_what_is_transparent_is_white() -> None:
    """Black words on nothing stay readable."""
    image = Image.new("RGBA", (300, 300), (0, 0, 0, 0))
    assert opened(clean(as_file(image, "PNG"))).getpixel((150, 150)) == (255, 255, 255)


def test_a_large_photo_is_kept_at_a_size_that_serves() -> None:
    """And a small one is not blown up."""
    made = opened(clean(as_file(Image.new("L", (6000, 3000), 255))))
    assert made.size == (LONGEST_SIDE, LONGEST_SIDE // 2)
    assert opened(clean(as_file(Image.new("L", (LEAST_SIDE, 300), 255)))).size == (LEAST_SIDE, 300)


def test_the_same_file_gives_the_same_picture() -> None:
    """So that a photo sent twice is known again."""
    file = as_file(label(*WAFERS))
    assert clean(file).sha256 == clean(BytesIO(file.getvalue())).sha256 != clean(as_file(label("SALT"))).sha256


def test_a_phone_photo_with_further_pictures_behind_the_first_is_no_moving_picture() -> None:
    """Source: CIPA DC-007, Multi-Picture Format. The first one is what the person saw."""
    file = BytesIO()
    label(*WAFERS).save(file, "MPO", save_all=True, append_images=[Image.new("RGB", (300, 300))])
    file.seek(0)
    assert Image.open(BytesIO(file.getvalue())).n_frames == 2
    assert opened(clean(file)).size == label(*WAFERS).size


class TestRefused:
    """Each with what is wrong and how to mend it."""

    @pytest.mark.parametrize("data", [b"", b"Ingredients: sugar, wheat flour.", b"%PDF-1.7\n", b"<svg/>", b"GIF89a"])
    def test_what_is_no_picture_whatever_its_name(self, data: bytes) -> None:
        """The bytes decide."""
        assert code_of(BytesIO(data)) == "picture-format"

    @pytest.mark.parametrize("form", ["GIF", "BMP", "TIFF"])
    def test_other_pictures(self, form: str) -> None:
        """Fewer decoders, fewer holes."""
        assert code_of(as_file(label(*WAFERS), form)) == "picture-format"

    @pytest.mark.parametrize("size", [(1, 1), (LEAST_SIDE - 1, 4000)])
    def test_too_small(self, size: tuple[int, int]) -> None:
        """One pixel is a picture, and no photo of a label."""
        assert code_of(as_file(Image.new("L", size), "PNG")) == "picture-small"

    @pytest.mark.parametrize("form", ["PNG", "WEBP"])
    def test_moving(self, form: str) -> None:
        """Which moment of it was the label?"""
        frames = [Image.new("RGB", (200, 200), colour) for colour in ("red", "blue")]
        assert code_of(as_file(frames[0], form, save_all=True, append_images=frames[1:])) == "picture-moving"

    @pytest.mark.parametrize("side", [7_100, 12_000, 60_000])
    def test_a_bomb(self, side: int) -> None:
        """A few bytes that say they are gigabytes are refused by their head, before anything is unpacked."""
        assert code_of(BytesIO(png_head(side, side))) == "picture-pixels"

    def test_too_many_bytes(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """No more is read than is needed to know."""
        monkeypatch.setattr(pictures, "MOST_BYTES", 10_000)
        file = as_file(label(*WAFERS), "PNG")
        file.write(b"\0" * 1_000_000)
        file.seek(0)
        assert code_of(file) == "picture-bytes"
        assert file.tell() == 10_001

    @pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
    def test_cut_off_on_its_way(self, form: str) -> None:
        """Half a label looks like a whole one with fewer allergens."""
        data = as_file(label(*WAFERS), form).getvalue()
        assert code_of(BytesIO(data[: len(data) // 2])) in ("picture-damaged", "picture-format")


def png_head(width: int, height: int) -> bytes:
    """The beginning of a PNG of that size."""
    head = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = b"IDAT" + zlib.compress(b"\0" * 100)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(part) - 4) + part + struct.pack(">I", zlib.crc32(part)) for part in (head, body)
    )


GOOD = {form: as_file(Image.new("RGB", (130, 130), "white"), form).getvalue() for form in ("JPEG", "PNG", "WEBP")}


@given(form=st.sampled_from(sorted(GOOD)), at=st.integers(0, 10_000), bytes_=st.binary(min_size=1, max_size=40))
def test_damage_is_refused_or_read_and_never_raises_anything_else(form: str, at: int, bytes_: bytes) -> None:
    """Bytes overwritten anywhere in a file."""
    data = bytearray(GOOD[form])
    at %= len(data)
    data[at : at + len(bytes_)] = bytes_
    try:
        made = clean(BytesIO(bytes(data)))
    except ValidationError:
        return
    assert opened(made).format == "JPEG"
