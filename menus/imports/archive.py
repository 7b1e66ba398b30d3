"""Opening a zip that somebody sent: XLSX files are zips too."""

from __future__ import annotations

import io
import lzma
import struct
import zipfile
import zlib

from django.conf import settings

from menus.imports.problem import Unreadable

GROWTH = 20
"""How much larger than IMPORT_MAX_BYTES the unpacked content may be. Tables shrink to a tenth; more is an attack."""
MEMBERS = 2_000
DENSEST, SMALL = 200, 1_000_000
"""A part larger than SMALL bytes that unpacks to more than DENSEST times its weight was made to do harm: a table of one
value all through stays below a hundred times. Common practice, no source."""

ENCRYPTED = 0x1
BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    struct.error,
    EOFError,
    OSError,
    ValueError,
    OverflowError,
    RuntimeError,  # also NotImplementedError: a way of packing that Python does not know
)
"""What the standard library raises on a zip that is damaged or made to do harm."""


def open_archive(data: bytes) -> zipfile.ZipFile:
    """Open the zip, or raise Unreadable when it is broken, locked, or would unpack to more than we take.

    The sizes come from the zip's own table. They can be relied on: zipfile never yields more than they say.
    """
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
    except BROKEN as error:
        raise Unreadable(
            "The file begins like an .xlsx or .zip file and cannot be opened as one.",
            "It may have been cut short on its way: save or fetch it again.",
        ) from error
    _refuse_bomb(archive)
    return archive


def read_member(archive: zipfile.ZipFile, name: str) -> bytes:
    """Return one part of the zip, or raise Unreadable when it is damaged."""
    try:
        return archive.read(name)
    except BROKEN as error:
        raise Unreadable("This part of the zip is damaged.", "Fetch the zip again.", file=name) from error


def _refuse_bomb(archive: zipfile.ZipFile) -> None:
    members = archive.infolist()
    limit = settings.IMPORT_MAX_BYTES * GROWTH
    if len(members) > MEMBERS or sum(member.file_size for member in members) > limit:
        raise Unreadable(
            f"Unpacked, the file would be larger than {limit:,} bytes or hold more than {MEMBERS:,} parts.",
            "Keep one plain table in it, without pictures, and split it when it is long.",
        )
    if any(member.file_size > max(SMALL, DENSEST * member.compress_size) for member in members):
        raise Unreadable(
            f"A part of the file unpacks to more than {DENSEST} times its weight, as no table does.",
            "Copy the table into a new file and save that one.",
        )
    if any(member.flag_bits & ENCRYPTED for member in members):
        raise Unreadable("The file is locked with a password.", "Take off the password and save it again.")
