"""The events of a day that is written down in JSON."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta

from menus.kitchen.cleaning import UnknownMethod, removes
from menus.kitchen.dayfile import DayFile, entries_of, name_of, said
from menus.kitchen.events import Clean, Event, How, Serve, Stay, Use
from menus.kitchen.surfaces import OIL, UNWASHABLE
from menus.labels.evidence import ANY

DEEDS = ("use", "clean", "change-oil", "serve")
OIL_CHANGE = "oil_change_and_vat_wash"

MINUTE = timedelta(minutes=1)
MIDNIGHT = datetime(2000, 1, 1, tzinfo=UTC)  # any day: the file is about one, and does not say which
UNKNOWN_TIME = MIDNIGHT - MINUTE
"""Stands before every time of the day: where something begins of which nobody knows when it was."""
_END = MIDNIGHT + timedelta(days=1)
_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)", re.ASCII)


def read_events(day: DayFile, entries: object) -> list[Event]:
    """Return the events that could be read. A bad one clears nothing, and what may have touched counts as touching."""
    reader = _Reader(day)
    read = [
        event for where, entry in entries_of(day, "events", "Event", entries) for event in reader.read(where, entry)
    ]
    read += [_use(at, surface, dish) for at, dish in reader.everywhere for surface in day.surfaces]
    return list(_staying(day, read))


def _use(at: datetime | None, surface: int, dish: int) -> Event:
    """A use; one of which nobody knows the time lasts all day."""
    return Stay(UNKNOWN_TIME, _END, surface, dish, How.TOUCH) if at is None else Use(at, surface, dish)


def _staying(day: DayFile, events: list[Event]) -> Iterator[Event]:
    """In a bar or a container a dish stays and touches whatever else is put there, until somebody cleans it."""
    emptied = _emptied(day, events)
    for event in events:
        if isinstance(event, Use) and event.surface in day.shared:
            times = emptied[event.surface]
            until = [*times[bisect_right(times, event.at) :][:1], _END][0] - MINUTE
            yield Stay(event.at, until, event.surface, event.dish, How.TOUCH)
        else:
            yield event


def _emptied(day: DayFile, events: Iterable[Event]) -> dict[int, list[datetime]]:
    """When the shared surfaces were cleaned by what works on them."""
    emptied: dict[int, list[datetime]] = {surface: [] for surface in day.shared}
    for event in events:
        if isinstance(event, Clean) and event.surface in emptied and _works(day, event):
            emptied[event.surface].append(event.at)
    return {surface: sorted(times) for surface, times in emptied.items()}


def _works(day: DayFile, event: Clean) -> bool:
    return removes(event.method, day.surfaces[event.surface].material)


class _Reader:
    """Reads one entry after the other; what it does not understand goes to the errors of the day."""

    def __init__(self, day: DayFile) -> None:
        self.day = day
        self.surfaces, self.dishes = frozenset(day.surfaces), frozenset(day.dishes)  # those that are described
        self.everywhere: list[tuple[datetime | None, int]] = []  # uses that do not say of which surface
        self.where = ""

    def read(self, where: str, entry: dict[str, object]) -> Iterator[Event]:
        """Yield what the entry says; `where` are the words that say where it stands."""
        self.where = f"{where} ({', '.join(said(entry[key]) for key in ('at', 'do', 'surface') if key in entry)})"
        at = self._time(entry.get("at"))
        match entry.get("do"):
            case "use":
                yield from self._used(at, entry)
            case "clean":
                yield from self._cleaned(at, entry)
            case "change-oil":
                yield from self._oil_changed(at, entry)
            case "serve":
                yield from self._served(at, entry)
            case other:
                self._wrong(f"“do” is {said(other)}, which is none of {', '.join(DEEDS)}. It clears nothing.")
                if "surface" in entry and "dish" in entry:
                    yield from self._used(at, entry)

    def _used(self, at: datetime | None, entry: dict[str, object]) -> Iterator[Event]:
        dish, surface = self._dish_used(entry.get("dish")), self._surface_used(entry.get("surface"))
        if surface is None:
            self.everywhere.append((at, dish))
        else:
            yield _use(at, surface, dish)

    def _cleaned(self, at: datetime | None, entry: dict[str, object]) -> Iterator[Event]:
        surface = self._surface_cleaned(entry.get("surface"))
        method = entry.get("method")
        try:
            removes(method if isinstance(method, str) else said(method), UNWASHABLE)
        except UnknownMethod as error:
            self._wrong(f"{error} It clears nothing.")
        else:
            if surface is not None and at is not None:
                yield Clean(at, surface, str(method))

    def _oil_changed(self, at: datetime | None, entry: dict[str, object]) -> Iterator[Event]:
        surface = self._surface_cleaned(entry.get("surface"))
        if surface is not None and self.day.surfaces[surface].material != OIL:
            self._wrong(f"only a fryer's oil is changed, and this is no “{OIL}”. It clears nothing. Write a “clean”.")
        elif surface is not None and at is not None:
            yield Clean(at, surface, OIL_CHANGE)

    def _served(self, at: datetime | None, entry: dict[str, object]) -> Iterator[Event]:
        dish, surface = self._dish(entry.get("dish")), self._surface(entry.get("surface"))
        if dish is None:
            self._wrong(f"{said(entry.get('dish'))} is no dish of the list, so nothing is served. Add it to “dishes”.")
        elif at is not None:
            if surface is not None:
                self.day.served_from.append(Use(at, surface, dish))
            yield Serve(at, dish)

    def _time(self, value: object) -> datetime | None:
        found = _CLOCK.fullmatch(value) if isinstance(value, str) else None
        if found is None:
            self._wrong(f"{said(value)} is no time, so a use counts all day and nothing else counts. Write HH:MM.")
            return None
        return MIDNIGHT + timedelta(hours=int(found[1]), minutes=int(found[2]))

    def _surface_used(self, value: object) -> int | None:
        """The surface that was used, whether it is described or not; None: it could be any."""
        name, described = name_of(value), self._surface(value)
        if name is None:
            self._wrong("it does not say which surface was used, so it counts for every one. Give its id.")
        elif described is None:
            self._wrong(f"“{name}” is no surface of the list, so no cleaning of it counts. Add it to “surfaces”.")
            return self.day.add_surface(name, UNWASHABLE)
        return described

    def _dish_used(self, value: object) -> int:
        """The dish that was used, whether it is described or not."""
        described = self._dish(value)
        if described is None:
            self._wrong(f"{said(value)} is no dish of the list, so it may hold anything. Add it to “dishes”.")
            return self.day.add_dish(name_of(value), (), (ANY,))
        return described

    def _surface_cleaned(self, value: object) -> int | None:
        described = self._surface(value)
        if described is None:
            self._wrong(f"{said(value)} is no surface of the list, so nothing is cleaned. Add it to “surfaces”.")
        return described

    def _surface(self, value: object) -> int | None:
        number = self.day.surface_number(name_of(value))
        return number if number in self.surfaces else None

    def _dish(self, value: object) -> int | None:
        number = self.day.dish_number(name_of(value))
        return number if number in self.dishes else None

    def _wrong(self, what: str) -> None:
        self.day.errors.append(f"{self.where}: {what}")
