"""A week as somebody writes it down in JSON. docs/reference/check_week.md tells the form.

Everything that is wrong is said at once, each with where it stands, why it cannot be read and how to mend it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date

from menus.mealpattern.patterns.foodfile import plain, read_food, said
from menus.mealpattern.patterns.tables import Pattern, patterns
from menus.mealpattern.patterns.week import Food, Week

KEYS = ("program", "group", "date", "days")
FREE = ("id", "title", "note", "source")
"""Keys for what people write beside it; nothing reads them."""


class BadWeek(ValueError):
    """The file is no week that could be judged. `faults` are sentences: what, why, how to mend."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__("\n".join(faults))
        self.faults = tuple(faults)


def read_week(file: object) -> Week:
    """Return the week that the parsed JSON holds, or raise BadWeek with all that is wrong."""
    if not isinstance(file, dict):
        raise BadWeek([f"The file holds {said(file)}, not a week. Write an object with the keys {', '.join(KEYS)}."])
    faults = [_stray(key) for key in file if key not in (*KEYS, *FREE)]
    pattern = _pattern(file.get("program"), file.get("group"), faults)
    day = _date(file.get("date"), pattern, faults)
    days = tuple(_days(file.get("days"), pattern, faults))
    if faults or pattern is None or day is None:
        raise BadWeek(faults)
    return Week(pattern, day, days)


def _stray(key: object) -> str:
    known = ", ".join((*KEYS, *FREE))
    return f"{said(key)} is no key of a week, so it would go unread. Take it out, or mend it to {known}."


def _pattern(program: object, group: object, faults: list[str]) -> Pattern | None:
    by_program: dict[str, list[str]] = {}
    for known, known_group in patterns():
        by_program.setdefault(known, []).append(known_group)
    named = plain(program) if isinstance(program, str) else ""
    if named not in by_program:
        faults.append(
            f"“program” is {said(program)}, and no pattern has that name. Write one of {', '.join(by_program)}."
        )
        return None
    by_plain = {plain(each): each for each in by_program[named]}
    found = by_plain.get(re.sub(r"^(ages?|grades?) ", "", plain(group))) if isinstance(group, str) else None
    if found is None:
        known_groups = ", ".join(by_program[named])
        faults.append(f"“group” is {said(group)}, which {named} does not have. Write one of {known_groups}.")
        return None
    return patterns()[named, found]


def _date(value: object, pattern: Pattern | None, faults: list[str]) -> date | None:
    try:
        day = date.fromisoformat(value if isinstance(value, str) else "")
    except ValueError:
        faults.append(f"“date” is {said(value)}, which is no day. Write the first day of the week as YYYY-MM-DD.")
        return None
    if pattern and day < pattern.held_from:
        faults.append(
            f"“date” is {day}, and the rules of {pattern.program} are held from {pattern.held_from} on. "
            f"Judge an older menu by the rules of its time, or mend the date."
        )
    return day


def _days(value: object, pattern: Pattern | None, faults: list[str]) -> Iterator[tuple[Food, ...]]:
    if not isinstance(value, list):
        faults.append(f"“days” is {said(value)}, not a list. Write a list with one list of foods for each day.")
        return
    if pattern and not pattern.least_days <= len(value) <= pattern.most_days:
        faults.append(_length(len(value), pattern))
    for number, foods in enumerate(value, start=1):
        if isinstance(foods, list):
            yield tuple(_foods(foods, number, pattern, faults))
        else:
            faults.append(
                f"Day {number} is {said(foods)}, not a list of foods. Write its foods in [ … ], "
                f"or leave out a day without a meal."
            )


def _length(found: int, pattern: Pattern) -> str:
    mend = "Leave the days beyond to another week." if found else "Write at least one day."
    if 0 < found < pattern.least_days:
        mend = "Days with fewer meals are put to the week before or after (7 CFR 210.2, school week)."
    return (
        f"“days” holds {found}, and {pattern.program} is judged over {pattern.least_days} to {pattern.most_days} days. "
        f"{mend}"
    )


def _foods(foods: list[object], day: int, pattern: Pattern | None, faults: list[str]) -> Iterator[Food]:
    for number, entry in enumerate(foods, start=1):
        food = read_food(entry, f"Day {day}, food {number}", pattern.scheme if pattern else None, faults)
        if food:
            yield food
