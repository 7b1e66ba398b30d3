"""GTINs against worked examples of GS1 and against the arithmetic of the GS1 General Specifications, section 7.9.

Two rows of data/gtin.csv are worked examples that were read on pages of GS1; the rest is arithmetic by that rule.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from menus.gtin import parse_gtin

with (Path(__file__).parent / "data" / "gtin.csv").open(encoding="utf-8") as lines:
    ROWS = list(csv.DictReader(lines))


def check_digit(body: str) -> int:
    """The rule as the specifications state it: from the right 3, 1, 3, 1 …; what is missing to the next ten."""
    total = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(body)))
    return -total % 10


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['number']}-{row['note'][:24]}")
def test_examples(row):
    if row["valid"]:
        assert parse_gtin(row["number"]) == row["number"].zfill(14)
    else:
        with pytest.raises(ValidationError, match="Type the digits under the bars again"):
            parse_gtin(row["number"])


@given(
    st.sampled_from([8, 12, 13, 14]).flatmap(lambda n: st.text("0123456789", min_size=n - 1, max_size=n - 1)),
    st.integers(0, 9),
)
def test_a_number_is_taken_when_and_only_when_its_last_digit_fits(body, last):
    number = f"{body}{last}"
    if last == check_digit(body):
        assert parse_gtin(number) == number.zfill(14)
    else:
        with pytest.raises(ValidationError):
            parse_gtin(number)


@given(st.text("0123456789", min_size=12, max_size=12), st.integers(0, 12), st.integers(1, 9))
def test_every_single_wrong_digit_is_noticed(body, place, by):
    number = f"{body}{check_digit(body)}"
    wrong = f"{number[:place]}{(int(number[place]) + by) % 10}{number[place + 1 :]}"
    with pytest.raises(ValidationError):
        parse_gtin(wrong)
