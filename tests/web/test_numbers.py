"""Whatever a form sends as the number of a row is a number that a database can be asked for."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.web.numbers import row_number, row_numbers

BIGGEST = 2**63 - 1


@pytest.mark.parametrize("sent", ["", " ", "-1", "+1", "1.0", "1e3", "²", "१२", "12a", "9" * 19, "0"])
def test_what_is_no_row_is_0(sent: str) -> None:
    assert row_number(sent) == 0


@given(st.text() | st.integers(min_value=-(10**30), max_value=10**30).map(str))
def test_it_fits_into_a_rows_number(sent: str) -> None:
    assert 0 <= row_number(sent) <= BIGGEST


@given(st.integers(min_value=1, max_value=10**18 - 1))
def test_a_rows_number_is_read(number: int) -> None:
    assert row_number(str(number)) == number


def test_what_is_none_is_left_out() -> None:
    assert row_numbers(["3", "", "x", "17", "²"]) == [3, 17]
