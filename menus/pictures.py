"""Pictures that people send in: checked, turned upright, and written anew without anything but what they show."""

from __future__ import annotations

import hashlib
import struct
import zlib
from dataclasses import dataclass
from io import BytesIO
from threading import Lock
from typing import IO

from django.core.exceptions import ValidationError
from PIL import Image, ImageOps

MOST_BYTES = 12_000_000
MOST_PIXELS = 50_000_000
LEAST_SIDE = 120
"""Pixels below which no label can be read, by anybody."""

LONGEST_SIDE = 4096
"""Pixels that are kept along the longer side: about 30 to the millimetre for a package as wide as a hand."""

QUALITY = 88

FORMATS = ("JPEG", "PNG", "WEBP")
# Phones write a JPEG that holds further pictures (depth, brightness) behind the first; Pillow calls it MPO.
STILLS = (*FORMATS, "MPO")

BROKEN = (OSError, SyntaxError, ValueError, EOFError, struct.error, zlib.error)
"""What Pillow raises for a file that is cut short or damaged."""

# A picture of the largest size takes some 400 MB while it is turned. Two at once gain nothing on a small machine.
_one_at_a_time = Lock()


@dataclass(frozen=True, slots=True)
class Picture:
    """A JPEG of our own making, upright, with no metadata."""

    data: bytes
    width: int
    height: int

    @property
    def sha256(self) -> str:
        """The digest of the bytes, by which the same picture is known again."""
        return hashlib.sha256(self.data).hexdigest()


def clean(file: IO[bytes]) -> Picture:
    """Return what the file shows as a picture of our own making.

    The place, the time and the device that a phone writes into a photo are gone. Raises ValidationError for what is no
    still JPEG, PNG or WebP picture, is damaged, or is too large or too small.
    """
    data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise ValidationError(
            "This file is larger than %(most)s MB. Take the photo at a lower resolution, or cut it down to the label.",
            code="picture-bytes",
            params={"most": MOST_BYTES // 1_000_000},
        )
    with _one_at_a_time:
        return _encoded(_upright(_opened(data)))


def _opened(data: bytes) -> Image.Image:
    try:
        image = Image.open(BytesIO(data), formats=FORMATS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise _too_many_pixels() from error
    except BROKEN as error:
        raise ValidationError(
            "This file is no JPEG, PNG or WebP picture, whatever its name says. Take the photo again, or save the "
            "picture in one of these forms.",
            code="picture-format",
        ) from error
    _check(image)
    return image


def _check(image: Image.Image) -> None:
    """Refuse by what the file says of itself, before anything is unpacked."""
    if image.width * image.height > MOST_PIXELS:
        raise _too_many_pixels()
    if min(image.size) < LEAST_SIDE:
        raise ValidationError(
            "This picture is %(width)s by %(height)s pixels, too small for a label to be read. Take the photo closer.",
            code="picture-small",
            params={"width": image.width, "height": image.height},
        )
    if image.format not in STILLS or (image.format != "MPO" and getattr(image, "n_frames", 1) > 1):
        raise ValidationError(
            "This is a moving picture, and only one moment of it could be kept. Take a photo.", code="picture-moving"
        )


def _upright(image: Image.Image) -> Image.Image:
    """Return the picture as it was held, on white where it is transparent."""
    try:
        turned = ImageOps.exif_transpose(image)
        turned.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        if not turned.has_transparency_data:
            return turned.convert("RGB")
        shown = turned.convert("RGBA")
    except BROKEN as error:
        raise ValidationError(
            "This picture is damaged or was cut off on its way. Take the photo again.", code="picture-damaged"
        ) from error
    white = Image.new("RGBA", shown.size, "white")
    white.alpha_composite(shown)
    return white.convert("RGB")


def _encoded(image: Image.Image) -> Picture:
    image.info.clear()  # else the writer takes comments, colour profiles and the place along
    out = BytesIO()
    image.save(out, "JPEG", quality=QUALITY)
    return Picture(out.getvalue(), image.width, image.height)


def _too_many_pixels() -> ValidationError:
    return ValidationError(
        "This picture has more than %(most)s megapixels. Take the photo at a lower resolution.",
        code="picture-pixels",
        params={"most": MOST_PIXELS // 1_000_000},
    )
