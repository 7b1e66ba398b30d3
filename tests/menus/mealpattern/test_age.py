"""Ages in months, on the day of the meal."""

from __future__ import annotations

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from menus.mealpattern.age import months_on, spoken

BIRTH = date(2022, 11, 26)


@pytest.mark.parametrize(
    ("day", "months"),
    [
        (date(2026, 11, 25), 47),  # the day before the fourth birthday
        (date(2026, 11, 26), 48),
        (date(2022, 11, 26), 0),
        (date(2022, 12, 25), 0),
    ],
)
def test_a_month_is_complete_on_its_day(day: date, months: int) -> None:
    """Somebody turns four on the birthday and not before."""
    assert months_on(BIRTH, day) == months


def test_short_months_complete_late() -> None:
    """Born on the 31st: the month of February is complete on 1 March; the limit is met later, never earlier."""
    assert months_on(date(2026, 1, 31), date(2026, 2, 28)) == 0
    assert months_on(date(2026, 1, 31), date(2026, 3, 1)) == 1


@pytest.mark.parametrize("birth", [None, date(2027, 1, 1)])
def test_nobody_knows(birth: date | None) -> None:
    """Without a birth date, or with one after the meal, the age is unknown."""
    assert months_on(birth, date(2026, 11, 25)) is None


@given(st.dates(date(2000, 1, 1), date(2020, 1, 1)), st.integers(0, 7000))
def test_agrees_with_dateutil(birth: date, days: int) -> None:
    """Outside check: python-dateutil counts the same, but for the month's end, where it is a day or more ahead."""
    day = date.fromordinal(birth.toordinal() + days)
    delta = relativedelta(day, birth)
    counted = delta.years * 12 + delta.months
    ours = months_on(birth, day)
    assert ours == counted or (birth.day > 28 and ours == counted - 1)


@pytest.mark.parametrize(("months", "words"), [(48, "4 years"), (60, "5 years"), (24, "2 years"), (12, "12 months")])
def test_limits_in_words(months: int, words: str) -> None:
    assert spoken(months) == words
