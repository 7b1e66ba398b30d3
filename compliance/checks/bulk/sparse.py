"""A dish's row of codes as bytes: only the types of which there is something to say."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from compliance.checks.bulk.codes import Codes

SIZE = 6
"""Bytes for each."""


class TooManyTypes(Exception):
    """More restriction types than a column number of 16 bits can name."""


def packed(row: Codes) -> bytes:
    """Return the columns with something to say (two bytes each), then their codes (four bytes each), little-endian."""
    if len(row) > 1 << 16:
        raise TooManyTypes(f"{len(row):,} restriction types in one run: check fewer sites at once.")
    columns = np.flatnonzero(row)
    return columns.astype("<u2").tobytes() + row[columns].astype("<u4").tobytes()


def unpacked(stored: bytes) -> tuple[npt.NDArray[np.uint16], Codes]:
    """Return the columns with something to say, and their codes."""
    count = len(stored) // SIZE
    return np.frombuffer(stored, "<u2", count), np.frombuffer(stored, "<u4", count, offset=2 * count)
