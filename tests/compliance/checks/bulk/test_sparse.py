"""A dish's codes as bytes and back."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.checks.bulk.sparse import TooManyTypes, packed, unpacked


@given(row=st.lists(st.sampled_from((0, 0, 0, 1, 1 << 31, (1 << 32) - 1)), max_size=300))
def test_what_was_packed_comes_back(row: list[int]) -> None:
    """Six bytes for each code that says something, nothing for the others."""
    codes = np.array(row, dtype=np.uint32)
    stored = packed(codes)
    assert len(stored) == 6 * np.count_nonzero(codes)
    columns, found = unpacked(stored)
    assert dict(zip(columns.tolist(), found.tolist(), strict=True)) == {n: code for n, code in enumerate(row) if code}


def test_more_types_than_can_be_named_are_refused() -> None:
    """Instead of a column number that wraps around to another type."""
    columns, _ = unpacked(packed(np.ones(1 << 16, dtype=np.uint32)))
    assert columns[-1] == (1 << 16) - 1
    with pytest.raises(TooManyTypes, match="check fewer sites"):
        packed(np.ones((1 << 16) + 1, dtype=np.uint32))
