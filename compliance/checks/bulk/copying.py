"""Rows as PostgreSQL's binary COPY takes them (PostgreSQL manual, COPY, binary format)."""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

import numpy as np
import numpy.typing as npt

BEGIN = b"PGCOPY\n\xff\r\n\x00" + bytes(8)
END = struct.pack("!h", -1)
_EPOCH = date(2000, 1, 1).toordinal()
"""PostgreSQL counts days from there."""


def numbers(columns: Sequence[tuple[str, npt.ArrayLike]]) -> bytes:
    """Return rows of numbers from their columns, each with its kind: i8 bigint, i4 integer and date, i2 smallint."""
    made: list[tuple[str, str]] = [("fields", ">i2")]
    for place, (kind, _) in enumerate(columns):
        made += [(f"size{place}", ">i4"), (f"value{place}", f">{kind}")]
    first = np.asarray(columns[0][1])
    rows = np.empty(len(first), dtype=made)
    rows["fields"] = len(columns)
    for place, (kind, values) in enumerate(columns):
        rows[f"size{place}"] = int(kind[1:])
        rows[f"value{place}"] = values
    return rows.tobytes()


def days(dates: Iterable[date]) -> npt.NDArray[Any]:
    """Return dates as PostgreSQL stores them."""
    return np.fromiter((each.toordinal() - _EPOCH for each in dates), dtype=np.int32)


def with_bytes(leading: Sequence[tuple[int, ...]], blobs: Sequence[bytes]) -> bytes:
    """Return rows of so many bigint columns, the same for all, and a bytea."""
    parts: list[bytes] = []
    for row, blob in zip(leading, blobs, strict=True):
        fields = struct.pack(
            f"!h{'iq' * len(row)}i", len(row) + 1, *(part for each in row for part in (8, each)), len(blob)
        )
        parts += (fields, blob)
    return b"".join(parts)
