"""Times that the solver left between two minutes."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from menus.planning.decode import _minute


@given(st.floats(0, 600), st.integers(0, 120), st.floats(-5e-5, 5e-5))
def test_what_lies_whole_minutes_apart_stays_apart(begins: float, minutes: int, missed: float) -> None:
    """Wherever the halves fall, and however little the solver misses."""
    begins = round(begins * 2) / 2
    assert _minute(begins + minutes + missed) >= _minute(begins) + minutes
