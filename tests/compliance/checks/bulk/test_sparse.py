"""A dish's codes as bytes and back."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from compliance.checks.bulk.sparse import packed, placed, places, unpacked

CODES = st.lists(
    st.tuples(st.integers(1, (1 << 32) - 1), st.sampled_from((0, 0, 1, 1 << 31, (1 << 32) - 1))),
    max_size=300,
    unique_by=lambda pair: pair[0],
)


@given(row=CODES)
def test_what_was_packed_comes_back(row: list[tuple[int, int]]) -> None:
    """Eight bytes for each code that says something, nothing for the others."""
    types = np.array([kind for kind, _ in row], dtype=np.uint32)
    codes = np.array([code for _, code in row], dtype=np.uint32)
    stored = packed(types, codes)
    assert len(stored) == 8 * np.count_nonzero(codes)
    kinds, found = unpacked(stored)
    assert dict(zip(kinds.tolist(), found.tolist(), strict=True)) == {kind: code for kind, code in row if code}


@given(row=CODES, asked=st.lists(st.integers(1, 400), max_size=20, unique=True))
def test_each_code_stands_at_the_place_of_its_type(row: list[tuple[int, int]], asked: list[int]) -> None:
    """Of types that are asked for; what is stored of others is passed over, and where nothing is stored stands zero."""
    said = {kind % 400 + 1: code for kind, code in row}
    types, codes = (np.array(list(each), dtype=np.uint32) for each in (said, said.values()))
    found = placed(packed(types, codes), places(asked), len(asked))
    assert found.tolist() == [said.get(kind, 0) for kind in asked]
