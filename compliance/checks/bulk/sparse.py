"""A dish's verdicts as bytes: only the restriction types of which there is something to say."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from compliance.checks.bulk.codes import Codes

Types = npt.NDArray[np.uint32]
Places = npt.NDArray[np.intp]
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


def places(types: Iterable[int]) -> Places:
    """Return where each type stands among these, by its id; -1 for any other."""
    wanted = list(types)
    found = np.full(max(wanted, default=-1) + 1, -1, dtype=np.intp)
    found[wanted] = np.arange(len(wanted))
    return found


def placed(stored: bytes, where: Places, width: int) -> Codes:
    """Return the codes of the types that have a place, each at its own, in a row of that width; zero elsewhere."""
    types, codes = unpacked(stored)
    known = types < len(where)
    place = where[types[known]]
    row = np.zeros(width, dtype=np.uint32)
    row[place[place >= 0]] = codes[known][place >= 0]
    return row
