"""Pictures of labels, drawn for tests: invented words in the font that Pillow brings."""

from __future__ import annotations

from io import BytesIO
from random import Random

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageDraw, ImageFilter, ImageFont

WAFERS = (
    "INGREDIENTS: ENRICHED WHEAT FLOUR, SUGAR,",
    "PALM OIL, EGGS, WHEY POWDER (MILK), SALT.",
    "CONTAINS: WHEAT, EGG, MILK.",
    "MAY CONTAIN HAZELNUTS AND SESAME.",
)


def label(*lines: str, size: int = 30, width: int = 0) -> Image.Image:
    """Draw the lines in black on white; `width` leaves room on the right."""
    font = ImageFont.load_default(size)
    longest = max(font.getlength(line) for line in lines)
    image = Image.new("RGB", (width or int(longest) + 2 * size, int((len(lines) + 2) * 1.5 * size)), "white")
    draw = ImageDraw.Draw(image)
    for number, line in enumerate(lines):
        draw.text((size, (1 + 1.5 * number) * size), line, "black", font=font)
    return image


def noisy(image: Image.Image) -> Image.Image:
    """As a hurried hand takes it under a dim lamp: soft, grey, grainy."""
    grain = Image.frombytes("L", image.size, Random(7).randbytes(image.width * image.height)).convert("RGB")
    return Image.blend(image.filter(ImageFilter.GaussianBlur(1)), grain, 0.25)


def as_file(image: Image.Image, form: str = "JPEG", **more: object) -> BytesIO:
    """Write the picture to a file in memory."""
    file = BytesIO()
    image.save(file, form, **more)
    file.seek(0)
    return file


def upload(image: Image.Image, name: str = "label.jpg") -> SimpleUploadedFile:
    """The picture as a browser sends it."""
    return SimpleUploadedFile(name, as_file(image).read(), "image/jpeg")
