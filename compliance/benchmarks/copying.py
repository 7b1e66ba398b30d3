"""Rows as PostgreSQL's binary COPY takes them (PostgreSQL manual, COPY, binary format)."""

from __future__ import annotations

import struct
from collections.abc import Sequence
from datetime import date

import numpy as np
import numpy.typing as npt

BEGIN = b"PGCOPY\n\xff\r\n\x00" + bytes(8)
END = struct.pack("!h", -1)
EPOCH = date(2000, 1, 1).toordinal()
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
