"""Ages in completed months, on the day the food is served."""

from __future__ import annotations

from datetime import date


def months_on(birth: date | None, day: date) -> int | None:
    """Return the completed months of age on that day; None when the birth date is unknown or lies after it.

    Somebody born on the 31st completes a month on the first day of the next one where a month is shorter.
    """
    if birth is None or birth > day:
        return None
    months = (day.year - birth.year) * 12 + day.month - birth.month
    return months if day.day >= birth.day else months - 1


def spoken(months: int) -> str:
    """Return an age limit as people say it: years where it is whole years above two, months below."""
    years, rest = divmod(months, 12)
    return f"{years} years" if not rest and years > 1 else f"{months} months"
