"""The days on which a family keeps a restriction that follows the church calendar."""

from __future__ import annotations

from datetime import date, timedelta
from enum import StrEnum

from dateutil.easter import EASTER_ORTHODOX, EASTER_WESTERN, easter

FRIDAY = 4
ASH_WEDNESDAY, GOOD_FRIDAY, HOLY_SATURDAY = timedelta(days=46), timedelta(days=2), timedelta(days=1)
CLEAN_MONDAY = timedelta(days=48)
"""How long before Easter Sunday these days are. The first three by the Western calendar, the last by the Orthodox."""


class SetDays(StrEnum):
    """Which days. What a family keeps is theirs to say; these are the usual answers."""

    EVERY = "every"
    FRIDAYS = "fridays"
    LENT_FRIDAYS = "lent-fridays"
    LENT = "lent"
    GREAT_LENT = "great-lent"

    @property
    def words(self) -> str:
        """As people say it."""
        return _WORDS[self]


_WORDS = {
    SetDays.EVERY: "Every day",
    SetDays.FRIDAYS: "Every Friday of the year",
    SetDays.LENT_FRIDAYS: "Ash Wednesday, the Fridays of Lent and Good Friday",
    SetDays.LENT: "Every day from Ash Wednesday to Holy Saturday",
    SetDays.GREAT_LENT: "Every day from Clean Monday to Holy Saturday, by the Orthodox calendar",
}


def is_set(days: SetDays, day: date) -> bool:
    """Tell whether the day is one of those days."""
    match days:
        case SetDays.EVERY:
            return True
        case SetDays.FRIDAYS:
            return day.weekday() == FRIDAY
        case SetDays.LENT_FRIDAYS:
            ends = easter(day.year, EASTER_WESTERN) - GOOD_FRIDAY
            begins = easter(day.year, EASTER_WESTERN) - ASH_WEDNESDAY
            return day == begins or (day.weekday() == FRIDAY and begins <= day <= ends)
        case SetDays.LENT:
            sunday = easter(day.year, EASTER_WESTERN)
            return sunday - ASH_WEDNESDAY <= day <= sunday - HOLY_SATURDAY
        case SetDays.GREAT_LENT:
            sunday = easter(day.year, EASTER_ORTHODOX)
            return sunday - CLEAN_MONDAY <= day <= sunday - HOLY_SATURDAY
