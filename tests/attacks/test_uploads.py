"""Files that are not what they say: refused by what they hold, whatever their name or type.

Sources: OWASP File Upload Cheat Sheet (from memory); ISO 32000-1 for what a PDF may hold (see `roster.life.scan`).
"""

from __future__ import annotations

import struct
import zlib
from io import BytesIO

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from menus.pictures import clean
from roster.life.scan import checked_scan
from tests.attacks.conftest import signed_in
from tests.pictures import WAFERS, as_file, label
from tests.web.doors import World

SCRIPT = b"<script>alert(1)</script>"
SVG = b"<?xml version='1.0'?><svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)' width='400' height='400'/>"
PDF = b"%PDF-1.4\n1 0 obj<</Type/Catalog>>endobj\ntrailer<</Root 1 0 R>>\n%%EOF\n"


def png(width: int, height: int, data: bytes = b"") -> bytes:
    """A PNG that says it is so large, with little in it."""

    def part(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + part(b"IHDR", head) + part(b"IDAT", data or zlib.compress(b"\0")) + part(b"IEND", b"")


HOSTILE = {
    "a page named as a picture": b"<!doctype html><html>" + SCRIPT,
    "a drawing that runs": SVG,
    "a drawing, packed": zlib.compress(SVG),
    "a script with the sign of a GIF": b"GIF89a/*" + SCRIPT,
    "a program": b"MZ\x90\x00" + b"\0" * 400,
    "a program for Linux": b"\x7fELF" + b"\0" * 400,
    "a shell script": b"#!/bin/sh\nrm -rf /\n",
    "an archive": b"PK\x03\x04" + b"\0" * 400,
    "nothing": b"",
    "the sign of a JPEG and no more": b"\xff\xd8\xff" + SCRIPT,
    "the sign of a PNG and no more": b"\x89PNG\r\n\x1a\n" + SCRIPT,
    "a picture of a billion pixels": png(32_000, 32_000),
    "a picture of one line": png(1_000_000, 1),
    "a picture that unpacks to far more than it says": png(200, 200, zlib.compress(b"\0" * 50_000_000)),
}


@pytest.mark.parametrize("data", HOSTILE.values(), ids=HOSTILE.keys())
def test_what_is_neither_scan_nor_picture(data: bytes) -> None:
    """Each is refused with a reason, by both doors, or what is kept is a picture of our own making."""
    for door in (checked_scan, clean):
        try:
            kept = door(BytesIO(data))
        except ValidationError as refused:
            assert refused.messages
        else:
            assert kept.data.startswith(b"\xff\xd8\xff") and SCRIPT not in kept.data


@pytest.mark.parametrize(
    "data",
    [
        PDF.replace(b"/Catalog", b"/Catalog/OpenAction<</S/JavaScript/JS (app.alert)>>"),
        PDF.replace(b"/Catalog", b"/Catalog/OpenAction<</S/Launch/F(cmd.exe)>>"),
        PDF.replace(b"/Catalog", b"/Catalog/Names<</EmbeddedFiles 2 0 R/EmbeddedFile 3 0 R>>"),
        PDF.replace(b"%%EOF", b""),
        SCRIPT + PDF,
        b"\0" + PDF,
    ],
    ids=["script", "program", "file inside", "cut off", "page before it", "NUL before it"],
)
def test_a_pdf_that_is_more_than_paper(data: bytes) -> None:
    """Or that is something else first: a reader of one kind would see the page, another the PDF."""
    with pytest.raises(ValidationError):
        checked_scan(BytesIO(data))


@pytest.mark.parametrize("tail", [SCRIPT, b"PK\x03\x04" + b"\0" * 100, PDF], ids=["page", "archive", "PDF"])
def test_a_picture_with_something_behind_it_is_kept_without_it(tail: bytes) -> None:
    """What is kept was drawn anew, so that a file of two kinds is one of one kind."""
    photo = as_file(label(*WAFERS)).read()
    for door in (checked_scan, clean):
        kept = door(BytesIO(photo + tail)).data
        assert kept.startswith(b"\xff\xd8\xff") and tail[:12] not in kept


def test_what_is_handed_out_is_what_it_says(world: World) -> None:
    """The browser may not guess another kind, and no script may run in it, should one have come in all the same."""
    hakim, greta = signed_in(world.cast.hakim), signed_in(world.cast.greta)
    scan = hakim.get(reverse("statement-scan", args=[world.statement.pk]))
    photo = greta.get(reverse("photo", args=[world.photo.pk]))
    assert scan.headers["Content-Disposition"].startswith("attachment")
    for answer, kind in ((scan, "application/pdf"), (photo, "image/jpeg")):
        assert answer.status_code == 200 and answer.headers["Content-Type"] == kind
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert "filename=" in answer.headers["Content-Disposition"]
        assert "unsafe" not in answer.headers["Content-Security-Policy"]
        assert "no-store" in answer.headers["Cache-Control"] or "private" in answer.headers["Cache-Control"]


@pytest.mark.django_db
@pytest.mark.parametrize("path", ["/files/", "/media/", "/static/../.data/files/", "/.data/files/scan"])
def test_no_address_leads_to_the_folder_of_files(path: str) -> None:
    """Only the views that ask who may see them hand them out."""
    assert Client().get(path).status_code in (302, 404)
