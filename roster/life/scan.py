"""Scans of statements: checked by what they hold, whatever their name says."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from io import BytesIO
from typing import IO

from django.core.exceptions import ValidationError

from menus.pictures import clean

MOST_BYTES = 10_000_000
PDF, JPEG, PNG = b"%PDF-", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n"
ENDS = 2048
"""How near to its end a PDF says that it ends (ISO 32000-1, annex H, asks readers to look in the last 1024 bytes)."""

ACTIVE = (b"/JavaScript", b"/JS ", b"/Launch", b"/EmbeddedFile", b"/RichMedia")
"""What makes a PDF more than paper (ISO 32000-1, 7.11.4, 12.6.4). A scanner writes none of it."""


@dataclass(frozen=True, slots=True)
class Scan:
    """A file that may be kept."""

    data: bytes
    media_type: str

    @property
    def sha256(self) -> str:
        """The digest of what is kept."""
        return hashlib.sha256(self.data).hexdigest()


def checked_scan(file: IO[bytes]) -> Scan:
    """Return the scan. A picture is written anew without the place and device that phones put in.

    Raises ValidationError for what is no PDF, JPEG or PNG by its content, is cut off, too large, or holds a program.
    """
    data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise ValidationError(
            "This file is larger than %(most)s MB. Scan the statement in grey at 200 to 300 dots per inch.",
            code="scan-bytes",
            params={"most": MOST_BYTES // 1_000_000},
        )
    if data.startswith(PDF):
        return _pdf(data)
    if data.startswith((JPEG, PNG)):
        return _picture(data)
    raise ValidationError(
        "This file is no PDF, JPEG or PNG, whatever its name says. Scan or photograph the statement anew.",
        code="scan-format",
    )


def _pdf(data: bytes) -> Scan:
    if b"%%EOF" not in data[-ENDS:]:
        raise ValidationError(
            "This PDF was cut off on its way: its end is missing. Send it again, or scan the statement anew.",
            code="scan-cut",
        )
    if any(mark in data for mark in ACTIVE):
        raise ValidationError(
            "This PDF holds a program or another file beside its pages. Print it and scan the paper, or photograph it.",
            code="scan-active",
        )
    return Scan(data, "application/pdf")


def _picture(data: bytes) -> Scan:
    try:
        return Scan(clean(BytesIO(data)).data, "image/jpeg")
    except ValidationError as error:
        raise ValidationError(
            "This picture cannot be kept: it is damaged, moving, or too small or too large to be read as a page. "
            "Photograph the whole statement again, upright and sharp.",
            code="scan-picture",
        ) from error
