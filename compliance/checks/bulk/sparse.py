"""A dish's verdicts as bytes: only the restriction types of which there is something to say."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from compliance.checks.bulk.codes import Codes

Types = npt.NDArray[np.uint32]
SIZE = 8
"""Bytes for each."""


def packed(types: Types, row: Codes) -> bytes:
    """Return the ids of the types with something to say, then their codes; four bytes each, little-endian."""
    columns = np.flatnonzero(row)
    return types[columns].astype("<u4").tobytes() + row[columns].astype("<u4").tobytes()


def unpacked(stored: bytes) -> tuple[Types, Codes]:
    """Return the ids of the types with something to say, and their codes."""
    count = len(stored) // SIZE
    return np.frombuffer(stored, "<u4", count), np.frombuffer(stored, "<u4", count, offset=4 * count)
