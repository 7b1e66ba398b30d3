"""Scans are taken by what they hold. PDF: ISO 32000-1; JPEG: ITU-T T.81; PNG: W3C Recommendation, signatures."""

from __future__ import annotations

from io import BytesIO

import pytest
from django.core.exceptions import ValidationError
from PIL import Image

from roster.life.scan import MOST_BYTES, checked_scan

PAPER = b"%PDF-1.7\n1 0 obj << /Type /Catalog >> endobj\ntrailer << /Root 1 0 R >>\n%%EOF\n"


def picture(form: str, **saved: object) -> bytes:
    out = BytesIO()
    Image.new("RGB", (400, 300), "white").save(out, form, **saved)
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "media_type"),
    [(PAPER, "application/pdf"), (picture("JPEG"), "image/jpeg"), (picture("PNG"), "image/jpeg")],
)
def test_what_a_scanner_or_a_phone_writes_is_taken(data: bytes, media_type: str) -> None:
    """A PDF as it is; a picture written anew."""
    assert checked_scan(BytesIO(data)).media_type == media_type


def test_a_picture_loses_where_it_was_taken() -> None:
    """The phone's note of place and device is gone."""
    exif = Image.Exif()
    exif[0x010F] = "Wrenfield Phones"
    sent = picture("JPEG", exif=exif)
    assert b"Wrenfield" in sent
    assert b"Wrenfield" not in checked_scan(BytesIO(sent)).data


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "scan-format"),
        (b"<html><script>alert(1)</script>", "scan-format"),
        (b"#!/bin/sh\nrm -rf /\n%PDF-1.7 %%EOF", "scan-format"),
        (b"PK\x03\x04 word/document.xml", "scan-format"),
        (picture("GIF"), "scan-format"),
        (PAPER[:-7], "scan-cut"),
        (PAPER.replace(b"/Catalog", b"/Catalog /OpenAction << /S /JavaScript >>"), "scan-active"),
        (PAPER.replace(b"/Catalog", b"/Catalog /Names << /EmbeddedFile >>"), "scan-active"),
        (picture("JPEG")[:300], "scan-picture"),
        (b"\xff\xd8\xff<script>", "scan-picture"),
        (PAPER + b" " * MOST_BYTES, "scan-bytes"),
    ],
)
def test_anything_else_is_refused(data: bytes, code: str) -> None:
    """A script under the name of a PDF, an office file, a file cut short, a picture that moves, one too large."""
    with pytest.raises(ValidationError) as refused:
        checked_scan(BytesIO(data))
    assert refused.value.code == code
    assert len(refused.value.messages[0].split(". ")) > 1 or ":" in refused.value.messages[0]
