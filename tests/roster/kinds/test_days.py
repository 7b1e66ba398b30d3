"""Set days of the church calendar, held against published dates."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from roster.kinds.days import SetDays, is_set

WESTERN = {
    2024: (date(2024, 2, 14), date(2024, 3, 31)),
    2025: (date(2025, 3, 5), date(2025, 4, 20)),
    2026: (date(2026, 2, 18), date(2026, 4, 5)),
    2027: (date(2027, 2, 10), date(2027, 3, 28)),
    2028: (date(2028, 3, 1), date(2028, 4, 16)),
    2029: (date(2029, 2, 14), date(2029, 4, 1)),
    2030: (date(2030, 3, 6), date(2030, 4, 21)),
}
"""Ash Wednesday and Easter Sunday. Source: US Naval Observatory, Dates of Ash Wednesday and Easter; from memory."""

ORTHODOX_EASTER = {
    2024: date(2024, 5, 5),
    2025: date(2025, 4, 20),
    2026: date(2026, 4, 12),
    2027: date(2027, 5, 2),
    2028: date(2028, 4, 16),
    2029: date(2029, 4, 8),
    2030: date(2030, 4, 28),
}
"""Source: World Council of Churches, Towards a Common Date of Easter (1997), table to 2025, and the Julian computus
after it; from memory."""


def days_of(days: SetDays, year: int) -> list[date]:
    first = date(year, 1, 1)
    return [day for n in range(366) if (day := first + timedelta(days=n)).year == year and is_set(days, day)]


@pytest.mark.parametrize("year", WESTERN)
def test_fridays_of_lent(year: int) -> None:
    """Ash Wednesday, seven Fridays with Good Friday, and no day beside them."""
    ash_wednesday, easter = WESTERN[year]
    kept = days_of(SetDays.LENT_FRIDAYS, year)
    assert kept[0] == ash_wednesday and kept[-1] == easter - timedelta(days=2)
    assert [day.weekday() for day in kept[1:]] == [4] * 7


@pytest.mark.parametrize("year", WESTERN)
def test_lent(year: int) -> None:
    """Forty-six days up to Holy Saturday; Easter Sunday itself is free."""
    ash_wednesday, easter = WESTERN[year]
    kept = days_of(SetDays.LENT, year)
    assert (kept[0], kept[-1], len(kept)) == (ash_wednesday, easter - timedelta(days=1), 46)


@pytest.mark.parametrize("year", ORTHODOX_EASTER)
def test_great_lent_follows_the_orthodox_calendar(year: int) -> None:
    """From Clean Monday to Holy Saturday."""
    kept = days_of(SetDays.GREAT_LENT, year)
    assert kept[-1] == ORTHODOX_EASTER[year] - timedelta(days=1)
    assert (kept[0].weekday(), len(kept)) == (0, 48)


def test_every_day_and_every_friday() -> None:
    """The plain ones."""
    assert len(days_of(SetDays.EVERY, 2026)) == 365
    assert {day.weekday() for day in days_of(SetDays.FRIDAYS, 2026)} == {4}
    assert len(days_of(SetDays.FRIDAYS, 2026)) == 52
