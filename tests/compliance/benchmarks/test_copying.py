"""Binary COPY, against bytes put together by hand after the PostgreSQL manual (COPY, File Formats, Binary Format)."""

from __future__ import annotations

import struct
from datetime import date

import numpy as np

from compliance.benchmarks import copying
from compliance.benchmarks.rows import Rows, packed_rows


def test_a_row_of_numbers() -> None:
    """The count of fields, then each field's size and its value, all in network byte order."""
    written = copying.numbers([("i8", [1, 7]), ("i4", [0, -1]), ("i2", [2, 0])])
    first = b"\x00\x03" + b"\x00\x00\x00\x08" + bytes(7) + b"\x01" + b"\x00\x00\x00\x04" + bytes(4)
    second = b"\x00\x03" + b"\x00\x00\x00\x08" + bytes(7) + b"\x07" + b"\x00\x00\x00\x04" + b"\xff" * 4
    assert written == first + b"\x00\x00\x00\x02\x00\x02" + second + b"\x00\x00\x00\x02\x00\x00"


def rows(found: list[tuple[int, ...]]) -> Rows:
    """Exceptions as columns."""
    return Rows(tuple(np.array([row[n] for row in found], dtype=np.int64) for n in range(8)))


def test_a_file_begins_and_ends_as_the_manual_says() -> None:
    """Signature, no flags, no extension; at the end a count of fields of minus one. Without a row nothing between."""
    assert packed_rows(rows([])) == b"PGCOPY\n\xff\r\n\0" + bytes(4) + bytes(4) + b"\xff\xff"
    whole = packed_rows(rows([(1, 2, 3, 4, 5, date(2000, 1, 2).toordinal(), 2, 20)]))
    assert whole[19:21] == b"\x00\x08" and whole[-2:] == b"\xff\xff"
    assert whole[21:-2] == b"".join(struct.pack("!iq", 8, n) for n in range(1, 6)) + struct.pack(
        "!iiihih", 4, 1, 2, 2, 2, 20
    )
